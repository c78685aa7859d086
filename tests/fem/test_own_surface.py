"""Stress of one's own part at its outer surface, and the error estimated for it."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spokecheck as sc
from spokecheck.fem.error import SHEAR_WEIGHT
from spokecheck.handbook.both_ways import both_ways
from spokecheck.handbook.case import Values
from spokecheck.handbook.holes import kirsch
from spokecheck.mesh.blocks import geometric

METAL = sc.Material(E=70000.0, nu=0.33, alpha=2.0e-5)
A, B, P = 50.0, 100.0, 60.0


@pytest.fixture(scope="module")
def sphere():
    """An octant of a thick sphere under pressure inside, four edges on its arc."""
    mesh = sc.cavity_octant(A, B, (2, geometric(4, 2.0)))
    planes = [sc.fix("x0", "x"), sc.fix("y0", "y"), sc.fix("z0", "z")]
    return sc.solve_static(mesh, METAL, planes, [sc.pressure("cavity", P)])


@pytest.fixture(scope="module")
def plate():
    """A hole in a plate under Kirsch's tractions, eight edges on a quarter."""
    p = Values(a=10.0, S=100.0)
    mesh = sc.plate_with_hole(p.a, 40.0, 40.0, 5.0, (4, 8, 1))

    def pull(x):
        xx, yy, xy = kirsch(p, x).T
        right = x[:, 0] > 40.0 - 1e-6
        along = np.where(right, xx, xy), np.where(right, xy, yy)
        return np.column_stack([*along, np.zeros(len(x))])

    held = [sc.fix("x0", "x"), sc.fix("y0", "y"), sc.fix(["bottom", "top"], "z")]
    return p, sc.solve_static(mesh, METAL, held, [sc.traction("frame", pull)])


def test_a_pressed_sphere_meets_lame_inside(sphere):
    """Von Mises stress within 1 %, where recovery is off by more than 5 %.

    Source: Lamé, in Timoshenko and Goodier, Theory of Elasticity, art. 136 (from
    memory).  What is left is the error of the displacements.
    """
    nodes = sphere.mesh.nodes("cavity")
    exact = 1.5 * P * B**3 / (B**3 - A**3)
    assert_allclose(sc.von_mises(sphere.stress[nodes]), exact, rtol=0.01)
    recovered = sc.von_mises(sphere.recovered_stress[nodes])
    assert np.abs(recovered / exact - 1.0).max() > 0.05


def test_the_given_pressure_acts_on_the_surface(sphere):
    """At the pole, whose normal is exact, stress along the normal is -p."""
    assert_allclose(sphere.stress_at((0.0, 0.0, A))[2], -P, rtol=1e-3)


def test_a_sector_has_the_stress_of_the_whole():
    """Own surface stress of one sector of a pressed ring equals that of the ring."""
    bodies = _ring_both_ways()
    held = [sc.fix("bottom", "z"), sc.slide("inner", _around)]
    load = {"": [sc.pressure("outer", 5.0)]}
    sector, whole = (sc.solve_cases(b, held, load)[""] for b in bodies[:2])
    gap = np.abs(whole.stress[bodies[2]] - sector.stress).max()
    assert gap < 1e-9 * np.abs(whole.stress).max()


def _around(x):
    return np.column_stack([-x[:, 1], x[:, 0], 0.0 * x[:, 2]])


def _ring_both_ways():
    ring = sc.ring_sector(20.0, 30.0, 4.0, (2, 3, 1), 2.0 * np.pi / 4)
    bodies = both_ways(ring, 4, METAL)
    return bodies.sector, bodies.whole, bodies.copy


def test_held_faces_keep_the_recovered_stress(sphere):
    """Points of a symmetry plane that lie on no free face are recovered."""
    plane = sphere.mesh.nodes("x0")
    free = sphere.mesh.nodes(["cavity", "outer"])
    inner = np.setdiff1d(plane, free)
    assert len(inner)
    assert_allclose(sphere.stress[inner], sphere.recovered_stress[inner], rtol=0)


def test_faces_under_given_nodal_forces_keep_the_recovered_stress(sphere):
    """How nodal forces spread is unknown, so their faces are not taken as free."""
    forces = sc.PointForces(sphere.applied)
    again = sc.solve_cases(sphere.body, sphere.held.given, {"": [forces]})[""]
    nodes = again.mesh.nodes("cavity")
    assert_allclose(again.u, sphere.u, atol=1e-12)
    assert_allclose(again.stress[nodes], again.recovered_stress[nodes], rtol=0)


def test_a_foundation_keeps_the_recovered_stress():
    """A sprung face presses back by an amount that is no load."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (4, 2, 2))
    held = [sc.Foundation("root", 1e4), sc.fix("bottom", "yz")]
    s = sc.solve_static(bar, METAL, held, [sc.traction("tip", (-3.0, 0.0, 0.0))])
    inner = np.setdiff1d(
        bar.nodes("root"), bar.nodes(["front", "back", "top", "bottom"])
    )
    assert_allclose(s.stress[inner], s.recovered_stress[inner], rtol=0)


def test_heat_comes_off_the_stress_of_the_surface():
    """A gradient across a bar that cannot bend: -E alpha T at every point of its skin.

    Source: Timoshenko and Goodier, art. 149 (from memory), ends held along x.  Exact:
    the displacement is quadratic in space.
    """
    bar = sc.beam_block(10.0, 4.0, 2.0, (4, 2, 2))
    point = sc.fix(sc.near((0.0, 0.0, 0.0)), "z")
    held = [sc.fix(["root", "tip"], "x"), sc.fix("front", "y"), point]
    rising = sc.heat(lambda x: 50.0 * x[:, 2])
    cork = sc.Material(E=70000.0, nu=0.0, alpha=2.0e-5)
    s = sc.solve_static(bar, cork, held, [rising])
    skin = bar.nodes(["top", "back"])
    exact = -70000.0 * 2.0e-5 * 50.0 * bar.points[skin, 2]
    assert_allclose(s.stress[skin, 0], exact, atol=1e-8)
    assert np.abs(s.stress[skin, 1:]).max() < 1e-8


def test_error_estimates_cover_the_error_at_a_hole(plate):
    """All points of the hole within one estimate, 90 of 100 inside within 1.5.

    Source of the exact stress: Kirsch, Timoshenko and Goodier, art. 35 (from memory).
    On the surface the estimate was measured to cover 95 % (``fem.error``).
    """
    p, solution = plate
    mesh = solution.mesh
    skin = mesh.nodes(["hole", "frame", "bottom", "top", "x0", "y0"])
    inside = np.setdiff1d(np.arange(mesh.n_points), skin)
    for nodes, factor, share in ((mesh.nodes("hole"), 1.0, 1.0), (inside, 1.5, 0.9)):
        x = mesh.points[nodes]
        exact = np.zeros((len(nodes), 6))
        exact[:, [0, 1, 3]] = kirsch(p, x)
        exact[:, 2] = METAL.nu * exact[:, :2].sum(axis=1)
        off = np.sqrt((solution.stress[nodes] - exact) ** 2 @ SHEAR_WEIGHT)
        size = np.sqrt(solution.stress_at(x) ** 2 @ SHEAR_WEIGHT)
        estimate = solution.error_at(x)
        assert (off / size <= factor * estimate).mean() >= share
        assert np.average(estimate, weights=size) < 0.08  # and it says something


def test_error_falls_with_the_mesh_at_its_rate():
    """Halved edges, a quarter of the estimated error or less: second order."""
    errors = []
    for n in (3, 6):
        mesh = sc.ring_sector(10.0, 20.0, 4.0, (n, 2 * n, 1))
        held = [
            sc.fix("start", "y"),
            sc.fix("end", "x"),
            sc.fix(["bottom", "top"], "z"),
        ]
        s = sc.solve_static(mesh, METAL, held, [sc.pressure("inner", 10.0)])
        errors.append(float(s.error_at((10.0, 0.0, 2.0))))
    assert errors[1] < 0.3 * errors[0]


def test_arrays_of_positions_give_arrays(plate):
    """One position or several: a row for each, the same values."""
    _, solution = plate
    x = np.array([[0.0, 10.0, 2.0], [25.0, 25.0, 1.0], [10.0, 0.0, 5.0]])
    for ask in (solution.stress_at, solution.displacement_at, solution.error_at):
        assert_allclose(ask(x), [ask(one) for one in x], rtol=0)
    assert solution.stress_at(x).shape == (3, 6)
    with pytest.raises(sc.ModelError, match=r"must be \(3,\) or \(n, 3\)"):
        solution.stress_at((1.0, 2.0))


def test_error_is_infinite_where_there_is_no_stress():
    """An unloaded body: no stress, so no share of it."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (2, 1, 1))
    s = sc.solve_static(bar, METAL, [sc.fix("root")], [])
    assert np.isinf(s.error_at((5.0, 2.0, 1.0)))
