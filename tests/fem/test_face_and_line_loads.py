"""Moments on faces that stay free to deform, and loads and supports along lines."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spokecheck as sc
from spokecheck.fem.loads import resultant

METAL = sc.Material(E=70000.0, nu=0.33)
LENGTH, WIDTH, HEIGHT = 60.0, 10.0, 8.0


@pytest.fixture(scope="module")
def bar():
    """A bar along x."""
    return sc.beam_block(LENGTH, WIDTH, HEIGHT, (6, 2, 2))


def root_free_to_contract(mesh):
    """The root held along x, and just enough else, so that it may contract."""
    return [
        sc.symmetry(mesh, "root"),
        sc.fix(sc.near((0.0, WIDTH / 2, HEIGHT / 2)), "yz"),
        sc.fix(sc.near((0.0, WIDTH, HEIGHT / 2)), "z"),
    ]


@pytest.mark.parametrize("about", [None, (60.0, 3.0, -20.0)])
def test_force_and_moment_come_out_as_asked(bar, about):
    """Resultant and moment of the nodal forces, about the point named."""
    F, M = np.array([3.0, -20.0, 7.0]), np.array([500.0, 300.0, -100.0])
    nodal = sc.face_load(["tip", "top"], F, M, about).nodal(bar)
    at = np.array(about) if about else _centroid(bar, ["tip", "top"])
    force, moment = resultant(bar.points, nodal, at)
    assert_allclose(force, F, atol=1e-10)
    assert_allclose(moment, M, atol=1e-8)


def _centroid(mesh, names):
    sizes = {"tip": WIDTH * HEIGHT, "top": WIDTH * LENGTH}
    places = {"tip": (60.0, 5.0, 4.0), "top": (30.0, 5.0, 8.0)}
    weight = np.array([sizes[name] for name in names])
    return weight @ np.array([places[name] for name in names]) / weight.sum()


def test_a_moment_on_the_tip_is_pure_bending(bar):
    """M z / I everywhere and no other stress, curvature M / E I: exact, tip included.

    Source: Timoshenko and Goodier, Theory of Elasticity, art. 102 (from memory).  A
    rigid tip would resist the section's warping, and show it.
    """
    M = 20000.0
    load = [sc.face_load("tip", moment=(0.0, M, 0.0))]
    s = sc.solve_static(bar, METAL, root_free_to_contract(bar), load)
    inertia = WIDTH * HEIGHT**3 / 12.0
    z = bar.points[:, 2] - HEIGHT / 2.0
    assert_allclose(s.stress[:, 0], M * z / inertia, atol=1e-8 * 200.0)
    assert_allclose(s.stress[:, 1:], 0.0, atol=1e-8 * 200.0)
    sag = s.displacement_at((LENGTH, WIDTH / 2, HEIGHT / 2))[2]
    assert_allclose(sag, -M * LENGTH**2 / (2.0 * METAL.E * inertia), rtol=1e-9)


def test_a_rigid_tip_would_stiffen_it(bar):
    """The same moment on a rigid part leaves stress across the bar at the tip."""
    held = [*root_free_to_contract(bar), sc.RigidPart("tip", (60.0, 5.0, 4.0))]
    s = sc.solve_static(bar, METAL, held, [sc.on_rigid(moment=(0.0, 20000.0, 0.0))])
    assert np.abs(s.stress[bar.nodes("tip"), 1]).max() > 20.0


def test_a_torque_on_a_round_bar():
    """Shear T r / J at the skin, angle T L / (G J): within the geometry of the mesh.

    Source: Timoshenko and Goodier, art. 101 (from memory).  Round of second-order
    faces: the radius is right to 1e-3, its third power counts.
    """
    radius, length, T = 8.0, 40.0, 50000.0
    mesh = sc.round_bar(radius, length, (3, 3, 8))
    held = [sc.fix("root", "xy"), sc.fix(sc.near((0, 0, 0))), sc.fix("root", "z")]
    s = sc.solve_static(mesh, METAL, held, [sc.face_load("tip", moment=(0.0, 0.0, T))])
    polar, shear = np.pi * radius**4 / 2.0, METAL.E / (2.0 * (1.0 + METAL.nu))
    for z in (20.0, 40.0):
        found = s.stress_at((radius, 0.0, z))
        assert_allclose(found[4], T * radius / polar, rtol=0.01)
    turn = s.displacement_at((radius, 0.0, length))[1] / radius
    assert_allclose(turn, T * length / (shear * polar), rtol=2e-3)
    ends = np.linalg.norm(s.stress_at((0.0, 0.0, length))[:3])
    assert ends < 1e-3 * T * radius / polar  # the tip is free of stress along z


def test_a_face_without_extent_takes_no_moment(bar):
    """A strip as narrow as a line would need infinite tractions."""
    flat = sc.moved(bar, lambda x: x * np.array([1.0, 1e-6, 1.0]))
    load = sc.face_load("top", moment=(1.0, 0.0, 0.0))
    with pytest.raises(sc.ModelError, match="it has no extent across it"):
        load.nodal(flat)


def test_a_line_load_adds_up_on_straight_and_curved_edges(bar):
    """Force per length times length; on an arc to the shape of second-order edges."""
    nodal = sc.line_load(sc.Edge("top", "tip"), (0.0, 0.0, -3.0)).nodal(bar)
    force, moment = resultant(bar.points, nodal)
    assert_allclose(force, [0.0, 0.0, -3.0 * WIDTH], atol=1e-12)
    assert_allclose(moment, np.cross([60.0, 5.0, 8.0], force), atol=1e-9)
    ring = sc.ring_sector(20.0, 30.0, 4.0, (1, 6, 1), 2.0 * np.pi)
    around = sc.line_load(sc.Edge("outer", "top"), (0.0, 0.0, 1.0)).nodal(ring)
    assert_allclose(around.sum(axis=0)[2], 2.0 * np.pi * 30.0, rtol=5e-3)
    varying = sc.line_load(sc.Edge("top", "tip"), lambda x: x[:, [1]] * [0, 0, 1.0])
    assert_allclose(varying.nodal(bar).sum(axis=0)[2], WIDTH**2 / 2.0, rtol=1e-12)


def test_a_line_by_position_is_the_edges_that_pass(bar):
    """The same forces by a test of positions as by the edge of two surfaces."""
    by_name = sc.line_load(sc.Edge("top", "tip"), (1.0, 2.0, 3.0)).nodal(bar)
    by_test = sc.line_load(
        lambda x: (x[:, 0] > 60.0 - 1e-9) & (x[:, 2] > 8.0 - 1e-9), (1.0, 2.0, 3.0)
    )
    assert_allclose(by_test.nodal(bar), by_name, atol=1e-12)


@pytest.mark.parametrize(
    "where", [sc.Edge("root", "tip"), lambda x: np.abs(x[:, 0] - 3.3) < 0.1]
)
def test_a_line_without_edges_is_an_error(bar, where):
    """Surfaces that do not meet, and a line through the cells."""
    with pytest.raises(sc.ModelError, match=r"no edge of the mesh|selection of points"):
        sc.line_load(where, (0.0, 0.0, 1.0)).nodal(bar)


def test_a_plate_on_two_line_supports():
    """Simply supported strip under its pressure: 3 q L^2 / (4 h^2) at midspan.

    Source: Timoshenko and Goodier, art. 22 (from memory): beam theory and a correction
    of q (nu = 0, so 0.6 q - q = a few tenths of q), 0.3 % here.
    """
    length, height, q = 100.0, 5.0, 0.2
    mesh = sc.beam_block(length, 4.0, height, (20, 1, 2))
    supports = [
        sc.fix(sc.Edge("bottom", "root"), "xz"),
        sc.fix(sc.Edge("bottom", "tip"), "z"),
        sc.fix(sc.near((0, 0, 0)), "y"),
    ]
    cork = sc.Material(E=70000.0, nu=0.0)
    s = sc.solve_static(mesh, cork, supports, [sc.pressure("top", q)])
    found = s.stress_at((length / 2.0, 2.0, 0.0))[0]
    assert_allclose(found, 3.0 * q * length**2 / (4.0 * height**2), rtol=5e-3)
    each = s.reaction(sc.Edge("bottom", "tip"))
    assert_allclose(each, [0.0, 0.0, q * length * 4.0 / 2.0], atol=1e-8)


def test_a_line_load_on_a_half_space():
    """Stress straight below a line load P: -2 P / (pi r), within 2 % five mm away.

    Source: Flamant, in Timoshenko and Goodier, art. 36 (from memory).  His tractions
    act on the other sides; cells are 0.83 mm.
    """
    P, width = 100.0, 1.0
    mesh = sc.moved(
        sc.beam_block(20.0, width, 10.0, (24, 1, 12)), lambda x: x - [10.0, 0.0, 10.0]
    )

    def field(x):
        r2 = x[:, 0] ** 2 + x[:, 2] ** 2
        along = 2.0 * P * x[:, 2] / (np.pi * r2**2)  # -2 P cos / (pi r), over r^2
        return along[:, None] * np.column_stack(
            [x[:, 0] ** 2, x[:, 2] ** 2, x[:, 0] * x[:, 2]]
        )

    def toward(i, j, sign):
        def traction(x):
            s = field(x)
            return sign * np.column_stack([s[:, i], 0.0 * x[:, 0], s[:, j]])

        return traction

    sides = [
        sc.traction("root", toward(0, 2, -1.0)),
        sc.traction("tip", toward(0, 2, 1.0)),
        sc.traction("bottom", toward(2, 1, -1.0)),
        sc.line_load(
            lambda x: (abs(x[:, 0]) < 1e-9) & (x[:, 2] > -1e-9), (0.0, 0.0, -P)
        ),
    ]
    held = [
        sc.fix(["front", "back"], "y"),
        sc.fix(sc.near((0.0, 0.0, -10.0)), "xz"),
        sc.fix(sc.near((0.0, 0.0, -5.0)), "x"),
    ]
    s = sc.solve_static(mesh, METAL, held, sides)
    for place in ((0.0, 0.6, -5.0), (0.0, 0.6, -7.5), (3.0, 0.6, -4.0)):
        exact = field(np.array([place]))[0]
        got = s.stress_at(place)[[0, 2, 5]]
        assert_allclose(got, exact, atol=0.02 * 2.0 * P / (np.pi * 5.0))
    top = mesh.nodes("top")
    beside = top[np.abs(mesh.points[top, 0]) > 4.0]
    assert np.abs(s.stress[beside, 0]).max() < 0.01 * 2.0 * P / np.pi
