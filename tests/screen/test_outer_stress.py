"""Stress at a wheel's outer surface agrees with what acts there."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from spokecheck.cases.procedure import requirements
from spokecheck.fem.error import plain_stress
from spokecheck.fem.loads import sample_faces
from spokecheck.fem.stress import stress_tensor
from spokecheck.screen.loaded import load_wheel, wheel_body
from spokecheck.screen.outer_stress import outer_faces


@pytest.fixture(scope="module")
def radial(small_screening):
    """A bolted wheel and its loaded radial test."""
    wheel = small_screening.wheel
    duty = {"bolt_torque_nm": 140.0, "bolt_thread_mm": 14.0, "speed_kmh": 100.0}
    changed = wheel.design.duty.model_copy(update=duty)
    wheel = replace(wheel, design=wheel.design.model_copy(update={"duty": changed}))
    (test,) = (r for r in requirements(wheel.design) if r.test == "radial")
    surface = small_screening.fields.surface
    return wheel, load_wheel(wheel, surface, wheel_body(wheel), test)[0]


def test_tractions_do_the_work_of_the_nodal_forces(radial):
    """Integrated over the faces they give the load's nodal forces, order by order."""
    wheel, loaded = radial
    mesh, case = wheel.mesh, loaded.case
    assert len(case.tractions) == len(case.loads)
    bodily = [k for k, acting in enumerate(case.tractions) if not acting]
    assert bodily == [1]  # the spin acts inside
    for load, tractions in zip(case.loads, case.tractions, strict=True):
        if not tractions:
            continue
        total = np.zeros((mesh.n_points, 3), dtype=complex)
        for acting in tractions:
            s = sample_faces(mesh.points, mesh.faces(acting.where))
            size = np.linalg.norm(s.areas, axis=-1, keepdims=True)
            flat = s.positions.reshape(-1, 3), (s.areas / size).reshape(-1, 3)
            force = acting.at(*flat).reshape(s.areas.shape) * size
            total += s.spread(force.real, mesh.n_points)
            total += 1j * s.spread(force.imag, mesh.n_points)
        size = np.abs(load.nodal).max()
        assert size > 0.0
        assert_allclose(total, load.nodal, atol=1e-10 * size)


def test_the_surface_carries_the_traction_of_each_order(radial):
    """On a bead seat the normal stress is minus the pressure, elsewhere nothing.

    To 2 % of the pressure: a point's normal is the mean of its faces'.
    """
    wheel, loaded = radial
    mesh = wheel.mesh
    seat = mesh.surfaces["bead seat inboard"]
    others = np.concatenate(
        [f for k, f in mesh.surfaces.items() if k != "bead seat inboard"]
    )
    inside = np.setdiff1d(seat, others)
    x = mesh.points[inside]
    assert len(inside) > 20
    s = sample_faces(mesh.points, seat)
    normal = (s.areas.mean(axis=(0, 1)) / np.linalg.norm(s.areas, axis=2).mean())[2]
    out = np.column_stack([x[:, :2], np.zeros(len(x))])
    out *= np.sqrt(1.0 - normal**2) / np.linalg.norm(out, axis=1, keepdims=True)
    out[:, 2] = normal
    for k, load in enumerate(loaded.case.loads[3:], start=3):
        (inboard, _) = loaded.case.tractions[k]
        sigma = stress_tensor(loaded.stress_at(inside)[k])
        got = np.einsum("ni,nij,nj->n", out, sigma, out)
        want = -inboard.pressure * np.exp(
            1j * load.order * np.arctan2(x[:, 1], x[:, 0])
        )
        assert_allclose(got, want, atol=0.02 * abs(inboard.pressure) + 0.01)


def test_held_faces_have_the_mean_of_their_cells(radial):
    """Nodes of the attachment face alone do; all free ones have their faces' stress."""
    wheel, loaded = radial
    mesh = wheel.mesh
    faces, numbers = outer_faces(mesh)
    held = np.isin(np.arange(len(faces)), numbers["attachment face"])
    only = np.setdiff1d(faces[held], faces[~held])
    sector = loaded.cyclic, loaded.orders
    u, lame = loaded.displacement, loaded.elastic.lame
    plain = plain_stress(mesh, lame, u, np.unique(faces), sector)
    assert_array_equal(loaded.nodes, np.unique(faces))
    same = (loaded.stress == plain).all(axis=(0, 2))
    assert len(only) > 20
    assert_allclose(np.unique(faces)[same], only)
