"""Multiaxial criteria against closed forms and a published benchmark."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import FatigueError
from spokecheck.fatigue import criteria
from spokecheck.fatigue.criteria import FatigueLimits
from spokecheck.fatigue.findley import findley
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.tensors import extreme_principals

HARD_STEEL = FatigueLimits(normal=313.9, shear=196.2)
CAST = FatigueLimits(normal=100.0, shear=80.0)

BENCHMARK = np.array(
    [  # sa, ta [MPa], phase [deg]; error in % by four criteria
        [138.1, 167.1, 0, -2.3, -2.3, 1.0, 1.0],
        [140.4, 169.9, 30, -2.5, -0.6, 2.5, 0.3],
        [145.7, 176.3, 60, -3.6, 3.1, 5.9, -2.4],
        [150.2, 181.7, 90, -3.7, 6.3, 8.8, -6.8],
        [245.3, 122.6, 0, 1.4, 1.4, 4.0, 4.0],
        [249.7, 124.8, 30, 0.0, 3.3, 4.6, 2.4],
        [252.4, 126.2, 60, -8.3, 4.4, 1.5, -6.8],
        [258.0, 129.0, 90, -17.8, 6.7, -3.5, -17.8],
        [299.1, 62.8, 0, 0.9, 0.9, 1.7, 1.7],
        [304.5, 63.9, 90, -3.0, 2.7, -1.3, -3.0],
    ]
)
"""Nishihara and Kawamoto hard steel, bending and torsion; limit loads recalled from
Papadopoulos et al., Int J Fatigue 19 (1997) 219 (from memory); errors recomputed for
the project's notes."""


def bars(stress, shear, phase=0.0, mean=0.0):
    """Bars with s sin(wt) in tension, t sin(wt - phase) in shear [MPa, degrees]."""
    stress, shear, phase, mean = np.broadcast_arrays(
        *(np.atleast_1d(x).astype(float) for x in (stress, shear, phase, mean))
    )
    fields = np.zeros((2, len(stress), 6), dtype=complex)
    fields[0, :, 0] = mean
    fields[1, :, 0] = 1j * stress
    fields[1, :, 3] = 1j * shear * np.exp(1j * np.radians(phase))
    return StressHistory(np.array([0, 1]), fields)


def sampled(history):
    """The same history with an idle second order: worked out by sampling the turn."""
    idle = np.zeros((1, history.n_points, 6), dtype=complex)
    return StressHistory(np.array([0, 1, 2]), np.concatenate([history.stress, idle]))


@pytest.mark.parametrize("form", [lambda h: h, sampled], ids=["closed", "sampled"])
@pytest.mark.parametrize(
    ("name", "column"),
    [("hypersphere", 3), ("ellipse", 4), ("dang van", 6)],
)
def test_benchmark_errors_to_their_one_decimal(name, column, form):
    """Crossland by both measures and Dang Van give the tabled errors, 0.05 %.

    Sampled, the ball round 72 points is up to 0.1 % small.
    """
    history = form(bars(*BENCHMARK[:, :3].T))
    if name == "dang van":
        filled = criteria.dang_van(history, HARD_STEEL)
    else:
        filled = criteria.crossland(history, HARD_STEEL, name)
    atol = 0.051 if history.single else 0.051 + 0.1
    assert_allclose(100.0 * (filled - 1.0), BENCHMARK[:, column], atol=atol)


def test_findley_on_the_benchmark():
    """Findley gives the tabled errors, or up to 0.1 % more as its planes are finer.

    The table was scanned every 2 by 3 degrees, which can only miss the worst plane.
    """
    history = bars(*BENCHMARK[:, :3].T)
    error = 100.0 * (findley(history, HARD_STEEL) - 1.0)
    assert np.all(error - BENCHMARK[:, 5] > -0.051)
    assert_allclose(error, BENCHMARK[:, 5], atol=0.1)
    # 72 angles: the circle round the shear path is up to 0.1 % small
    by_samples = findley(sampled(history), HARD_STEEL)
    assert_allclose(by_samples, findley(history, HARD_STEEL), rtol=1e-3)


CRITERIA = {
    "crossland ellipse": lambda h: criteria.crossland(h, CAST),
    "crossland hypersphere": lambda h: criteria.crossland(h, CAST, "hypersphere"),
    "findley": lambda h: findley(h, CAST),
    "dang van": lambda h: criteria.dang_van(h, CAST),
}


@pytest.mark.parametrize("name", CRITERIA)
def test_criteria_are_full_at_both_strengths_they_were_fitted_to(name):
    """Bending at f_-1 and torsion at t_-1 alone fill each two-strength criterion.

    Findley's search over planes ends within 3 mrad / 6 of the worst, 1e-6 of it;
    Dang Van's crest is sampled every 5 degrees with a parabola, 1e-5.
    """
    filled = CRITERIA[name](bars([100.0, 0.0], [0.0, 80.0]))
    assert_allclose(filled, 1.0, rtol=1e-5)


def test_one_strength_criteria_are_full_at_theirs():
    """Von Mises and normal amplitude are full in bending at f_-1, not in torsion."""
    history = bars([100.0, 0.0], [0.0, 80.0])
    by_mises = criteria.von_mises(history, CAST)
    assert_allclose(by_mises, [1.0, 0.8 * np.sqrt(3.0)], rtol=1e-12)
    assert_allclose(criteria.normal(history, CAST), [1.0, 0.8], rtol=1e-12)


def test_sines_is_full_in_torsion_and_in_pulsating_bending():
    """Sines is full in torsion at t_-1, with any mean torsion, and at R = 0 at f_0.

    From its definition: k = 3 t_-1 / f_0 - sqrt(3).
    """
    history = bars([0.0, 70.0], [80.0, 0.0], mean=[0.0, 70.0])
    assert_allclose(criteria.sines(history, CAST, pulsating=70.0), 1.0, rtol=1e-12)
    steady = np.zeros((2, 1, 6), dtype=complex)
    steady[0, 0, 3], steady[1, 0, 3] = 40.0, 80.0
    twisted = StressHistory(np.array([0, 1]), steady)
    assert_allclose(criteria.sines(twisted, CAST, pulsating=70.0), 1.0, rtol=1e-12)


def test_dang_van_counts_a_steady_tension_by_its_hydrostatic_part_only():
    """A steady shear changes nothing, a steady tension m adds a m / 3 over t_-1.

    a = 3 (0.8 - 0.5) = 0.9 for the cast pair; the steady deviator is the centre.
    """
    alone = bars(50.0, 30.0)
    twisted = alone.stress.copy()
    twisted[0, 0, 3] = 60.0
    for form in (lambda h: h, sampled):
        base = criteria.dang_van(form(alone), CAST)
        shear = criteria.dang_van(form(StressHistory(alone.orders, twisted)), CAST)
        assert_allclose(shear, base, rtol=1e-6)
        pulled = criteria.dang_van(form(bars(50.0, 30.0, mean=40.0)), CAST)
        assert_allclose(pulled - base, 0.9 * 40.0 / 3.0 / 80.0, rtol=1e-6)


def test_equibiaxial_tension_is_where_von_mises_is_unsafe_for_castings():
    """Equibiaxial s: von Mises sees s, Crossland with ratio 0.8 sees 1.28 s.

    (s / sqrt(3) + k 2 s / 3) / 80 with k = 2.4 - sqrt(3), s = 100.
    """
    fields = np.zeros((1, 1, 6), dtype=complex)
    fields[0, 0, :2] = 100.0
    history = StressHistory(np.array([1]), fields)
    assert_allclose(criteria.von_mises(history, CAST), 1.0, rtol=1e-12)
    by_hand = (100 / np.sqrt(3) + (2.4 - np.sqrt(3)) * 200 / 3) / 80
    assert_allclose(by_hand, 1.278, atol=5e-4)
    assert_allclose(criteria.crossland(history, CAST), by_hand, rtol=1e-12)


def test_findley_without_normal_stress_is_the_shear_amplitude():
    """With k = 0, ratio 1/2, Findley is the greatest shear amplitude over planes.

    For one turning order that is the greatest Tresca shear of A cos psi + B sin psi
    over psi, here at 4000 angles: 1 - cos(pi / 4000) short at most, 3e-7.
    """
    rng = np.random.default_rng(67)
    fields = rng.normal(size=(1, 8, 6)) + 1j * rng.normal(size=(1, 8, 6))
    history = StressHistory(np.array([1]), fields)
    filled = findley(history, FatigueLimits(normal=100.0, shear=50.0))
    low, high = extreme_principals(history.sample(4000))
    assert_allclose(50.0 * filled, 0.5 * (high - low).max(axis=0), rtol=1e-5)


@pytest.mark.parametrize(("normal", "shear"), [(100.0, 49.9), (100.0, 100.0)])
def test_strengths_with_a_senseless_ratio_are_refused(normal, shear):
    """A shear strength below half or not below the normal strength is refused."""
    with pytest.raises(FatigueError, match="shear over normal"):
        FatigueLimits(normal, shear)


def test_an_unknown_measure_and_a_range_for_an_amplitude_are_refused():
    """Unknown measures are named; a pulsating strength given as a range is refused."""
    history = bars(1.0, 0.0)
    with pytest.raises(FatigueError, match="measure cube: unknown; use one of ellipse"):
        criteria.crossland(history, CAST, "cube")
    with pytest.raises(FatigueError, match="give an amplitude"):
        criteria.sines(history, CAST, pulsating=140.0)
