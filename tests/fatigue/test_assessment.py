"""The assessment: margins, lives and an audit that can be redone on paper."""

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.errors import FatigueError
from spokecheck.fatigue.alloys import alloy, read_alloys
from spokecheck.fatigue.assess import MEASURES, Demand, Quality, assess
from spokecheck.fatigue.history import StressHistory

CAST = alloy("a356-t6-low-pressure")
FORGED = alloy("6061-t6-forged")
POLISHED = Quality(surface_rz=0.0)
EVERY_FACTOR = Quality(
    surface_rz=120.0,
    peening_factor=1.1,
    coating_factor=0.9,
    support_factor=0.95,
    casting_factor=0.92,
    defect_sqrt_area=0.8,
    hardness_hb=78.0,
    temperature=90.0,
    bake_temperature=180.0,
)


def history_of(*points, orders=(0, 1)):
    """History of points given by their components per order, (n_orders, 6) each."""
    stress = np.array(points, dtype=complex).transpose(1, 0, 2)
    return StressHistory(np.array(orders), stress)


def uniaxial(*amplitudes, mean=0.0):
    """Bars in tension, `mean` + amplitude cos(phi) [MPa]."""
    rest = [0.0] * 5
    return history_of(*([[mean, *rest], [a, *rest]] for a in amplitudes))


BIAXIAL = history_of(
    [[35, 12, 0, 8, 0, 3], [60 - 11j, 15 + 9j, 2, -20 + 14j, 3j, 5]],
    [[-35, 10, 0, 0, 0, 0], [10j, 70, 0, 12, 0, 0]],
)
SEVERAL = history_of(
    [[20, 5, 0, 0, 0, 0], [40, 10j, 0, 9, 0, 0], [15j, 6, 0, 0, 0, 4]],
    orders=(0, 1, 3),
)


def value_of(lines, symbol):
    """Value of the one audit line with a symbol."""
    (actual,) = [line.value for line in lines if line.symbol == symbol]
    return actual


def test_a_polished_bar_at_its_own_median_line_has_margin_one():
    """6061-T6, polished, median, 138.3 MPa at 1e6 cycles (MIL-HDBK-5J): margin 1."""
    result = assess(uniaxial(138.27), FORGED, POLISHED, Demand(1e6, 0.5))
    assert_allclose(result.margin, 1.0, atol=5e-4)
    assert_allclose(result.life_median, 1e6, rtol=5e-3)
    assert_allclose(result.allowable, 138.3, atol=0.05)


def test_as_cast_surface_by_hand():
    """A356-T6 as cast, 1e5 cycles at 97.5 %: 130.8 x 0.799 x 0.761 = 79.5 MPa.

    S_N = 594 (2e5)^-0.124; 10^(-1.960 x 0.40 x 0.124); K_R = 1 - 0.20 log10(200)
    log10(524 / 133), 1 / (1 + (1 / K_R - 1) / 1.2), by pocket calculator.
    """
    result = assess(uniaxial(50.0), CAST, Quality(), Demand(1e5, 0.975))
    assert_allclose(result.allowable, 79.5, atol=0.06)
    assert_allclose(result.utilisation, 50.0 / 79.5, atol=1e-3)


def test_pulsating_tension_by_hand():
    """6061-T6, 0 to 2 x 60 MPa: equivalent 120^0.37 60^0.63 = 77.5 MPa."""
    result = assess(uniaxial(60.0, mean=60.0), FORGED, POLISHED, Demand(1e6, 0.5))
    assert_allclose(result.mean, 60.0, rtol=1e-12)
    assert_allclose(result.equivalent, 77.54, atol=0.01)


@pytest.mark.parametrize("entry", read_alloys().values(), ids=lambda a: a.id)
@settings(max_examples=30, deadline=None)
@given(stress=st.floats(5.0, 250.0), survival=st.floats(0.5, 0.999))
def test_margin_and_life_agree_on_the_verdict(entry, stress, survival):
    """Margin above 1 means a life above the demand, below 1 below, for every alloy."""
    demand = Demand(3e5, survival)
    for quality in (Quality(), EVERY_FACTOR):
        result = assess(uniaxial(stress), entry, quality, demand)
        if abs(result.margin[0] - 1.0) > 1e-9:
            longer = result.life_at_survival[0] > demand.cycles
            assert longer == (result.margin[0] > 1.0)
        assert result.life_median[0] >= result.life_at_survival[0]
        assert_allclose(result.margin * result.utilisation, 1.0, rtol=1e-12)


@pytest.mark.parametrize("quality", [Quality(), EVERY_FACTOR], ids=["plain", "every"])
def test_the_allowable_amplitude_lives_exactly_as_long_as_demanded(quality):
    """A bar at its allowable amplitude lives the demanded cycles."""
    demand = Demand(2e5, 0.975)
    allowable = assess(uniaxial(1.0), CAST, quality, demand).allowable
    result = assess(uniaxial(allowable), CAST, quality, demand)
    assert_allclose(result.life_at_survival, 2e5, rtol=1e-9)


def test_median_and_demanded_life_differ_by_the_scatter():
    """A356-T6, s = 0.40: life at 97.5 % is the median over 10^(1.960 x 0.40) = 6.08."""
    result = assess(uniaxial(80.0), CAST, POLISHED, Demand(1e5, 0.975))
    assert_allclose(result.life_median / result.life_at_survival, 6.08, atol=0.01)
    assert_allclose(result.life_median, (80 / 594) ** (-1 / 0.124) / 2, rtol=1e-9)


def test_a_point_without_stress_has_infinite_margin_and_no_failure():
    """No swing: utilisation 0, margin infinite, life beyond the line."""
    result = assess(uniaxial(0.0), CAST, EVERY_FACTOR, Demand(1e5, 0.9))
    assert result.margin[0] == np.inf
    assert result.utilisation[0] == 0.0
    assert result.life_median[0] == np.inf


def test_too_much_stress_is_below_the_line_and_not_a_number_of_cycles():
    """A life below the line's first cycle is reported as 0, not extrapolated."""
    result = assess(uniaxial(500.0), CAST, Quality(), Demand(1e5, 0.9))
    assert result.life_median[0] == 0.0
    assert result.yield_utilisation[0] > 2.5


@pytest.mark.parametrize("measure", MEASURES)
@pytest.mark.parametrize("entry", [CAST, FORGED], ids=lambda a: a.id)
@pytest.mark.parametrize("history", [BIAXIAL, SEVERAL], ids=["one order", "several"])
def test_the_audit_can_be_redone_on_paper(history, entry, measure):
    """From the audit's own lines alone, margin follows to three digits and better.

    Redone here with the formulas of the textbooks, not with the package.
    """
    demand = Demand(2e5, 0.975)
    result = assess(history, entry, EVERY_FACTOR, demand, measure)
    for point in range(history.n_points):
        lines = result.audit(point)
        read = {line.symbol: line.value for line in lines}
        assert len(read) == len(lines)
        amplitude = redone_amplitude(read, measure, history.single)
        mean = redone_mean(read, measure, history.single)
        if entry is FORGED:
            equivalent = (amplitude + mean) ** (1 - 0.63) * amplitude**0.63
        else:
            equivalent = redone_fkm(amplitude, mean, 262e-3 + 0.20)
        allowable = redone_allowable(read, entry)
        assert_allclose(read["margin"], allowable / equivalent, rtol=5e-4)
        assert_allclose(read["margin"], result.margin[point], rtol=1e-12)


def redone_amplitude(read, measure, single):
    """Amplitude from components, by hand."""
    if not single and measure != "ellipse":
        return read["sa"]  # sampled: a ball or a search no paper can hold
    if not single:
        return np.sqrt(3 * sum(read[f"r_{i}"] ** 2 for i in range(1, 6)))
    A, B = (
        [read[f"{k}_{ij}"] for ij in ("xx", "yy", "zz", "xy", "yz", "zx")] for k in "AB"
    )
    if measure == "normal":
        x, y, z = (read[f"n_{axis}"] for axis in "xyz")
        w = [x * x, y * y, z * z, 2 * x * y, 2 * y * z, 2 * z * x]
        return np.hypot(np.dot(w, A), np.dot(w, B))

    def j2(s):
        normal = (s[0] - s[1]) ** 2 + (s[1] - s[2]) ** 2 + (s[2] - s[0]) ** 2
        return normal / 6 + s[3] ** 2 + s[4] ** 2 + s[5] ** 2

    if measure == "hypersphere":
        angle = np.linspace(0, np.pi, 20_001)[:, None]
        half = (read["J2_A"] - read["J2_B"]) / 2
        greater = (read["J2_A"] + read["J2_B"]) / 2 + np.hypot(half, read["J_AB"])
        assert_allclose(read["sa"], np.sqrt(3 * greater), rtol=1e-9)
        turned = np.cos(angle) * A + np.sin(angle) * B
        return np.sqrt(3 * j2(turned.T).max())
    return np.sqrt(3 * (j2(A) + j2(B)))


def redone_mean(read, measure, single):
    """Mean stress as counted, from components, by hand."""
    M = [read[f"M_{ij}"] for ij in ("xx", "yy", "zz", "xy", "yz", "zx")]
    if not single:
        return max(read["sm"], 0.0)  # middle of a sampled range
    if measure == "normal":
        x, y, z = (read[f"n_{axis}"] for axis in "xyz")
        across = [x * x, y * y, z * z, 2 * x * y, 2 * y * z, 2 * z * x]
        return max(np.dot(across, M), 0.0)
    return max(sum(M[:3]), 0.0)


def redone_fkm(amplitude, mean, M):
    """Equivalent amplitude in the guideline's fields II to IV, by hand."""
    R = (mean - amplitude) / (mean + amplitude)
    ratio = mean / amplitude
    if R <= 0:
        return amplitude * (1 + M * ratio)
    if R < 0.5:
        return amplitude * (1 + M) / (1 + M / 3) * (1 + M / 3 * ratio)
    return amplitude * 3 * (1 + M) ** 2 / (3 + M)


def redone_allowable(read, entry):
    """Allowable amplitude from the printed constants, by hand."""
    if entry is FORGED:
        ksi = 10 ** ((20.68 - np.log10(2e5)) / 9.84) / 2**0.63
        line, s, k = ksi * 6.894757, 0.48, 9.84
        a_R, K_f, rm = 0.22, 2.0, 262.0
    else:
        line, s, k = 594 * 4e5**-0.124, 0.40, 1 / 0.124
        a_R, K_f, rm = 0.20, 1.2, 262.0
    K_P = 10 ** (-1.95996 * s / k)
    K_R = 1 - a_R * np.log10(120) * np.log10(2 * rm / 133)
    K_HB = min(3.25 * 78 / rm, 1)
    shared = (1 - 1.2e-3 * 40) * 0.97 * 1.1 * 0.9
    smooth = line * K_P * K_HB * 0.92 / (1 + (1 / K_R - 1) / K_f) * 0.95 * shared
    defect = 1.43 * (1.126 * 78 + 75) / 800 ** (1 / 6) * (1e7 / 2e5) ** (1 / k) * shared
    assert_allclose(read["S_N"], line, rtol=1e-6)
    assert_allclose(read["K_P"], K_P, rtol=1e-5)
    assert_allclose(read["S_sm"], smooth, rtol=1e-4)
    assert_allclose(read["S_def"], defect, rtol=1e-4)
    assert_allclose(read["S_al"], min(smooth, defect), rtol=1e-4)
    return min(smooth, defect)


def test_the_audit_multiplies_every_factor_that_was_applied():
    """S_N times each reported factor is S_sm: no factor is left out."""
    result = assess(BIAXIAL, CAST, EVERY_FACTOR, Demand(1e5, 0.9))
    lines = result.audit(0)
    factors = [line for line in lines if line.symbol == "n" or line.symbol[:2] == "K_"]
    assert len(factors) == 9
    product = np.prod([line.value for line in factors])
    assert_allclose(
        value_of(lines, "S_sm"), value_of(lines, "S_N") * product, rtol=1e-12
    )
    assert all(line.what and line.source and line.unit for line in lines)


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (Quality(surface_rz=12.5), Quality(surface_rz=100.0)),
        (Quality(), Quality(hardness_hb=60.0)),
        (Quality(), Quality(temperature=120.0)),
        (Quality(), Quality(bake_temperature=180.0)),
        (Quality(), Quality(coating_factor=0.8)),
        (Quality(), Quality(casting_factor=0.8)),
        (Quality(), Quality(support_factor=0.8)),
        (Quality(peening_factor=1.1), Quality()),
        (Quality(defect_sqrt_area=0.3), Quality(defect_sqrt_area=3.0)),
        (Quality(surface_rz=0.0), Quality(surface_rz=0.0, defect_sqrt_area=10.0)),
    ],
)
def test_a_worse_part_has_a_smaller_margin_and_a_shorter_life(better, worse):
    """Each departure from the laboratory bar costs margin and life, never gains.

    A defect only counts where it is the weaker link.
    """
    demand = Demand(1e5, 0.5)
    good, bad = (assess(uniaxial(95.0), CAST, q, demand) for q in (better, worse))
    if worse.defect_sqrt_area != 3.0:
        assert bad.allowable < good.allowable
        assert bad.life_median[0] < good.life_median[0]
    assert bad.allowable <= good.allowable


def test_overriding_the_process_roughness_matters():
    """Rz defaults to the process value and can be overridden."""
    demand = Demand(1e5, 0.9)
    default = assess(uniaxial(50.0), CAST, Quality(), demand).allowable
    same = assess(uniaxial(50.0), CAST, Quality(surface_rz=200.0), demand).allowable
    machined = assess(uniaxial(50.0), CAST, Quality(surface_rz=100.0), demand).allowable
    assert_allclose(default, same, rtol=1e-15)
    assert machined > 1.02 * default


def test_compressive_mean_earns_no_credit_in_a_casting():
    """A casting under -100 MPa mean is assessed as under none."""
    demand = Demand(1e5, 0.9)
    pressed = assess(uniaxial(60.0, mean=-100.0), CAST, Quality(), demand)
    free = assess(uniaxial(60.0), CAST, Quality(), demand)
    assert_allclose(pressed.mean, -100.0, rtol=1e-12)
    assert_allclose(pressed.margin, free.margin, rtol=1e-12)


def test_stress_ratios_never_tested_are_flagged():
    """6061-T6 is tested from R = -1 to 0.5: at both ends unflagged, beyond flagged."""
    demand = Demand(1e6, 0.5)
    result = assess(uniaxial(60.0, 20.0, 19.0, mean=60.0), FORGED, POLISHED, demand)
    # R = (60 - a) / (60 + a): 0, 0.5, 0.519
    assert result.outside_tested_ratio.tolist() == [False, False, True]
    reversed_ = assess(uniaxial(60.0), FORGED, POLISHED, demand)
    assert not reversed_.outside_tested_ratio.any()
    cast = assess(uniaxial(19.0, mean=60.0), CAST, POLISHED, Demand(1e6, 0.5))
    assert not cast.outside_tested_ratio.any()


def test_an_assessment_crosses_processes():
    """An assessment survives pickling, facts and audit included."""
    result = assess(BIAXIAL, CAST, EVERY_FACTOR, Demand(1e5, 0.9))
    again = pickle.loads(pickle.dumps(result))
    assert again.audit(0) == result.audit(0)
    assert again.alloy == result.alloy


def test_other_measures_stand_beside_the_chosen_one():
    """Whatever ranks, hypersphere, normal amplitude and yield are given beside it."""
    results = [assess(BIAXIAL, CAST, Quality(), Demand(1e5, 0.9), m) for m in MEASURES]
    for result in results[1:]:
        assert_allclose(result.hypersphere, results[0].hypersphere, rtol=1e-15)
        assert_allclose(result.max_von_mises, results[0].max_von_mises, rtol=1e-15)
    assert_allclose(results[1].amplitude, results[1].hypersphere, rtol=1e-15)
    assert_allclose(results[2].amplitude, results[2].normal_amplitude, rtol=1e-15)
    assert_allclose(results[2].mean, results[2].normal_mean, rtol=1e-15)
    assert np.all(results[0].amplitude >= results[0].hypersphere)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Demand(0.0, 0.5), "cycles 0: must be"),
        (lambda: Demand(np.inf, 0.5), "cycles inf: must be"),
        (lambda: Demand(1e5, 1.2), "survival 1.2"),
        (lambda: Demand(1e5, 1.0), "survival 1: must lie strictly"),
        (
            lambda: assess(BIAXIAL, CAST, Quality(), Demand(2e7, 0.5)),
            "cycles 2e\\+07: the S-N line holds from 1000 to 1e\\+07",
        ),
        (
            lambda: assess(BIAXIAL, CAST, Quality(), Demand(1e5, 0.5), "range"),
            "measure range: unknown; use one of ellipse",
        ),
        (
            lambda: assess(BIAXIAL, CAST, Quality(), Demand(1e5, 0.5)).audit(2),
            "point 2: the history has points 0 to 1",
        ),
        (
            lambda: assess(BIAXIAL, CAST, Quality(peening_factor=0), Demand(1e5, 0.5)),
            "peening_factor = 0",
        ),
    ],
)
def test_impossible_demands_are_refused(call, message):
    """Demands, measures, points and factors out of bounds are refused by value."""
    with pytest.raises(FatigueError, match=message):
        call()


def test_a_hundred_thousand_points_take_bounded_memory():
    """100 000 points of one order are assessed within 1 GB.

    Peak of Python allocations by tracemalloc; the stresses themselves are 20 MB.
    """
    import tracemalloc

    rng = np.random.default_rng(73)
    fields = rng.normal(size=(2, 100_000, 6)) + 1j * rng.normal(size=(2, 100_000, 6))
    history = StressHistory(np.array([0, 1]), 40.0 * fields)
    tracemalloc.start()
    result = assess(history, CAST, Quality(), Demand(1e5, 0.9))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert result.margin.shape == (100_000,)
    assert peak < 1e9


def test_survival_is_the_demanded_one_at_margin_one():
    """At the allowable amplitude 97.5 % survive, at the median line one half does."""
    demand = Demand(cycles=2.0e5, survival=0.975)
    allowable = assess(uniaxial(1.0), FORGED, POLISHED, demand).allowable
    median = assess(uniaxial(1.0), FORGED, POLISHED, Demand(2.0e5, 0.5)).allowable
    actual = assess(uniaxial(allowable, median), FORGED, POLISHED, demand)
    assert_allclose(actual.survival, [0.975, 0.5], rtol=1e-12)


def test_above_the_defect_limit_no_survival_is_claimed():
    """The defect's limit has no scatter: beyond it survival is reported as 0."""
    demand = Demand(cycles=1.0e6, survival=0.5)
    pored = Quality(surface_rz=0.0, defect_sqrt_area=0.9)
    limit = assess(uniaxial(1.0), FORGED, pored, demand).allowable
    actual = assess(uniaxial(0.99 * limit, 1.01 * limit), FORGED, pored, demand)
    assert actual.survival[0] > 0.5
    assert actual.survival[1] == 0.0
