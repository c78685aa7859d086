"""The public solver: supports, loads, reactions, and what it says when misused."""

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import MeshError, ModelError
from spokecheck.fem.actions import (
    PointForces,
    body_force,
    heat,
    on_rigid,
    pressure,
    spin,
    traction,
)
from spokecheck.fem.body import Body
from spokecheck.fem.constraints import free_motions, gather_constraints, rigid_motions
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_cases, solve_static
from spokecheck.fem.stress import von_mises
from spokecheck.fem.supports import (
    Foundation,
    RigidPart,
    displace,
    fix,
    move_rigidly,
    near,
    slide,
    symmetry,
)
from spokecheck.mesh.blocks import join, moved, zoned
from spokecheck.mesh.parts import beam_block, ring_sector, round_bar
from spokecheck.mesh.record import Mesh

ALUMINIUM = Material(E=70000.0, nu=0.33, rho=2.7e-9, alpha=2.3e-5)


@pytest.fixture(scope="module")
def bar():
    """A short bar, 10 x 4 x 2 mm."""
    return beam_block(10.0, 4.0, 2.0, (4, 2, 2))


def rollers(mesh):
    """Symmetry planes at root, front and bottom: the bar may expand freely."""
    return [symmetry(mesh, name) for name in ("root", "front", "bottom")]


def test_pulled_bar(bar):
    """A bar on three symmetry planes under tension: Hooke's law, exactly."""
    s = solve_static(bar, ALUMINIUM, rollers(bar), [traction("tip", (7.0, 0.0, 0.0))])
    strain = 7.0 / 70000.0
    assert_allclose(s.stress_at((3.3, 1.2, 0.7)), [7, 0, 0, 0, 0, 0], atol=1e-9)
    expected = strain * np.array([10.0, -0.33 * 4.0, -0.33 * 2.0])
    assert_allclose(s.displacement_at((10.0, 4.0, 2.0)), expected, rtol=1e-9)
    assert_allclose(s.mean_displacement("tip")[0], 10.0 * strain, rtol=1e-9)
    assert_allclose(s.reaction("root"), [-56.0, 0.0, 0.0], atol=1e-9)
    assert_allclose(s.energy, 0.5 * 56.0 * 10.0 * strain, rtol=1e-9)
    assert_allclose(von_mises(s.stress), 7.0, rtol=1e-9)


def test_pressure_on_all_sides(bar):
    """Equal pressure all round gives a hydrostatic stress."""
    s = solve_static(
        bar, ALUMINIUM, rollers(bar), [pressure(["tip", "back", "top"], 5.0)]
    )
    assert_allclose(s.stress[:, :3], -5.0, rtol=1e-9)
    assert_allclose(s.stress[:, 3:], 0.0, atol=1e-9)


def test_hanging_bar(bar):
    """Own weight along x: stress falls linearly from g L at the root to zero."""
    cork = Material(E=70000.0, nu=0.0)
    s = solve_static(bar, cork, rollers(bar), [body_force((0.2, 0.0, 0.0))])
    assert_allclose(s.stress_at((2.5, 2.0, 1.0))[0], 0.2 * 7.5, rtol=1e-9)
    assert_allclose(s.reaction("root")[0], -0.2 * 80.0, rtol=1e-9)


def test_spinning_bar(bar):
    """Centrifugal load about z: resultant of a bar is rho A omega^2 L^2 / 2."""
    s = solve_static(bar, ALUMINIUM, [fix("root")], [spin((0.0, 0.0, 3000.0))])
    total = 2.7e-9 * 8.0 * 3000.0**2 * 10.0**2 / 2.0
    assert_allclose(s.applied.sum(axis=0)[0], total, rtol=1e-9)


def test_heated_bar_expands_freely(bar):
    """A uniform temperature on rollers: strain alpha T and no stress."""
    s = solve_static(bar, ALUMINIUM, rollers(bar), [heat(100.0)])
    assert_allclose(s.stress, 0.0, atol=1e-8)
    grown = 2.3e-3 * np.array([10.0, 4.0, 2.0])
    assert_allclose(s.displacement_at((10.0, 4.0, 2.0)), grown, rtol=1e-9)


def test_heated_bar_between_walls(bar):
    """Held along x only: stress -E alpha T, the classic result."""
    held = [*rollers(bar), fix("tip", "x")]
    s = solve_static(bar, ALUMINIUM, held, [heat(100.0)])
    assert_allclose(s.stress[:, 0], -70000.0 * 2.3e-3, rtol=1e-9)
    assert_allclose(s.stress[:, 1:], 0.0, atol=1e-7)


def test_temperature_linear_in_space_is_free_of_stress(bar):
    """A linear temperature strains compatibly, so a free body stays stress-free.

    Boley and Weiner, sec. 4.5: compatibility holds if T is linear in x, y, z.
    """
    held = [
        fix(near((0, 0, 0))),
        fix(near((10, 0, 0)), "yz"),
        fix(near((0, 4, 0)), "z"),
    ]
    s = solve_static(bar, ALUMINIUM, held, [heat(lambda x: 10.0 * x[:, 0] + x[:, 2])])
    assert_allclose(s.stress, 0.0, atol=1e-7)


def test_prescribed_displacement_is_met(bar):
    """Prescribed values come back at their points, and the far side follows."""
    held = [*rollers(bar), displace("tip", (0.02, 0.0, 0.0), "x")]
    s = solve_static(bar, ALUMINIUM, held, [])
    assert_allclose(s.u[bar.nodes("tip"), 0], 0.02, rtol=1e-14)
    assert_allclose(s.reaction("tip")[0], 70000.0 * 0.002 * 8.0, rtol=1e-9)


def test_rigid_motion_of_the_whole_skin_is_free(bar):
    """A body whose ends move rigidly together has no stress."""
    motion = {"centre": (1.0, 2.0, 3.0), "shift": (0.1, 0.2, 0.3)}
    ends = move_rigidly(["root", "tip"], **motion, rotation=(1e-3, -2e-3, 3e-3))
    s = solve_static(bar, ALUMINIUM, [ends], [])
    assert_allclose(s.stress, 0.0, atol=1e-7)


def test_symmetry_plane_at_an_angle(bar):
    """A bar turned by 30 degrees in its own symmetry planes gives turned results."""
    c, d = np.cos(np.pi / 6), np.sin(np.pi / 6)
    R = np.array([[c, -d, 0.0], [d, c, 0.0], [0.0, 0.0, 1.0]])
    turned = moved(bar, lambda x: x @ R.T)
    pull = traction("tip", R @ [7.0, 0.0, 0.0])
    straight = solve_static(
        bar, ALUMINIUM, rollers(bar), [traction("tip", (7.0, 0.0, 0.0))]
    )
    s = solve_static(turned, ALUMINIUM, rollers(turned), [pull])
    assert_allclose(s.u, straight.u @ R.T, atol=1e-12)


def test_radial_rollers_on_a_bore():
    """Points of a bore held along the radius may still turn: that motion is named."""
    ring = ring_sector(10.0, 20.0, 4.0, (2, 16, 1), 2.0 * np.pi)
    bore = slide("inner", lambda x: x * [1.0, 1.0, 0.0])
    with pytest.raises(ModelError, match="1 of 6 rigid motions free: rotation about z"):
        solve_static(ring, ALUMINIUM, [bore, fix("bottom", "z")], [])


def test_rigid_part_carries_force_and_moment(bar):
    """Forces on a rigid tip reach the root as force and moment."""
    held = [fix("root"), RigidPart("tip", (10.0, 2.0, 1.0))]
    load = on_rigid(force=(5.0, -3.0, 2.0), moment=(40.0, 50.0, -60.0))
    s = solve_static(bar, ALUMINIUM, held, [load])
    assert_allclose(s.reaction("root"), [-5.0, 3.0, -2.0], atol=1e-8)
    centre = (10.0, 2.0, 1.0)
    assert_allclose(s.reaction_moment("root", centre), [-40, -50, 60], atol=1e-6)
    tip = bar.nodes("tip")
    motions = rigid_motions(bar.points[tip]).reshape(-1, 6)
    _, residual, _, _ = np.linalg.lstsq(motions, s.u[tip].ravel(), rcond=None)
    assert residual < 1e-18


def test_rigid_part_equals_prescribed_motion(bar):
    """Prescribing the motion that a loaded rigid part took gives the same field."""
    free = solve_static(
        bar,
        ALUMINIUM,
        [fix("root"), RigidPart("tip", (10.0, 2.0, 1.0))],
        [on_rigid(moment=(0.0, 300.0, 0.0))],
    )
    tip = bar.nodes("tip")
    forced = solve_static(
        bar, ALUMINIUM, [fix("root"), displace("tip", lambda x: free.u[tip])], []
    )
    assert_allclose(forced.u, free.u, atol=1e-12 * np.abs(free.u).max())
    assert_allclose(
        forced.reaction_moment("tip", (10.0, 2.0, 1.0)), [0, 300, 0], atol=1e-6
    )


def test_the_motion_of_a_rigid_part_is_reported(bar):
    """Shift of its centre and rotation give the motion of every point of it."""
    centre = np.array([14.0, -3.0, 5.0])
    held = [fix("root"), RigidPart("tip", centre)]
    force, moment = np.array([3.0, 4.0, -5.0]), np.array([9.0, 8.0, 7.0])
    s = solve_static(bar, ALUMINIUM, held, [on_rigid(force, moment)])
    motion, tip = s.rigid_motion(), bar.nodes("tip")
    moved = motion.shift + np.cross(motion.rotation, bar.points[tip] - centre)
    assert_allclose(s.u[tip], moved, atol=1e-12)
    work = motion.shift @ force + motion.rotation @ moment
    internal = (s.u * s.body.stiffness.times(s.u[None].astype(complex))[0].real).sum()
    assert_allclose(internal, work, rtol=1e-9)  # Clapeyron's theorem
    with pytest.raises(ModelError, match="rigid part 'hub': not in this model"):
        s.rigid_motion("hub")


def test_two_rigid_sections_of_a_twisted_shaft():
    """Torques on the middle and on the tip of a round bar: angles T L / (G J) add up.

    Source: Timoshenko and Goodier, art. 101 (from memory).  Sections of a round shaft
    stay plane, so rigid ones change nothing; 3 in 1,000 is the mesh.
    """
    radius, length, first, last = 8.0, 40.0, 30000.0, 50000.0
    mesh = round_bar(radius, length, (3, 3, 8))
    held = [
        fix("root"),
        RigidPart(lambda x: abs(x[:, 2] - 20.0) < 1e-9, (0, 0, 20.0), "middle"),
        RigidPart("tip", (5.0, 0.0, 40.0), "end"),
    ]
    loads = [
        on_rigid(moment=(0.0, 0.0, first), part="middle"),
        on_rigid(moment=(0.0, 0.0, last), part="end"),
    ]
    s = solve_static(mesh, ALUMINIUM, held, loads)
    stiff = 70000.0 / 2.66 * np.pi * radius**4 / 2.0
    middle, end = s.rigid_motion("middle").rotation, s.rigid_motion("end").rotation
    at_middle = (first + last) * 20.0 / stiff
    assert_allclose(middle, [0.0, 0.0, at_middle], rtol=3e-3, atol=1e-9)
    at_end = at_middle + last * 20.0 / stiff
    assert_allclose(end, [0.0, 0.0, at_end], rtol=3e-3, atol=1e-9)
    about = s.reaction_moment("root", (0.0, 0.0, 0.0))
    assert_allclose(about[2], -first - last, rtol=1e-9)


def test_two_rigid_parts_equal_their_prescribed_motions():
    """Prescribing what two loaded parts did gives the same field and forces."""
    bar = beam_block(12.0, 4.0, 2.0, (4, 2, 1))
    parts = [
        RigidPart("root", (0.0, 0.0, 0.0), "left"),
        RigidPart("tip", (12.0, 1.0, 1.0), "right"),
    ]
    force, moment = np.array([1.0, 2.0, 3.0]), np.array([4.0, 5.0, 6.0])
    middle = fix(lambda x: abs(x[:, 0] - 6.0) < 1e-9)
    load = [on_rigid(force, moment, "right"), on_rigid(-2.0 * force, part="left")]
    free = solve_static(bar, ALUMINIUM, [middle, *parts], load)
    ends = [
        move_rigidly(part.where, part.centre, motion.shift, motion.rotation)
        for part in parts
        for motion in [free.rigid_motion(part.name)]
    ]
    forced = solve_static(bar, ALUMINIUM, [middle, *ends], [])
    assert_allclose(forced.u, free.u, atol=1e-10 * np.abs(free.u).max())
    assert_allclose(forced.reaction("tip"), force, atol=1e-8)
    assert_allclose(forced.reaction_moment("tip", (12.0, 1.0, 1.0)), moment, atol=1e-8)
    assert_allclose(forced.reaction("root"), -2.0 * force, atol=1e-8)


def test_foundation_alone_can_hold_a_body(bar):
    """Springs under a block sink by pressure over stiffness."""
    held = [Foundation("bottom", 2.0), fix("root", "xy"), fix(near((10, 0, 0)), "y")]
    s = solve_static(bar, Material(E=1e9, nu=0.0), held, [pressure("top", 3.0)])
    assert_allclose(s.u[:, 2], -1.5, rtol=1e-5)


def test_zones_in_series(bar):
    """Two materials in series share the force and add their stretches."""
    second = zoned(moved(bar, lambda x: x + np.array([10.0, 0.0, 0.0])), "soft")
    first = Mesh(
        bar.points,
        bar.cells,
        {k: bar.surfaces[k] for k in bar.surfaces if k != "tip"},
        bar.zones,
    )
    both = join(
        [
            first,
            Mesh(
                second.points,
                second.cells,
                {"tip": second.surfaces["tip"]},
                second.zones,
            ),
        ]
    )
    soft, stiff = Material(E=1000.0, nu=0.0), Material(E=4000.0, nu=0.0)
    held = [fix("root")]
    s = solve_static(both, stiff, held, [traction("tip", (2.0, 0, 0))], {"soft": soft})
    stretch = 2.0 * 10.0 * (1 / 1000.0 + 1 / 4000.0)
    assert_allclose(s.mean_displacement("tip")[0], stretch, rtol=1e-9)


def test_cases_share_one_body_and_stay_apart(bar):
    """Several load cases at once give what each gives alone."""
    part = Body(bar, ALUMINIUM)
    loads = {"a": [traction("tip", (1.0, 0, 0))], "b": [pressure("top", 2.0)]}
    both = solve_cases(part, [fix("root")], loads)
    for name, load in loads.items():
        alone = solve_static(bar, ALUMINIUM, [fix("root")], load)
        assert_allclose(both[name].u, alone.u, atol=1e-14)


FREE = [
    ([], 6, "shift along x; shift along y; shift along z"),
    ([fix("root", "x")], 3, "shift along y"),
    ([fix("root", "xy")], 1, "shift along z"),
    ([fix(near((0, 0, 0)))], 3, r"rotation about x through \(0, 0, 0\) mm"),
    ([fix(near((0, 4, 2)))], 3, r"rotation about x through \(0, 4, 2\) mm"),
    (
        [fix(near((0, 4, 2))), fix(near((10, 4, 2)), "yz")],
        1,
        r"rotation about x through \(0, 4, 2\) mm",
    ),
]


@pytest.mark.parametrize(("supports", "count", "name"), FREE)
def test_free_motions_are_named(bar, supports, count, name):
    """An under-constrained model names what is free and says what to do."""
    with pytest.raises(ModelError, match=f"{count} of 6 rigid motions free.*hold") as e:
        solve_static(bar, ALUMINIUM, supports, [])
    told = str(e.value)
    if count == 6:
        for axis in "xyz":
            assert f"rotation about {axis}" in told
            assert f"shift along {axis}" in told
    else:
        assert re.search(name, told), told


def test_free_motion_about_a_skew_axis(bar):
    """A body hinged at two points turns about the line through them."""
    points = bar.points
    hinge = fix(near((0, 0, 0))), fix(near((10, 4, 2)))
    found = free_motions(points, gather_constraints(bar, hinge).resistance)
    assert len(found) == 1
    axis = np.array([10.0, 4.0, 2.0]) / np.sqrt(120.0)
    shown = ", ".join(f"{c:.3g}" for c in axis)
    flipped = ", ".join(f"{-c:.3g}" for c in axis)
    assert f"({shown})" in found[0] or f"({flipped})" in found[0]


BAD = [
    (lambda bar: [fix("rot")], [], MeshError, "surface rot: not in this mesh; it has"),
    (lambda bar: [fix("root", "xw")], [], ModelError, "letters out of x, y, z"),
    (
        lambda bar: [fix("root"), displace("root", (0.1, 0, 0), "x")],
        [],
        ModelError,
        "0.1 mm apart",
    ),
    (
        lambda bar: [fix("root"), fix(lambda x: x[:, 0] > 99)],
        [],
        ModelError,
        "selection of points is empty",
    ),
    (
        lambda bar: [fix("root")],
        [on_rigid(force=(1, 0, 0))],
        ModelError,
        "which has none; add a RigidPart",
    ),
    (
        lambda bar: [fix("root"), RigidPart("root", (0, 0, 0))],
        [],
        ModelError,
        "held as well",
    ),
    (
        lambda bar: [
            fix("root"),
            RigidPart("tip", (0, 0, 0)),
            RigidPart("back", (0, 0, 0)),
        ],
        [],
        ModelError,
        "2 rigid parts, several named '': give each a name",
    ),
    (
        lambda bar: [
            fix(near((0, 0, 0))),
            RigidPart("tip", (0, 0, 0), "a"),
            RigidPart("back", (10, 4, 0), "b"),
        ],
        [],
        ModelError,
        "rigid part 'b': shares points with another",
    ),
    (
        lambda bar: [fix("root"), RigidPart("tip", (0, 0, 0), "a")],
        [on_rigid(force=(1, 0, 0), part="c")],
        ModelError,
        "rigid part 'c': not in this model, which has 'a'",
    ),
    (
        lambda bar: [fix("root")],
        [PointForces(np.zeros((3, 3)))],
        ModelError,
        r"nodal forces of shape \(3, 3\)",
    ),
]


WRONG = [
    (lambda: traction("tip", (1.0, 2.0)), r"traction = \(1.0, 2.0\): must be three"),
    (lambda: body_force((0.0, np.nan, 0.0)), "body force .* three finite numbers"),
    (lambda: fix(near((1.0, 2.0))), "position .* three finite numbers"),
    (lambda: displace("tip", (1.0,)), "displacement .* three finite numbers"),
    (lambda: spin((1.0, 2.0, np.inf)), "omega .* three finite numbers"),
    (lambda: Foundation("top", 0.0), "stiffness = 0 N/mm.3: must be positive"),
]


@pytest.mark.parametrize(("make", "message"), WRONG)
def test_wrong_vectors_and_springs_are_refused(make, message):
    """A vector without three finite numbers, or a spring without stiffness, is told."""
    with pytest.raises(ModelError, match=message):
        make()


def test_unknown_zone_is_refused(bar):
    """A material for a zone that the mesh has not names those it has."""
    hollow = zoned(bar, "core")
    with pytest.raises(ModelError, match="zone rim: not in this mesh; it has core"):
        Body(hollow, ALUMINIUM, {"rim": ALUMINIUM})


@pytest.mark.parametrize(("supports", "loads", "error", "message"), BAD)
def test_bad_models_are_refused(bar, supports, loads, error, message):
    """Every misuse is an error of the package that says what to change."""
    with pytest.raises(error, match=message):
        solve_static(bar, ALUMINIUM, supports(bar), loads)


def test_curved_surface_is_no_symmetry_plane():
    """A bore cannot be a symmetry plane, and the message offers slide."""
    ring = ring_sector(10.0, 20.0, 4.0, (2, 4, 1))
    with pytest.raises(ModelError, match=r"surface inner: not plane.*slide"):
        symmetry(ring, "inner")


@pytest.mark.parametrize(
    ("constants", "message"),
    [
        ({"E": -1.0, "nu": 0.3}, "E = -1 MPa: must be positive"),
        ({"E": 0.0, "nu": 0.3}, "E = 0 MPa: must be positive"),
        ({"E": 1.0, "nu": 0.5}, "nu = 0.5: must lie between -1 and 0.5"),
        ({"E": 1.0, "nu": -1.0}, "nu = -1: must lie between"),
    ],
)
def test_bad_material_is_refused(constants, message):
    """Constants without positive energy are refused, at the limits too."""
    with pytest.raises(ModelError, match=message):
        Material(**constants)


def test_spin_without_density_is_refused(bar):
    """A centrifugal load on a material without density asks for it."""
    with pytest.raises(ModelError, match="give the material its rho"):
        solve_static(bar, Material(1.0, 0.3), [fix("root")], [spin((0, 0, 1))])


def test_point_outside_is_refused(bar):
    """Asking outside the body tells the point and the body's extent."""
    s = solve_static(bar, ALUMINIUM, [fix("root")], [])
    with pytest.raises(ModelError, match=r"point \(11, 1, 1\) mm: not in the body"):
        s.stress_at((11.0, 1.0, 1.0))


def test_inputs_are_left_alone(bar):
    """Solving writes into neither mesh nor supports nor loads."""
    before = bar.points.copy(), bar.cells.copy()
    value = np.array([1.0, 2.0, 3.0])
    solve_static(bar, ALUMINIUM, [fix("root")], [traction("tip", value)])
    assert_allclose(bar.points, before[0])
    assert_allclose(bar.cells, before[1])
    assert_allclose(value, [1.0, 2.0, 3.0])
