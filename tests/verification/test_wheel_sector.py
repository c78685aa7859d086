"""The wheel as one sector against the same mesh copied round to a whole wheel.

No outside value is needed: both are the same discrete problem, so displacements,
stresses and reactions agree to rounding; the limit asserted is 1e-6.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.radial import (
    SEATS,
    BeadLoad,
    radial_case,
    seat_peaks,
    seat_resultant,
)
from spokecheck.cases.tyre_patch import Patch
from spokecheck.fem.body import balance, make_body, respond
from spokecheck.fem.cyclic import Cyclic, rotation, stress_rotation
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import whole_body_resultant
from spokecheck.fem.whole import copied_round
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.read import read_design

ALUMINIUM = Material(70000.0, 0.33)
MOMENT = 3.0e6


@pytest.fixture(scope="module")
def wheel():
    """One sector of the five-spoke example."""
    design = read_design(Path("meshes/designs/aspen-cast-5.toml"))
    return build_wheel(design)


@pytest.fixture(scope="module")
def body(wheel):
    """Its elastic body."""
    return make_body(wheel.mesh, ALUMINIUM, wheel.cyclic)


@pytest.fixture(scope="module")
def whole(wheel):
    """The whole wheel made of sector copies, its body, and the numbering."""
    copies = copied_round(wheel.mesh, wheel.cyclic)
    copied = replace(wheel, mesh=copies.mesh, cyclic=Cyclic())
    return copied, make_body(copies.mesh, ALUMINIUM), copies.number


def answer(wheel, body, case):
    """Response of a body to a case."""
    return case, respond(body, case.supports, case.loads)


def test_cornering_of_the_sector_is_that_of_the_whole_wheel(wheel, body, whole):
    """Displacement and stress of order 1 agree on every copy, turned and in phase."""
    _, part = answer(wheel, body, cornering_case(wheel, MOMENT))
    _, full = answer(whole[0], whole[1], cornering_case(whole[0], MOMENT))
    alpha, number = wheel.cyclic.alpha, whole[2]
    top_u = np.abs(part.displacements.u).max()
    top_s = np.abs(part.stress).max()
    for k, copy in enumerate(number):
        R, phase = rotation(k * alpha), np.exp(1j * k * alpha)
        u = phase * part.displacements.u[0] @ R.T
        s = phase * part.stress[0] @ stress_rotation(R).T
        assert_allclose(full.displacements.u[0, copy], u, rtol=0, atol=1e-6 * top_u)
        assert_allclose(full.stress[0, copy], s, rtol=0, atol=1e-6 * top_s)


def test_radial_of_the_sector_is_that_of_the_whole_wheel(wheel, body, whole):
    """All orders of the drum load agree, inflation included."""
    _, part = answer(wheel, body, radial_case(wheel, 16000.0))
    _, full = answer(whole[0], whole[1], radial_case(whole[0], 16000.0))
    first = whole[2][0]
    top = np.abs(part.stress).max(axis=(1, 2), keepdims=True)
    gap = np.abs(full.stress[:, first] - part.stress) / top
    assert gap.max() < 1e-6


def test_cornering_reactions_balance_force_and_moment(wheel, body):
    """Reactions of the clamped flange balance the arm's force and moment to 1e-8."""
    case, found = answer(wheel, body, cornering_case(wheel, MOMENT))
    assert balance(body, case.supports, case.loads, found) < 1e-8
    held = np.where(case.supports.held, found.reactions[0], 0.0)
    centre = case.supports.couplings[0].centre
    points, count = wheel.mesh.points, wheel.cyclic.count
    force, moment = whole_body_resultant(points, held, 1, count, centre)
    expected = MOMENT / 800.0 * np.array([1.0, 1.0j, 0.0])
    assert_allclose(force, -expected, rtol=0, atol=1e-8 * MOMENT / 800.0)
    turning = 1j * MOMENT * np.array([1.0, 1.0j, 0.0])
    assert_allclose(moment, -turning, rtol=0, atol=1e-8 * MOMENT)


def test_the_moment_comes_out_of_the_force_on_its_arm(wheel, body):
    """About the far end of the arm, 800 mm inboard, the reactions have no moment."""
    case, found = answer(wheel, body, cornering_case(wheel, MOMENT))
    held = np.where(case.supports.held, found.reactions[0], 0.0)
    far = case.supports.couplings[0].centre - np.array([0.0, 0.0, 800.0])
    _, moment = whole_body_resultant(
        wheel.mesh.points, held, 1, wheel.cyclic.count, far
    )
    assert_allclose(moment, 0.0, rtol=0, atol=1e-8 * MOMENT)


def test_half_the_moment_gives_half_of_every_stress(wheel, body):
    """The model is linear."""
    _, one = answer(wheel, body, cornering_case(wheel, MOMENT))
    _, half = answer(wheel, body, cornering_case(wheel, MOMENT / 2.0))
    top = np.abs(one.stress).max()
    assert_allclose(2.0 * half.stress, one.stress, rtol=0, atol=1e-10 * top)


def test_bead_pressure_adds_up_to_the_drum_load(wheel):
    """Nodal forces of order 1 add up to the load, peak pressure as in closed form.

    Closed form of the cosine patch on a ring, here of slightly tapered seats: the
    quadrature of the patch is exact in the angle, so 0.2 % leaves room for the mesh.
    """
    case = radial_case(wheel, 16000.0)
    order_one = next(load for load in case.loads if load.order == 1)
    points, count = wheel.mesh.points, wheel.cyclic.count
    force, moment = whole_body_resultant(points, order_one.nodal, 1, count, np.zeros(3))
    assert_allclose(force, [-16000.0, -16000.0j, 0.0], rtol=0, atol=16000.0 * 2e-3)
    assert_allclose(moment[2], 0.0, atol=16000.0 * 1e-6)
    patch = Patch(40.0)
    for seat in SEATS:
        line = next(c for c in wheel.shape.profile.curves if c.name == seat)
        width, radius = (
            abs(line.end[1] - line.start[1]),
            (line.start[0] + line.end[0]) / 2,
        )
        closed = patch.vertical_factor() * width * radius
        assert_allclose(seat_resultant(wheel, seat, patch), closed, rtol=2e-3)
    peaks = seat_peaks(wheel, 16000.0, BeadLoad(inboard_share=0.3), patch)
    shares = [p * seat_resultant(wheel, s, patch) / 16000.0 for s, p in peaks.items()]
    assert_allclose(shares, [0.3, 0.7], rtol=1e-12)


def test_inflation_pushes_nothing_sideways(wheel):
    """Pressure and flange forces of the tyre have no resultant."""
    inflation = radial_case(wheel, 16000.0).loads[0]
    points, count = wheel.mesh.points, wheel.cyclic.count
    force, _ = whole_body_resultant(points, inflation.nodal, 0, count, np.zeros(3))
    size = np.abs(inflation.nodal).sum() * count
    # the flanges' push is equal and opposite; seats of unequal mesh leave the rest
    assert np.abs(force).max() < 1e-3 * size
