"""Components of stress in other frames, antisymmetry planes, cuts found from faces."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.testing import assert_allclose

import spokecheck as sc
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.stress import stress_tensor

METAL = sc.Material(E=70000.0, nu=0.33)
six = arrays(float, (4, 6), elements=st.floats(-100.0, 100.0))


@given(six)
def test_principal_stresses_are_those_of_their_directions(stress):
    """Falling, with the invariants of the tensor, which is diagonal in the frame."""
    values, rows = sc.principal_stresses(stress), sc.principal_directions(stress)
    assert (np.diff(values, axis=1) <= 1e-9).all()
    assert_allclose(values.sum(axis=1), stress[:, :3].sum(axis=1), atol=1e-9)
    assert_allclose(
        rows @ stress_tensor(stress) @ np.swapaxes(rows, 1, 2),
        values[:, :, None] * np.eye(3),
        atol=1e-8,
    )
    gaps = values - np.roll(values, 1, axis=1)
    assert_allclose(
        np.sqrt((gaps**2).sum(axis=1) / 2.0), sc.von_mises(stress), atol=1e-5
    )


def test_a_pressed_tube_in_its_own_components():
    """Lamé's radial, hoop and axial stress around the whole bore, no shear.

    Source: Timoshenko and Goodier, Theory of Elasticity, art. 28 (from memory).
    """
    a, b, p = 20.0, 40.0, 30.0
    mesh = sc.ring_sector(a, b, 5.0, (3, 6, 1))
    held = [sc.fix("start", "y"), sc.fix("end", "x"), sc.fix(["bottom", "top"], "z")]
    s = sc.solve_static(mesh, METAL, held, [sc.pressure("inner", p)])
    nodes = mesh.nodes("inner")
    got = sc.cylindrical(s.stress[nodes], mesh.points[nodes])
    hoop = p * (a * a + b * b) / (b * b - a * a)
    exact = [-p, hoop, METAL.nu * (hoop - p), 0.0, 0.0, 0.0]
    assert_allclose(got, np.tile(exact, (len(nodes), 1)), atol=0.02 * hoop)
    u = sc.cylindrical(s.u[nodes], mesh.points[nodes])
    assert_allclose(u[:, 0], u[:, 0].mean(), rtol=2e-3)
    assert_allclose(u[:, 1], 0.0, atol=1e-3 * u[:, 0].mean())


def test_another_axis_is_the_same_turned():
    """Components about x through a point are those about z of the body turned there."""
    rng = np.random.default_rng(7)
    stress, x = rng.normal(size=(5, 6)), rng.normal(size=(5, 3))
    about_z = sc.cylindrical(stress, x)
    # x -> y -> z -> x carries the z axis to the x axis
    there = x[:, [2, 0, 1]] + np.array([3.0, 4.0, 5.0])
    turned = stress[:, [2, 0, 1, 5, 3, 4]]
    found = sc.cylindrical(turned, there, (2.0, 0.0, 0.0), (3.0, 4.0, 5.0))
    assert_allclose(found, about_z, atol=1e-12)
    with pytest.raises(sc.ModelError, match="lies on the axis"):
        sc.cylindrical(stress[0], np.array([0.0, 0.0, 2.0]))


def test_half_a_twisted_bar_is_antisymmetric():
    """A quarter of a square bar in torsion equals the whole: both cuts antisymmetric.

    Shear at mid-side is 4.81 T / a^3 (Timoshenko and Goodier, art. 109, from memory).
    """
    side, length, T = 10.0, 60.0, 20000.0
    whole = sc.beam_block(length, side, side, (8, 6, 6))
    whole = sc.moved(whole, lambda x: x - np.array([0.0, side / 2, side / 2]))
    still = [(0.0, 0.0, 0.0), (0.0, side / 2, 0.0), (0.0, 0.0, side / 2)]
    held = [sc.fix("root", "yz"), *(sc.fix(sc.near(x), "x") for x in still)]
    load = [sc.face_load("tip", moment=(T, 0.0, 0.0))]
    full = sc.solve_static(whole, METAL, held, load)
    quarter = sc.beam_block(length, side / 2, side / 2, (8, 3, 3))
    planes = [sc.antisymmetry(quarter, name) for name in ("front", "bottom")]
    twist = 6.0 * T / side**4  # the traction of face_load on the whole square

    def shear(x):
        return twist * np.column_stack([0.0 * x[:, 0], -x[:, 2], x[:, 1]])

    part = sc.solve_static(
        quarter, METAL, [*planes, sc.fix("root", "yz")], [sc.traction("tip", shear)]
    )
    for place in ((30.0, 2.0, 3.0), (20.0, 5.0, 1.0), (60.0, 4.0, 4.0)):
        assert_allclose(
            part.displacement_at(place), full.displacement_at(place), atol=2e-4
        )
    peak = part.stress_at((length / 2, side / 2, 0.0))[5]
    assert_allclose(peak, 4.81 * T / side**3, rtol=0.02)


def test_antisymmetry_holds_across_an_oblique_normal():
    """Whatever the plane, motion along its normal is free and all other held."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (2, 1, 1))
    turn = rotation(0.7)
    askew = sc.moved(bar, lambda x: x @ turn.T)
    support = sc.antisymmetry(askew, "tip")
    normal = turn @ [1.0, 0.0, 0.0]
    assert_allclose(support.directions @ normal, 0.0, atol=1e-12)
    assert_allclose(support.directions @ support.directions.T, np.eye(2), atol=1e-12)
    ring = sc.ring_sector(10.0, 20.0, 4.0, (1, 2, 1))
    with pytest.raises(sc.ModelError, match="surface inner: not plane"):
        sc.antisymmetry(ring, "inner")


def test_cuts_are_paired_from_their_faces():
    """Each pair is an image; a spinning ring by one sixth equals the quarter's."""
    mesh = sc.ring_sector(20.0, 40.0, 5.0, (2, 2, 1), np.pi / 3.0)
    cyclic = sc.cyclic_from_faces(mesh, 6, "start", "end")
    low, high = mesh.points[cyclic.pairs.T]
    assert_allclose(low @ rotation(np.pi / 3.0).T, high, atol=1e-12)
    assert len(cyclic.pairs) == len(mesh.nodes("start"))


def test_cuts_that_do_not_match_are_an_error():
    """Wrong count, wrong way round, and a body without a bore: each named."""
    mesh = sc.ring_sector(20.0, 40.0, 5.0, (2, 2, 1), np.pi / 3.0)
    with pytest.raises(sc.ModelError, match=r"turned by 360 / 5 deg.*lie up to"):
        sc.cyclic_from_faces(mesh, 5, "start", "end")
    with pytest.raises(sc.ModelError, match="the other way round"):
        sc.cyclic_from_faces(mesh, 6, "end", "start")
    with pytest.raises(sc.ModelError, match="count = 1: must be 2 or more"):
        sc.cyclic_from_faces(mesh, 1, "start", "end")
    octant = sc.cavity_octant(10.0, 20.0, (1, 1))
    with pytest.raises(sc.ModelError, match="of the cut y0 lie on the axis"):
        sc.cyclic_from_faces(octant, 4, "y0", "x0")
