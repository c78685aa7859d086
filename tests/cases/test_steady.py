"""Bolt clamp, centrifugal load and the weights of the patch's orders."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.radial import (
    SHOWN_ANGLES,
    BeadLoad,
    Steady,
    radial_case,
    seat_forces,
    seat_peaks,
)
from spokecheck.cases.steady import centrifugal_forces, clamp_force, clamp_forces
from spokecheck.cases.tyre_patch import Patch


@pytest.mark.parametrize(
    ("thread", "torque", "kilonewtons"),
    [(12, 110, (46, 31, 23)), (14, 120, (43, 29, 21)), (14, 160, (57, 38, 29))],
)
def test_clamp_force_of_common_bolts(thread, torque, kilonewtons):
    """T = K F d at K 0.2, 0.3, 0.4: handbook form, figures to 1 kN (from memory)."""
    actual = [clamp_force(torque, thread, k) / 1000.0 for k in (0.2, 0.3, 0.4)]
    assert_allclose(actual, kilonewtons, rtol=0, atol=0.6)


def test_bolts_press_inboard_with_their_clamp_force(small_screening):
    """The nodal forces of all seats add up to five clamp forces along -z."""
    wheel = small_screening.wheel
    nodal = clamp_forces(wheel, 30000.0)
    total = nodal[:, 2].sum() * wheel.cyclic.count
    assert_allclose(total, -5 * 30000.0, rtol=1e-9)


def test_centrifugal_forces_do_the_work_of_the_polar_inertia(small_screening):
    """Virial: the sum of x f_x + y f_y is omega^2 times the polar inertia."""
    wheel, spin = small_screening.wheel, 80.0
    nodal = centrifugal_forces(wheel, spin)
    virial = (wheel.mesh.points[:, :2] * nodal[:, :2]).sum() * wheel.cyclic.count
    # both by quadrature on the same cells, exact on straight ones
    assert_allclose(virial, spin**2 * wheel.weight.polar, rtol=1e-4)


@pytest.mark.parametrize("angle", [30.0, 35.0, 60.0])
def test_weights_of_the_orders_make_the_other_patch(small_screening, angle):
    """The weighted loads equal those assembled for that half-angle."""
    wheel, force = small_screening.wheel, 15000.0
    case = radial_case(wheel, force, BeadLoad(angle))
    patch = Patch(angle)
    peaks = seat_peaks(wheel, force, BeadLoad(angle), patch)
    weights = case.weights()
    for k in (1, 2, 4, 7):  # 0 is inflation, then orders from 0
        load = case.loads[k]
        direct = sum(
            p * seat_forces(wheel, seat, patch, load.order) for seat, p in peaks.items()
        )
        size = np.abs(case.loads[2].nodal).max()
        assert_allclose(weights[k] * load.nodal, direct, rtol=1e-9, atol=1e-9 * size)


def test_levels_scale_the_patch_but_not_inflation(small_screening):
    """At half the drum load the patch's own mean halves, steady loads stay."""
    case = radial_case(
        small_screening.wheel, 15000.0, steady=Steady(0.45, 80.0, 30000.0)
    )
    half = case.weights(0.5)
    assert case.steady == (0, 1, 2)
    assert_allclose(half[:3], 1.0, rtol=1e-12)
    assert_allclose(half[3:], 0.5, rtol=1e-12)
    assert len(case.variants) == len(SHOWN_ANGLES)
    assert case.pressed == ("bolt seat",)
