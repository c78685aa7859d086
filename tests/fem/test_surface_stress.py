"""Stress at the outer surface from the displacements of its own faces."""

from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import MeshError
from spokecheck.fem.actions import heat, pressure, traction
from spokecheck.fem.body import Body
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.fem.elasticity import Material, elasticity_matrix
from spokecheck.fem.error import plain_stress, surface_errors
from spokecheck.fem.static import solve_cases, solve_static
from spokecheck.fem.stress import stress_tensor, von_mises
from spokecheck.fem.supports import displace, fix, near
from spokecheck.fem.surface_stress import surface_stress, tractions_of
from spokecheck.handbook.holes import kirsch
from spokecheck.handbook.patch_test import patch_mesh
from spokecheck.mesh.blocks import (
    block,
    geometric,
    join,
    moved,
    straightened,
    turned_copies,
    zoned,
)
from spokecheck.mesh.notches import Shoulder, plate_with_hole, shoulder_shaft
from spokecheck.mesh.parts import beam_block, cavity_octant, ring_sector
from spokecheck.mesh.record import boundary_faces

METAL = Material(E=70000.0, nu=0.33, alpha=2.0e-5)
STEADY = np.zeros(1, dtype=np.int64)


def on(part, faces, groups=None):
    """The operator on some faces of a part."""
    mesh = part.mesh
    return surface_stress(
        mesh.points, mesh.cells, faces, part.elastic.lame, groups=groups
    )


def stress_at(part, faces, u, acting=(), nodes=None, **known):
    """Real stress (n, 6) at some points; ``acting`` on all faces given."""
    surface = on(part, faces)
    loads = [[(np.arange(len(faces)), field) for field in acting]]
    known["tractions"] = tractions_of(part.mesh.points, surface, loads)
    found = surface.at_nodes(u[None], STEADY, **known)[0]
    assert np.abs(found.imag).max() == 0.0
    return found.real[slice(None) if nodes is None else at(surface, nodes)]


def at(surface, nodes):
    """Numbers of points within the surface."""
    index = np.searchsorted(surface.nodes, nodes)
    assert (surface.nodes[index] == nodes).all()
    return index


def pressing(p):
    """The field of a pressure [MPa]."""
    return lambda x, n: -p * n


def test_uniform_stress_is_exact_on_a_distorted_mesh():
    """A linear displacement and its tractions give back the stress to rounding.

    Source: the patch test of MacNeal and Harder, all six components strained alike.
    """
    part = Body(patch_mesh(2), METAL)
    strain = np.array([3.0, -1.0, 2.0, 1.5, -2.5, 0.5]) * 1e-3
    x, y, z = part.mesh.points.T
    exx, eyy, ezz, gxy, gyz, gzx = strain
    u = np.column_stack([exx * x + gxy * y, eyy * y + gyz * z, ezz * z + gzx * x])
    exact = elasticity_matrix(METAL) @ strain
    field = stress_tensor(exact)
    faces = boundary_faces(part.mesh.cells)
    got = stress_at(part, faces, u, [lambda x, n: n @ field])
    assert_allclose(got, np.tile(exact, (len(got), 1)), atol=1e-10)
    free = stress_at(part, faces, u)
    assert np.abs(free - exact).max() > 10.0  # the tractions matter


def test_linear_stress_is_exact_on_flat_free_faces():
    """A beam in pure bending, free sides: M y / I to rounding, at its edges too."""
    mesh = beam_block(100.0, 20.0, 10.0, (4, 2, 2))
    part, nu, k = Body(mesh, METAL), METAL.nu, 1e-4
    x, y, z = (mesh.points - [0.0, 10.0, 5.0]).T
    bow = -(x * x + nu * (y * y - z * z)) / 2.0
    u = k * np.column_stack([x * y, bow, -nu * y * z])
    sides = mesh.faces(["front", "back", "bottom", "top"])
    got = stress_at(part, sides, u)
    exact = 0.0 * got
    exact[:, 0] = METAL.E * k * y[np.unique(sides)]
    assert_allclose(got, exact, atol=1e-9 * METAL.E * k * 10.0)


def test_a_rigid_motion_leaves_no_stress_on_curved_faces():
    """Shift and turn strain nothing, whatever the shape of the faces."""
    mesh = cavity_octant(50.0, 100.0, (1, 1))
    part = Body(mesh, METAL)
    u = np.cross([0.3, -0.2, 0.1], mesh.points)
    u = u + np.array([1.0, 2.0, 3.0])
    assert np.abs(stress_at(part, mesh.faces(["cavity", "outer"]), u)).max() < 1e-9


def test_a_pressed_sphere_meets_lame_on_a_coarse_mesh():
    """Hoop stress within 1 % at four edges on a quarter arc, -p along the normal.

    Source: Lamé, in Timoshenko and Goodier, Theory of Elasticity, art. 136 (from
    memory).  The tolerance is what the error of the displacements leaves: it falls to a
    fifth at eight edges.  Recovery on the same displacements is off by 10 %.
    """
    a, b, p = 50.0, 100.0, 60.0
    mesh = cavity_octant(a, b, (2, geometric(4, 2.0)))
    planes = [fix("x0", "x"), fix("y0", "y"), fix("z0", "z")]
    solution = solve_static(mesh, METAL, planes, [pressure("cavity", p)])
    hoop = p * (a**3 + b**3 / 2.0) / (b**3 - a**3)
    faces, nodes = mesh.faces("cavity"), mesh.nodes("cavity")
    got = stress_at(solution.body, faces, solution.u, [pressing(p)])
    n = mesh.points[nodes] / a
    exact = hoop * np.eye(3) - (hoop + p) * n[:, :, None] * n[:, None, :]
    assert_allclose(von_mises(got), hoop + p, rtol=0.01)
    off = np.abs(stress_tensor(got) - exact).max(axis=(1, 2)) / (hoop + p)
    assert off.max() < 0.02  # normals of the faces are off by up to 1 degree
    recovered = von_mises(solution.recovered_stress[nodes]) / (hoop + p) - 1.0
    assert np.abs(recovered).max() > 0.05
    unpressed = stress_at(solution.body, faces, solution.u)
    assert np.abs(von_mises(unpressed) / (hoop + p) - 1.0).min() > 0.1


def test_beside_a_held_face_the_free_faces_alone_are_right():
    """Thick cylinder, one end held where Lamé's solution moves it: 0.5 % at the border.

    Source: Lamé, Timoshenko and Goodier, art. 28 (from memory), plane strain.  With the
    held faces counted as free the border is off by more.
    """
    a, b, p, nu = 50.0, 100.0, 60.0, METAL.nu
    mesh = ring_sector(a, b, 25.0, (geometric(2, 2.0), 3, 1))
    A = p * a * a / (b * b - a * a)
    B = A * b * b

    def exact(x):
        r2 = (x[:, :2] ** 2).sum(axis=1)
        share = (1.0 + nu) / METAL.E * ((1.0 - 2.0 * nu) * A + B / r2)
        return np.column_stack([share[:, None] * x[:, :2], 0.0 * r2])

    planes = [fix("start", "y"), fix("end", "x"), fix("top", "z")]
    solution = solve_static(
        mesh, METAL, [*planes, displace("bottom", exact)], [pressure("inner", p)]
    )
    border = np.intersect1d(mesh.nodes("inner"), mesh.nodes("bottom"))
    radial, hoop, axial = A - B / a**2, A + B / a**2, 2.0 * nu * A
    gaps = (radial - hoop) ** 2 + (hoop - axial) ** 2 + (axial - radial) ** 2
    wanted = np.sqrt(0.5 * gaps)
    part, inner = solution.body, mesh.faces("inner")
    got = von_mises(stress_at(part, inner, solution.u, [pressing(p)], border))
    assert_allclose(got, wanted, rtol=0.005)
    both = np.vstack([inner, mesh.faces("bottom")])
    surface = on(part, both)
    known = [[(np.arange(len(inner)), pressing(p))]]
    loads = tractions_of(mesh.points, surface, known)
    mixed = surface.at_nodes(solution.u[None], STEADY, loads)[0, at(surface, border)]
    assert np.abs(von_mises(mixed.real) / wanted - 1.0).max() > 0.005


def hole(facets=False):
    """Hole in a plate, six edges on its quarter arc, under Kirsch's tractions; solved.

    Source: Timoshenko and Goodier, Theory of Elasticity, art. 35 (from memory).
    """
    p = SimpleNamespace(a=10.0, S=100.0)
    mesh = plate_with_hole(p.a, 40.0, 40.0, 5.0, (3, 6, 1))
    mesh = straightened(mesh) if facets else mesh

    def pull(x):
        xx, yy, xy = kirsch(p, x).T
        right = x[:, 0] > 40.0 - 1e-6
        along = np.where(right, xx, xy), np.where(right, xy, yy)
        return np.column_stack([*along, np.zeros(len(x))])

    planes = [fix("x0", "x"), fix("y0", "y"), fix(["bottom", "top"], "z")]
    solution = solve_static(mesh, METAL, planes, [traction("frame", pull)])
    nodes = mesh.nodes("hole")
    got = stress_at(solution.body, mesh.faces("hole"), solution.u)
    return got, solution.recovered_stress[nodes], kirsch(p, mesh.points[nodes])


def test_a_hole_in_a_plate_meets_kirsch_on_a_coarse_mesh():
    """Around the hole within 2.5 % of the peak, 3 S; recovery is 5 % off or more."""
    got, recovered, exact = (f[:, :2].sum(axis=1) / 300.0 for f in hole())
    assert np.abs(got - exact).max() < 0.025
    assert np.abs(recovered - exact).max() > 0.05


def test_tensors_of_facets_are_turned_to_the_mean_normal():
    """A free hole of flat facets: one principal stress vanishes at every point."""
    principal = np.linalg.eigvalsh(stress_tensor(hole(facets=True)[0]))
    assert np.abs(principal).min(axis=1).max() < 1e-9 * np.abs(principal).max()


@pytest.fixture(scope="module")
def shafts():
    """Quarter of a shoulder shaft in tension at 4 and 12 edges on the fillet's arc."""

    def solved(eighth, around):
        section = Shoulder(20.0, 30.0, 8.0, 60.0, 60.0, eighth, eighth)
        mesh = shoulder_shaft(section, around)
        planes = [fix("x0", "x"), fix("y0", "y"), fix("end", "z")]
        return solve_static(mesh, METAL, planes, [traction("start", (0, 0, -100.0))])

    return solved(2, 2), solved(6, 3)


def fillet(solution):
    """Angle on the fillet [deg], von Mises stress of the surface and recovered."""
    mesh = solution.mesh
    nodes = mesh.nodes("fillet")
    x = mesh.points[nodes]
    angle = np.rad2deg(np.arctan2(x[:, 2], 28.0 - np.hypot(x[:, 0], x[:, 1])))
    got = stress_at(solution.body, mesh.faces("fillet"), solution.u)
    return angle, von_mises(got), von_mises(solution.recovered_stress[nodes])


def along(angle, places, fine):
    """Values at angles from those of a fine mesh, which are alike around the shaft."""
    by_place, which = np.unique(np.round(places, 3), return_inverse=True)
    return np.interp(angle, by_place, np.bincount(which, fine) / np.bincount(which))


def test_a_shaft_fillet_is_right_on_a_coarse_mesh(shafts):
    """At 4 edges on the quarter arc the stressed fillet is within 4 % rms of 12 edges.

    Recovery, on the same displacements, is off by more than twice as much.  What is
    left is the error of the displacements, 3 % in the table of the benchmark.
    """
    (angle, surface, recovered), (places, fine, _) = map(fillet, shafts)
    exact = along(angle, places, fine)
    hot = exact > 0.5 * exact.max()

    def rms(value):
        return np.sqrt(((value[hot] / exact[hot] - 1.0) ** 2).mean())

    assert rms(surface) < 0.04
    assert rms(recovered) > 2.0 * rms(surface)
    assert surface.max() == pytest.approx(exact.max(), rel=0.03)


def test_the_estimate_covers_the_error_on_a_fillet(shafts):
    """99 of 100 points lie within 1.5 estimates, which are no more than 20 %."""
    coarse, (places, fine, _) = shafts[0], fillet(shafts[1])
    mesh, faces = coarse.mesh, coarse.mesh.faces("fillet")
    surface = on(coarse.body, faces)
    u = coarse.u[None].astype(complex)
    stress = surface.at_nodes(u, STEADY)
    sector = Cyclic(), STEADY
    plain = plain_stress(mesh, coarse.body.elastic.lame, u, surface.nodes, sector)
    everywhere = np.arange(len(surface.nodes))
    estimate = surface_errors(surface.faces, stress, plain, everywhere)
    exact = along(fillet(coarse)[0], places, fine)
    hot = exact > 0.5 * exact.max()
    true = np.abs(von_mises(stress[0].real) / exact - 1.0)
    assert (true[hot] <= 1.5 * estimate[hot]).mean() > 0.99
    assert estimate[hot].max() < 0.2
    assert (true[hot] > 0.1 * estimate[hot]).mean() > 0.5  # nor far too wide


def test_an_exact_field_has_no_estimated_error():
    """Plain mean and surface stress agree where both are exact: no error seen."""
    mesh = beam_block(100.0, 20.0, 10.0, (4, 2, 2))
    part = Body(mesh, METAL)
    x, y, z = mesh.points.T
    u = 1e-3 * np.column_stack([x, -METAL.nu * y, -METAL.nu * z])[None].astype(complex)
    surface = on(part, mesh.faces(["front", "back", "bottom", "top"]))
    stress = surface.at_nodes(u, STEADY)
    plain = plain_stress(mesh, part.elastic.lame, u, surface.nodes, (Cyclic(), STEADY))
    gaps = surface_errors(surface.faces, stress, plain, np.arange(len(surface.nodes)))
    assert gaps.max() < 1e-12


def thermal(part, faces, temperature):
    """Thermal pressure (1, n_faces, 6) [MPa] of a field; one metal."""
    bulk = part.bulk_alpha[0]
    return bulk * temperature(part.mesh.points[faces].reshape(-1, 3)).reshape(1, -1, 6)


def test_heat_that_may_expand_leaves_no_stress():
    """A linear temperature strains a free block and stresses nothing.

    Source: Boley and Weiner, Theory of Thermal Stresses, sec. 3 (from memory).
    """
    mesh = beam_block(40.0, 20.0, 10.0, (2, 2, 2))

    def rising(x):
        return 100.0 + x @ [2.0, -1.0, 3.0]

    held = [
        fix(near((0.0, 0.0, 0.0))),
        fix(near((40.0, 0.0, 0.0)), "yz"),
        fix(near((0.0, 20.0, 0.0)), "z"),
    ]
    solution = solve_static(mesh, METAL, held, [heat(rising)])
    faces = boundary_faces(mesh.cells)
    hot = thermal(solution.body, faces, rising)
    got = stress_at(solution.body, faces, solution.u, thermal=hot)
    assert np.abs(got).max() < 1e-8 * METAL.E * METAL.alpha * 200.0
    cold = stress_at(solution.body, faces, solution.u)
    assert np.abs(cold).max() > 100.0  # free strain taken for stress


def test_two_metals_side_by_side_are_exact():
    """A bar of two metals under one stretch: each has its own E times the strain.

    Poisson's ratios agree, so that the field is uniaxial.  A point on the line where
    both meet takes the side of the lower number.
    """
    half = beam_block(40.0, 10.0, 10.0, (2, 2, 2))
    other = zoned(moved(half, lambda x: x + np.array([0.0, 10.0, 0.0])), "hard")
    hard = Material(E=210000.0, nu=METAL.nu)
    mesh = join([half, other])
    part = Body(mesh, METAL, {"hard": hard})
    planes = [
        fix("root", "x"),
        displace("tip", (0.04, 0.0, 0.0), "x"),
        fix("bottom", "z"),
    ]
    planes.append(fix(near((0.0, 0.0, 0.0)), "y"))
    solution = solve_cases(part, planes, {"": []})[""]
    groups = np.isin(np.arange(mesh.n_cells), mesh.zones["hard"]).astype(int)
    surface = on(part, mesh.faces("top"), groups)
    got = surface.at_nodes(solution.u[None], STEADY)[0].real
    y = mesh.points[surface.nodes, 1]
    exact = np.zeros_like(got)
    exact[:, 0] = np.where(y <= 10.0 + 1e-9, METAL.E, hard.E) * 1e-3
    assert_allclose(got, exact, atol=1e-8)
    mixed = on(part, mesh.faces("top")).at_nodes(solution.u[None], STEADY)[0].real
    assert np.abs(mixed - exact).max() > 50.0  # what the metals' numbers are for


@pytest.mark.parametrize("order", [0, 1, 2, 7])
def test_a_sector_equals_the_whole_body(order):
    """Any field that repeats with its phase: same stress and plain mean as all copies.

    To 1e-10 of the largest stress, with a traction of the order on the outside.
    """
    count = 6
    alpha = 2.0 * np.pi / count
    part_mesh = ring_sector(10.0, 20.0, 5.0, (2, 3, 2), alpha)
    low = part_mesh.nodes("start")
    image = part_mesh.points[low] @ rotation(alpha).T
    gap = np.linalg.norm(part_mesh.points[:, None] - image, axis=2)
    cyclic = Cyclic(count, np.column_stack([low, gap.argmin(axis=0)]))
    draw = np.random.default_rng(7)
    u = draw.normal(size=(2, part_mesh.n_points, 3))
    u = u[0] + 1j * u[1]
    phase = np.exp(1j * order * alpha)
    u[cyclic.pairs[:, 1]] = phase * u[cyclic.pairs[:, 0]] @ rotation(alpha).T
    whole = turned_copies(part_mesh, count, alpha)
    everywhere = np.empty((whole.n_points, 3), dtype=complex)
    for k in range(count):
        turned = part_mesh.points @ rotation(k * alpha).T
        there = np.linalg.norm(turned[:, None] - whole.points, axis=2).argmin(axis=1)
        everywhere[there] = phase**k * u @ rotation(k * alpha).T

    def pull(x, n):
        turning = np.exp(1j * order * np.arctan2(x[:, 1], x[:, 0]))
        return turning[:, None] * (n + np.array([0.0, 0.0, 2.0]))

    names = ["inner", "outer", "bottom", "top"]
    found = []
    for mesh, field, symmetry in (
        (part_mesh, u, cyclic),
        (whole, everywhere, Cyclic()),
    ):
        faces, part = mesh.faces(names), Body(mesh, METAL)
        surface = surface_stress(
            mesh.points, mesh.cells, faces, part.elastic.lame, symmetry
        )
        outer = np.arange(len(mesh.faces("inner")), len(mesh.faces(["inner", "outer"])))
        loads = tractions_of(mesh.points, surface, [[(outer, pull)]])
        orders = np.array([order])
        stress = surface.at_nodes(field[None], orders, loads)
        sector = symmetry, orders
        plain = plain_stress(
            mesh, part.elastic.lame, field[None], surface.nodes, sector
        )
        found.append((mesh.points[surface.nodes], stress[0], plain[0]))
    (x, stress, plain), (y, all_stress, all_plain) = found
    same = np.linalg.norm(x[:, None] - y, axis=2).argmin(axis=1)
    size = 1e-10 * np.abs(all_stress).max()
    assert_allclose(stress, all_stress[same], rtol=0.0, atol=size)
    assert_allclose(plain, all_plain[same], rtol=0.0, atol=size)


def test_a_face_of_no_cell_is_refused():
    """Faces of another mesh are an error that says how many."""
    mesh = block(lambda x: x, (1, 1, 1))
    faces = boundary_faces(mesh.cells)
    strange = faces.copy()
    strange[0, 0] = faces[0, 3]
    with pytest.raises(MeshError, match="1 of 12 faces belong to no cell"):
        on(Body(mesh, METAL), strange)
