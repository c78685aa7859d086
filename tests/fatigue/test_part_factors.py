"""Knock-downs, support factor and defects against guideline and textbook tables."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import FatigueError
from spokecheck.fatigue import knockdowns
from spokecheck.fatigue.defects import murakami_amplitude
from spokecheck.fatigue.guideline import CAST, WROUGHT
from spokecheck.fatigue.support import statistical_factor, support_factor


@pytest.mark.parametrize(
    ("rm", "group", "expected"),
    [
        (290.0, CAST, [0.860, 0.821, 0.744, 0.706]),
        (262.0, WROUGHT, [0.856, 0.817, 0.738, 0.699]),
        (310.0, WROUGHT, [0.839, 0.794, 0.706, 0.662]),
    ],
)
def test_roughness_factors_of_the_guideline(rm, group, expected):
    """K_R at Rz 12.5, 25, 100, 200 um to three digits (FKM guideline 2012)."""
    actual = [knockdowns.roughness_factor(rz, rm, group) for rz in (12.5, 25, 100, 200)]
    assert_allclose(actual, expected, atol=5.1e-4)


def test_a_polished_surface_is_no_knock_down():
    """Rz up to 1 um gives 1, just above nearly 1."""
    for rz in (0.0, 1.0):
        assert knockdowns.roughness_factor(rz, 290.0, CAST) == 1.0
    assert_allclose(knockdowns.roughness_factor(1.001, 290.0, CAST), 1.0, atol=1e-4)


def test_roughness_is_shared_with_the_notch():
    """K_R 0.706 leaves 1 / (1 + 0.4164 / 1.2) = 0.742 of a casting's local strength."""
    assert_allclose(knockdowns.surface_factor(0.706, CAST), 0.7424, atol=5e-5)
    assert_allclose(knockdowns.surface_factor(0.706, WROUGHT), 0.8277, atol=5e-5)
    assert knockdowns.surface_factor(1.0, CAST) == 1.0


@pytest.mark.parametrize(
    ("temperature", "factor"),
    [(-25, 1.0), (20, 1.0), (50, 1.0), (100, 0.94), (200, 0.82)],
)
def test_temperature_factor(temperature, factor):
    """1 - 1.2e-3 (T - 50) above 50 C (FKM guideline 2012)."""
    actual = knockdowns.temperature_factor(temperature, CAST)
    assert_allclose(actual, factor, rtol=1e-12)


def test_bake_factor_begins_at_150_degrees():
    """No bake or a cool one costs nothing, 150 to 200 C the assumed 3 %."""
    baked = [knockdowns.bake_factor(t) for t in (None, 149.9, 150.0, 200.0)]
    assert_allclose(baked, [1.0, 1.0, 0.97, 0.97], rtol=1e-12)


@pytest.mark.parametrize(
    ("brinell", "rm"), [(90.0, 290.0), (95.0, 310.0)], ids=["AC-42100-T6", "6061-T6"]
)
def test_strength_from_hardness_pairs(brinell, rm):
    """HB 90 with Rm 290 (EN 1706 minima), HB 95 with 310 (6061-T6): within 2 %.

    The listed pairs give Rm / HB of 3.2 to 3.3 about the 3.25 used.
    """
    assert_allclose(knockdowns.strength_from_hardness(brinell), rm, rtol=0.02)


def test_hardness_never_earns_credit():
    """A softer part loses in proportion, a harder one gains nothing."""
    assert knockdowns.hardness_factor(None, 262.0) == 1.0
    assert knockdowns.hardness_factor(100.0, 262.0) == 1.0
    assert_allclose(
        knockdowns.hardness_factor(70.0, 262.0), 3.25 * 70 / 262, rtol=1e-12
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: knockdowns.roughness_factor(-1.0, 290.0, CAST), "Rz = -1 um"),
        (lambda: knockdowns.roughness_factor(1e9, 290.0, CAST), "in micrometres"),
        (lambda: knockdowns.temperature_factor(200.1, CAST), "200.1 C"),
        (lambda: knockdowns.temperature_factor(-25.1, CAST), "-25.1 C"),
        (lambda: knockdowns.bake_factor(200.1), "bake temperature 200.1 C"),
        (lambda: knockdowns.strength_from_hardness(49.9), "HB 49.9"),
        (lambda: knockdowns.strength_from_hardness(140.1), "HB 140.1"),
        (lambda: knockdowns.checked_user_factor("peening_factor", 0.0), "= 0: must"),
        (lambda: knockdowns.checked_user_factor("peening_factor", 2.1), "= 2.1: must"),
        (lambda: support_factor(-0.1, 500.0, 290.0, 7e4, CAST), "-0.1 1/mm"),
        (lambda: statistical_factor(0.0, CAST), "0 mm2"),
        (lambda: murakami_amplitude(0.0, 90.0), "0 mm: must be above 0"),
    ],
)
def test_values_beyond_their_bounds_are_refused(call, message):
    """Each factor refuses a value beyond its bounds and shows it."""
    with pytest.raises(FatigueError, match=message):
        call()


def test_the_support_factor_gives_a_fillet_no_credit():
    """G 0.1 to 2 per mm, 500 mm2: n is 1.00 to 1.007; n > 1.05 needs G near 10.

    FKM guideline 2012, secondary transcription; E 70 000 MPa.
    """
    for G in (0.1, 0.5, 1.0, 2.0):
        cast = support_factor(G, 500.0, 290.0, 70e3, CAST)
        wrought = support_factor(G, 500.0, 262.0, 70e3, WROUGHT)
        assert_allclose(cast, 1.0, atol=5e-4)
        assert_allclose(wrought, 1.007, atol=5e-4)


def test_the_support_factor_at_a_sharp_notch_by_hand():
    """G = 10 per mm, 500 mm2: n is 1.0539 (cast, Rm 290) and 1.0938 (wrought, 262).

    Cast: (5 + 3.1623) / (5 + 290/270 sqrt(10.6623 / 1.63246)) = 8.1623 / 7.7450.
    Wrought: n_vm = sqrt(1 + 1.12 / 78.6) = 1.0071;
    n_vm 8.1623 / (5 n_vm + 262/270 2.5557) = 1.0071 x 1.08606.
    """
    assert_allclose(support_factor(10.0, 500.0, 290.0, 70e3, CAST), 1.0539, atol=5e-5)
    assert_allclose(
        support_factor(10.0, 500.0, 262.0, 70e3, WROUGHT), 1.0938, atol=6e-5
    )


def test_a_large_stressed_area_costs():
    """5000 mm2 above 90 %: 0.794 for castings, 0.89 for wrought alloys."""
    assert_allclose(support_factor(0.5, 5e3, 290.0, 70e3, CAST), 0.794, atol=5e-4)
    assert_allclose(support_factor(0.5, 5e3, 310.0, 70e3, WROUGHT), 0.89, atol=5e-3)
    assert_allclose(statistical_factor(500.0, CAST), 1.0, rtol=1e-12)


@pytest.mark.parametrize(
    ("constant", "expected"),
    [
        (120.0, [163.9, 146.0, 130.1, 115.9, 99.5]),
        (75.0, [130.4, 116.2, 103.5, 92.2, 79.1]),
    ],
    ids=["steel", "aluminium"],
)
def test_murakami_table(constant, expected):
    """HV 100, R = -1, sqrt(area) 50 to 1000 um, steel's and aluminium's constant.

    Murakami 2002 and Ueno et al. 2014 (from memory), values by hand calculation.
    """
    size = np.array([0.05, 0.1, 0.2, 0.4, 1.0])
    actual = murakami_amplitude(size, 100.0, hardness_constant=constant)
    assert_allclose(actual, expected, atol=0.051)


def test_murakami_with_stress_ratio_and_depth():
    """At R = 0 the factor is 0.5^(0.226 + HV 1e-4); inside 1.56 / 1.43 as much."""
    surface = murakami_amplitude(0.2, 100.0)
    pulsating = murakami_amplitude(0.2, 100.0, ratio=0.0)
    assert_allclose(pulsating / surface, 0.5**0.236, rtol=1e-12)
    inside = murakami_amplitude(0.2, 100.0, location=1.56)
    assert_allclose(inside / surface, 1.56 / 1.43, rtol=1e-12)
