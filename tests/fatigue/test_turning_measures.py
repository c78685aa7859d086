"""Amplitudes of a turning stress against closed forms."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from spokecheck.errors import FatigueError
from spokecheck.fatigue import measures, sampling
from spokecheck.fatigue.critical_planes import critical_plane, hemisphere
from spokecheck.fatigue.enclosing_sphere import smallest_enclosing_sphere
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.tensors import (
    deviator5,
    extreme_principals,
    normal_weights,
    von_mises,
)

MEASURES = {
    "ellipse": measures.ellipse_amplitude,
    "hypersphere": measures.hypersphere_amplitude,
    "normal": lambda history: critical_plane(history).amplitude,
    "von Mises crest": measures.greatest_von_mises,
    "hydrostatic crest": measures.hydrostatic_crest,
    "mean": measures.mean_stress,
}


def bar(stress, shear, phase, mean=0.0):
    """Bar with s sin(wt) in tension and t sin(wt - phase) in shear [MPa, degrees]."""
    fields = np.zeros((2, 1, 6), dtype=complex)
    fields[0, 0, 0] = mean
    fields[1, 0, 0] = 1j * stress
    fields[1, 0, 3] = 1j * shear * np.exp(1j * np.radians(phase))
    return StressHistory(np.array([0, 1]), fields)


def random_history(seed, orders=(0, 1), points=3):
    """History of normally distributed components [MPa]."""
    rng = np.random.default_rng(seed)
    shape = (len(orders), points, 6)
    fields = rng.normal(scale=50.0, size=shape) + 1j * rng.normal(
        scale=50.0, size=shape
    )
    return StressHistory(np.array(orders), fields)


def rotated(history, rotation):
    """The same stresses seen in axes turned by a rotation: S -> Q S Q^T."""
    full = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2]])
    Q = rotation.as_matrix()
    turned = Q @ history.stress[..., full] @ Q.T
    rows, cols = [0, 1, 2, 0, 1, 2], [0, 1, 2, 1, 2, 0]
    return StressHistory(history.orders, turned[..., rows, cols])


def padded(history):
    """The same history with an idle second order: measured by sampling the turn."""
    idle = np.zeros((1, history.n_points, 6), dtype=complex)
    return StressHistory(
        np.append(history.orders, 2), np.concatenate([history.stress, idle])
    )


@pytest.mark.parametrize("sampled", [False, True], ids=["closed form", "sampled"])
@pytest.mark.parametrize(
    ("phase", "sphere"), [(0, 132.2876), (30, 127.8806), (60, 115.1388), (90, 100.0)]
)
def test_amplitudes_of_a_bar_in_tension_and_torsion(phase, sphere, sampled):
    """100 sin(wt) with 50 sin(wt - d): ellipse 132.2876 at any d, sphere falls with d.

    Semi-axes from the Gram matrix of the two deviators, by hand.
    Sampled, the sphere round 72 points is at most 1 - cos(2.5 deg) = 1e-3 small.
    """
    history = padded(bar(100.0, 50.0, phase)) if sampled else bar(100.0, 50.0, phase)
    rtol = 1e-5 if sampled else 4e-7
    assert_allclose(measures.ellipse_amplitude(history), 132.2876, rtol=rtol)
    actual = measures.hypersphere_amplitude(history)
    assert_allclose(actual, sphere, rtol=1e-3 if sampled else 4e-7)


def test_a_single_pulsating_tension_has_its_own_amplitude_and_mean():
    """Uniaxial sm + sa sin: every normal measure gives sa, the mean gives sm."""
    history = bar(80.0, 0.0, 0.0, mean=35.0)
    plane = critical_plane(history)
    for actual in (
        measures.ellipse_amplitude(history),
        measures.hypersphere_amplitude(history),
        plane.amplitude,
    ):
        assert_allclose(actual, 80.0, rtol=1e-12)
    assert_allclose(measures.mean_stress(history), 35.0, rtol=1e-12)
    assert_allclose(plane.mean, 35.0, rtol=1e-12)
    assert_allclose(np.abs(plane.normal), [[1.0, 0.0, 0.0]], atol=1e-7)
    assert_allclose(measures.greatest_von_mises(history), 115.0, rtol=1e-5)


def test_pure_shear_gives_root_three_and_its_principal_stress():
    """Torsion t: von Mises sqrt(3) t, normal amplitude t."""
    history = bar(0.0, 60.0, 0.0)
    assert_allclose(measures.ellipse_amplitude(history), np.sqrt(3) * 60, rtol=1e-12)
    assert_allclose(critical_plane(history).amplitude, 60.0, rtol=1e-12)


def test_a_turning_order_alone_has_no_mean():
    """A pure order-1 history has mean 0, exactly, by closed form and sampled."""
    history = random_history(7, orders=(1,), points=20)
    assert_allclose(measures.mean_stress(history), 0.0, atol=0.0)
    assert_allclose(critical_plane(history).mean, 0.0, atol=0.0)
    assert_allclose(measures.mean_stress(padded(history)), 0.0, atol=1e-10)


def test_mean_of_a_short_pulse_is_half_its_height():
    """Tension that pulses from 0 to 100 (cos^16) has amplitude 50 and mean 50.

    Fourier series of 100 cos(phi / 2)^16 = 100 / 2^16 sum C(16, k) exp(i (k - 8) phi);
    its time average is 19.6, which no crack would notice.
    """
    k = np.arange(9)
    from math import comb

    size = np.array([comb(16, 8 + m) / 2**16 * (1 if m == 0 else 2) for m in k]) * 100
    fields = np.zeros((9, 1, 6), dtype=complex)
    fields[:, 0, 1] = size
    history = StressHistory(k, fields)
    assert_allclose(history.mean[0, 1], 19.638, atol=1e-3)
    assert_allclose(measures.mean_stress(history), 50.0, rtol=1e-6)
    for measure in (measures.ellipse_amplitude, measures.hypersphere_amplitude):
        assert_allclose(measure(history), 50.0, rtol=1e-6)
    plane = critical_plane(history)
    assert_allclose([plane.amplitude, plane.mean], 50.0, rtol=1e-6)


def test_half_the_range_of_scalar_von_mises_is_not_the_amplitude():
    """A stress that turns in its plane has constant von Mises, yet a full amplitude."""
    history = bar(np.sqrt(3) * 50, 50.0, 90.0)
    over_turn = von_mises(history.sample(36))
    assert_allclose(np.ptp(over_turn), 0.0, atol=1e-10)
    assert measures.ellipse_amplitude(history)[0] > 122.0


@pytest.mark.parametrize("seed", range(11, 15))
def test_greatest_normal_amplitude_is_that_of_a_search_over_planes(seed):
    """The one-angle search equals brute force over 20 000 planes from above.

    Planes are 1 degree apart at most, so that brute force may fall short by 4e-4.
    """
    history = random_history(seed, points=40)
    cosine, sine = history.ellipse()
    weights = normal_weights(hemisphere(20_000)).T
    brute = np.hypot(cosine @ weights, sine @ weights).max(axis=1)
    actual = critical_plane(history)
    assert np.all(actual.amplitude >= brute)
    assert_allclose(actual.amplitude, brute, rtol=4e-4)
    own = normal_weights(actual.normal)
    on_plane = np.hypot((cosine * own).sum(axis=1), (sine * own).sum(axis=1))
    assert_allclose(actual.amplitude, on_plane, rtol=1e-12)
    assert_allclose(actual.mean, (history.mean * own).sum(axis=1), rtol=1e-12)


ANGLES = arrays(float, 3, elements=st.floats(-3.1, 3.1))
SEEDS = st.integers(100, 10**6)


@pytest.mark.parametrize("name", MEASURES)
@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, angles=ANGLES)
def test_measures_do_not_see_the_axes(name, seed, angles):
    """A proper rotation of every tensor leaves every measure as it is."""
    history = random_history(seed)
    turned = rotated(history, Rotation.from_rotvec(angles))
    # the crest is sampled at the same angles, so rounding is all there is; Newton
    # on the plane's angle stops at about the square root of rounding, squared again
    assert_allclose(
        MEASURES[name](turned),
        MEASURES[name](history),
        rtol=3e-4 if name == "normal" else 1e-9,
        atol=1e-9,
    )


@settings(max_examples=25, deadline=None, derandomize=True)
@given(seed=SEEDS, angles=ANGLES)
def test_sampled_measures_do_not_see_the_axes(seed, angles):
    """With several orders a rotation leaves ellipse and hypersphere as they are.

    The ball may stop some 1e-3 above the smallest, see its docstring.
    """
    history = random_history(seed, orders=(0, 1, 2, 5))
    turned = rotated(history, Rotation.from_rotvec(angles))
    for measure, rtol in (
        (measures.ellipse_amplitude, 1e-9),
        (measures.hypersphere_amplitude, 2e-3),
    ):
        assert_allclose(measure(turned), measure(history), rtol=rtol)


@pytest.mark.parametrize("name", MEASURES)
@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, shift=st.floats(-3.1, 3.1))
def test_measures_do_not_see_where_the_turn_starts(name, seed, shift):
    """Starting the turn elsewhere, S_m -> S_m exp(-i m shift), changes no measure.

    The crest of von Mises is sampled at other angles then: 2e-4, see its docstring.
    """
    history = random_history(seed)
    phase = np.exp(-1j * history.orders * shift)[:, None, None]
    moved = StressHistory(history.orders, history.stress * phase)
    rtol = {"von Mises crest": 2e-4, "normal": 3e-4}.get(name, 1e-9)
    assert_allclose(
        MEASURES[name](moved), MEASURES[name](history), rtol=rtol, atol=1e-9
    )


@pytest.mark.parametrize("orders", [(0, 1), (0, 1, 3)], ids=["one order", "several"])
@pytest.mark.parametrize("name", MEASURES)
def test_measures_scale_with_the_load(name, orders):
    """Twice and a half the load is two and a half times every measure."""
    history = random_history(31, orders=orders, points=12)
    assert_allclose(
        MEASURES[name](history.scaled(2.5)), 2.5 * MEASURES[name](history), rtol=1e-9
    )


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS, orders=st.sets(st.integers(1, 9), min_size=1, max_size=4))
def test_the_ellipse_measure_encloses_the_hypersphere(seed, orders):
    """Box half-diagonal >= smallest ball >= half the greatest chord of the path."""
    history = random_history(seed, orders=sorted(orders))
    box = measures.ellipse_amplitude(history)
    ball = measures.hypersphere_amplitude(history)
    path = deviator5(history.sample(sampling.turn_count(history)))
    chord = np.linalg.norm(path[:, None] - path[None, :], axis=-1).max(axis=(0, 1))
    assert np.all(ball <= box * (1 + 5e-6))
    assert np.all(ball >= np.sqrt(3) * 0.5 * chord * (1 - 1e-9))


@settings(max_examples=40, deadline=None)
@given(seed=SEEDS)
def test_the_sampled_measure_falls_back_to_the_closed_form(seed):
    """For order 1 the enclosing box of a sampled turn is sqrt(3 (l1 + l2)).

    72 angles with a parabola at the crest leave less than 1e-5.
    """
    history = random_history(seed)
    assert_allclose(
        measures.ellipse_amplitude(padded(history)),
        measures.ellipse_amplitude(history),
        rtol=1e-5,
    )


def test_more_angles_do_not_move_the_sampled_measure():
    """Crests from the chosen angles lie within the parabola's cubic remainder.

    h^3 / (9 sqrt 3) sum m^3 |amplitude of order m|, h the angle between samples;
    for the box the same bound per wave, 0.93 % of the greatest order, on every axis.
    """
    history = random_history(41, orders=(0, 1, 2, 4, 8, 12), points=200)
    few = sampling.turn_count(history)
    assert few == 144
    waves = np.abs(history.stress[..., :3].sum(axis=2)) / 3.0
    cubes = (history.orders**3)[:, None]
    bound = (2 * np.pi / few) ** 3 / (9 * np.sqrt(3)) * (cubes * waves).sum(axis=0)
    coarse = measures.hydrostatic_crest(history)
    fine = measures.hydrostatic_crest(history, 16 * few)
    assert np.all(np.abs(coarse - fine) <= bound)
    coarse = measures.ellipse_amplitude(history)
    assert_allclose(coarse, measures.ellipse_amplitude(history, 16 * few), rtol=9.3e-3)


def test_too_few_angles_are_refused():
    """Fewer than four angles per wave plus one is refused; that many is taken."""
    history = random_history(43, orders=(1, 6))
    measures.ellipse_amplitude(history, 25)
    with pytest.raises(FatigueError, match="n_turns = 24: need at least 25"):
        measures.ellipse_amplitude(history, 24)


def test_chunks_do_not_change_results(monkeypatch):
    """One point at a time gives what all points together give."""
    history = random_history(47, orders=(0, 1, 4), points=30)
    whole = [measure(history) for measure in MEASURES.values()]
    monkeypatch.setattr(sampling, "CHUNK_NUMBERS", 1)
    for measure, before in zip(MEASURES.values(), whole, strict=True):
        assert_allclose(measure(history), before, rtol=1e-9)


def test_a_sampled_critical_plane_comes_close_to_the_exact_one():
    """Sampled plane search: never above the exact amplitude, 99 % within 0.1 %."""
    history = random_history(53, points=2000)
    exact = critical_plane(history).amplitude
    actual = critical_plane(padded(history)).amplitude
    assert np.all(actual <= exact * (1 + 1e-5))
    assert np.mean(actual > 0.999 * exact) > 0.99
    assert np.all(actual > 0.98 * exact)


def test_smallest_ball_of_known_figures():
    """Equilateral triangle, square and an obtuse triangle have known balls."""
    h = np.sqrt(3.0) / 2.0
    figures = np.array(
        [
            [[0, 0], [1, 0], [0.5, h], [0.5, h]],
            [[0, 0], [2, 0], [2, 2], [0, 2]],
            [[-3, 0], [3, 0], [0, 1], [1, 0.5]],
        ]
    )
    centre, radius = smallest_enclosing_sphere(figures)
    assert_allclose(radius, [1.0 / np.sqrt(3.0), np.sqrt(2.0), 3.0], rtol=5e-6)
    assert_allclose(centre, [[0.5, h / 3], [1, 1], [0, 0]], atol=2e-3)


def test_smallest_ball_is_within_its_stated_gap():
    """Random five-dimensional clouds: a general optimiser finds the same balls."""
    from scipy.optimize import minimize

    clouds = np.random.default_rng(59).normal(size=(5, 40, 5))
    _, radius = smallest_enclosing_sphere(clouds)
    for cloud, actual in zip(clouds, radius, strict=True):
        start = np.append(cloud.mean(axis=0), 9.0)
        best = minimize(
            lambda x: x[-1],
            start,
            constraints={
                "type": "ineq",
                "fun": lambda x, c=cloud: x[-1] ** 2 - ((c - x[:-1]) ** 2).sum(axis=1),
            },
            options={"ftol": 1e-14, "maxiter": 500},
        )
        assert_allclose(actual, best.x[-1], rtol=6e-6)


def test_principal_stresses_equal_those_of_an_eigenvalue_solver():
    """Trigonometric closed form against numpy's symmetric eigenvalue solver."""
    stress = np.random.default_rng(61).normal(scale=100.0, size=(500, 6))
    full = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2]])
    values = np.linalg.eigvalsh(stress[:, full])
    low, high = extreme_principals(stress)
    assert_allclose(low, values[:, 0], rtol=0, atol=1e-5)
    assert_allclose(high, values[:, 2], rtol=0, atol=1e-5)
    low, high = extreme_principals(np.zeros(6))
    assert_allclose([low, high], 0.0, atol=0.0)


def test_points_without_stress_have_amplitude_zero():
    """An idle point gives zeros, no warning and no missing value."""
    history = StressHistory(np.array([0, 1]), np.zeros((2, 3, 6), dtype=complex))
    for measure in MEASURES.values():
        assert_allclose(measure(history), 0.0, atol=0.0)
        assert_allclose(measure(padded(history)), 0.0, atol=0.0)
