"""Sectors solved by fronts against closed forms, a dense solver, and the whole body."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.assembly import assemble_stiffness
from spokecheck.fem.body import balance, make_body, respond
from spokecheck.fem.cyclic import cyclic_from_faces, rotation, stress_rotation
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import pressure_forces
from spokecheck.fem.orders import Coupling, OrderLoad, Supports
from spokecheck.fem.whole import copied_round
from spokecheck.handbook.consistency import lobed_sector
from spokecheck.handbook.rings import ring_order
from spokecheck.mesh.parts import ring_sector

ALUMINIUM = Material(70000.0, 0.33)
COUNT = 5
NONE = np.zeros(3, dtype=complex)
INSIDE, OUTSIDE = 60.0, 100.0
"""Radii of the ring [mm]; invented."""


def ring(height, cells):
    """One fifth of a ring and its symmetry."""
    mesh = ring_sector(INSIDE, OUTSIDE, height, cells, 2.0 * np.pi / COUNT)
    return mesh, cyclic_from_faces(mesh, COUNT, "start", "end")


def pressed(mesh, where, order):
    """1 MPa outward, as cos + i sin of an order of the angle."""
    around = (
        lambda x: np.cos(order * np.arctan2(x[:, 1], x[:, 0])),
        lambda x: np.sin(order * np.arctan2(x[:, 1], x[:, 0])),
    )
    real, imaginary = (-pressure_forces(mesh, mesh.faces(where), f) for f in around)
    return OrderLoad(order, real + 1j * imaginary, NONE, NONE)


def in_polar(mesh, u, stress):
    """Radial displacement, radial and hoop stress (n_points,)."""
    angle = np.arctan2(mesh.points[:, 1], mesh.points[:, 0])
    c, s = np.cos(angle), np.sin(angle)
    xx, yy, xy = stress[:, 0], stress[:, 1], stress[:, 3]
    radial = c * c * xx + s * s * yy + 2.0 * c * s * xy
    return c * u[:, 0] + s * u[:, 1], radial, xx + yy - radial


def rms(found, exact, size=None):
    """Root mean square gap over all points, as a share of the largest value."""
    gap = np.sqrt((np.abs(found - exact) ** 2).mean())
    return float(gap / np.abs(exact if size is None else size).max())


def test_a_sector_of_a_thick_ring_under_pressure_is_lames():
    """Inner pressure of 100 MPa between rigid planes: stress and growth of Lame.

    Source: Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 28 (from memory).
    Cells of a sixth of the wall leave 0.24 % of the stress and 0.01 % of the growth.
    """
    mesh, cyclic = ring(4.0, (6, 12, 1))
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes(["bottom", "top"]), 2] = True
    held[mesh.nodes("start"), 1] = True  # against turning about the axle
    nodal = -100.0 * pressed(mesh, "inner", 0).nodal
    body = make_body(mesh, ALUMINIUM, cyclic)
    found = respond(body, Supports(held), [OrderLoad(0, nodal, NONE, NONE)])
    r = np.hypot(mesh.points[:, 0], mesh.points[:, 1])
    size = 100.0 * INSIDE**2 / (OUTSIDE**2 - INSIDE**2)
    u, radial, hoop = in_polar(mesh, found.displacements.u[0], found.stress[0])
    grown = size * 1.33 / 70000.0 * (0.34 * r + OUTSIDE**2 / r)
    assert rms(u, grown) < 3e-4
    exact = size * (1.0 + OUTSIDE**2 / r**2)
    assert rms(hoop, exact) < 0.005
    assert rms(radial, 2.0 * size - exact, exact) < 0.005


@pytest.mark.parametrize("order", [2, 3])
def test_a_sector_of_a_ring_under_waves_of_pressure_is_michells(order):
    """Traction exp(i m theta) outside: the plane field of Michell, turned and in phase.

    Source: Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 43 (from memory).
    Of five sectors, order 3 is the mirror image of order 2.
    Ten cells a wave leave 0.9 and 1.5 % of the stress, and 0.3 % of the displacement.
    """
    mesh, cyclic = ring(4.0, (6, 12, 1))
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes("bottom"), 2] = True
    body = make_body(mesh, ALUMINIUM, cyclic)
    found = respond(body, Supports(held), [pressed(mesh, "outer", order)])
    r = np.hypot(mesh.points[:, 0], mesh.points[:, 1])
    wave = np.exp(1j * order * np.arctan2(mesh.points[:, 1], mesh.points[:, 0]))
    exact = ring_order(INSIDE, OUTSIDE, order, 0.33, r)
    u, radial, hoop = in_polar(mesh, found.displacements.u[0], found.stress[0])
    assert rms(u, exact.shift / 70000.0 * wave) < 0.005
    assert rms(hoop, exact.hoop * wave) < 0.02
    assert rms(radial, exact.radial * wave, exact.hoop) < 0.02


def lobed(n=1):
    """A lobed sector with its symmetry, its rim held and its hub moving as one."""
    mesh = lobed_sector(COUNT, n)
    faces = dict(mesh.surfaces)
    faces |= {"cut low": faces.pop("low"), "cut high": faces.pop("high")}
    cyclic = cyclic_from_faces(mesh, COUNT, "low", "high")
    return type(mesh)(mesh.points, mesh.cells, faces), cyclic


def clamped(mesh):
    """Rim held, hub moving as one about a point off its plane."""
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes("rim")] = True
    return Supports(held, (Coupling(mesh.nodes("hub"), np.array([0.0, 0.0, 3.0])),))


def turning_moment(mesh):
    """1 kN m and 1 kN that turn about the axle with order 1, on the hub."""
    none = np.zeros((mesh.n_points, 3), dtype=complex)
    turning = np.array([1.0, 1.0j, 0.0])
    return OrderLoad(1, none, 1e3 * turning, -1j * 1e6 * turning)


def test_a_sector_is_the_whole_body_in_phase():
    """Displacement and stress of a turning moment agree on every copy, to rounding."""
    mesh, cyclic = lobed()
    part = make_body(mesh, ALUMINIUM, cyclic)
    one = respond(part, clamped(mesh), [turning_moment(mesh)])
    copies = copied_round(mesh, cyclic)
    full = make_body(copies.mesh, ALUMINIUM)
    every = respond(full, clamped(copies.mesh), [turning_moment(copies.mesh)])
    top = np.abs(one.displacements.u).max(), np.abs(one.stress).max()
    for k, copy in enumerate(copies.number):
        R, phase = rotation(k * cyclic.alpha), np.exp(1j * k * cyclic.alpha)
        u = phase * one.displacements.u[0] @ R.T
        stress = phase * one.stress[0] @ stress_rotation(R).T
        assert_allclose(every.displacements.u[0, copy], u, atol=1e-9 * top[0])
        assert_allclose(every.stress[0, copy], stress, atol=1e-8 * top[1])


def test_forces_on_a_rigid_hub_are_those_of_its_resultant():
    """A force spread over the points of a rigid hub moves the body as its resultant."""
    mesh, cyclic = lobed()
    body, along = make_body(mesh, ALUMINIUM, cyclic), np.array([0.0, 0.0, 1.0 + 0.0j])
    hub = mesh.nodes("hub")
    alone = hub[~np.isin(hub, cyclic.pairs)]
    spread = np.zeros((mesh.n_points, 3), dtype=complex)
    spread[alone] = 100.0 * along
    as_forces = OrderLoad(0, spread, NONE, NONE)
    pushed = COUNT * len(alone) * 100.0 * along
    as_resultant = OrderLoad(0, 0.0 * spread, pushed, NONE)
    found = respond(body, clamped(mesh), [as_forces, as_resultant])
    one, other = found.displacements.u
    assert_allclose(one, other, atol=1e-10 * np.abs(other).max())


def test_reactions_of_a_sector_balance_a_turning_moment():
    """Held rim and loaded hub are in balance for the whole body, to rounding.

    The hub carries force and moment as a rigid part, and a pressure on its points.
    """
    mesh, cyclic = lobed(2)
    body, on_points = make_body(mesh, ALUMINIUM, cyclic), pressed(mesh, "hub", 1)
    load = replace(turning_moment(mesh), nodal=10.0 * on_points.nodal)
    found = respond(body, clamped(mesh), [load])
    assert balance(body, clamped(mesh), [load], found) < 1e-9


@pytest.mark.parametrize("order", [1, 2, 4])
def test_a_sector_is_what_a_dense_solver_gives(order):
    """The same equations, tied by hand and solved dense, to rounding.

    NumPy's LU; each high point follows its low one, exp(i m alpha) R u, by a matrix.
    """
    mesh, cyclic = ring(10.0, (3, 4, 1))
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes("inner")] = True
    load = pressed(mesh, "outer", order)
    body = make_body(mesh, ALUMINIUM, cyclic)
    ours = respond(body, Supports(held), [load]).displacements.u[0]
    T = np.eye(3 * mesh.n_points, dtype=complex)
    follow = np.exp(1j * order * cyclic.alpha) * rotation(cyclic.alpha)
    for low, high in cyclic.pairs:
        T[3 * high : 3 * high + 3] = 0.0
        T[3 * high : 3 * high + 3, 3 * low : 3 * low + 3] = follow
    free = ~held
    free[cyclic.pairs[:, 1]] = False
    T = T[:, free.ravel()]
    K = assemble_stiffness(mesh, ALUMINIUM).toarray()
    f = load.nodal.ravel()
    theirs = T @ np.linalg.solve(T.conj().T @ K @ T, T.conj().T @ f)
    top = np.abs(theirs).max()
    assert_allclose(ours.ravel(), theirs, rtol=0, atol=1e-10 * top)
