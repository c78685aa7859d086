"""The stress history record: Fourier sum, sampling, scaling, combining."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import FatigueError
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.sampling import crest, span
from spokecheck.fatigue.tensors import deviator5, from_deviator5, trace

RNG = np.random.default_rng(71)


def made(orders, points=4):
    """History of random components [MPa]."""
    shape = (len(orders), points, 6)
    return StressHistory(
        np.array(orders), RNG.normal(size=shape) + 1j * RNG.normal(size=shape)
    )


def test_samples_are_the_fourier_sum():
    """sample() is Re sum S_m exp(-i m phi) at phi = 2 pi k / n, term by term."""
    history = made([0, 1, 3])
    actual = history.sample(7)
    for k in range(7):
        phi = 2 * np.pi * k / 7
        by_hand = sum(
            (field * np.exp(-1j * m * phi)).real
            for m, field in zip(history.orders, history.stress, strict=True)
        )
        assert_allclose(actual[k], by_hand, atol=1e-13)


def test_real_and_imaginary_parts_go_with_cosine_and_sine():
    """Order 2 with S = A + i B is A cos 2 phi + B sin 2 phi."""
    history = made([2])
    A, B = history.ellipse()
    quarter = history.sample(8)
    assert_allclose(quarter[0], A, atol=1e-14)
    assert_allclose(quarter[1], B, atol=1e-14)
    assert_allclose(quarter[2], -A, atol=1e-14)


def test_the_mean_is_the_real_part_of_order_0():
    """The mean is Re S_0, what samples average to; zeros without order 0."""
    history = made([0, 1, 4])
    assert_allclose(history.mean, history.stress[0].real, rtol=0)
    assert_allclose(history.sample(16).mean(axis=0), history.mean, atol=1e-14)
    assert_allclose(made([1]).mean, np.zeros((4, 6)), rtol=0)


def test_turning_and_steady_parts_scale_apart():
    """scaled() multiplies turning orders by one factor and order 0 by another."""
    history = made([0, 1])
    both = history.scaled(2.0)
    apart = history.scaled(2.0, steady=0.5)
    assert_allclose(both.stress, 2.0 * history.stress, rtol=1e-15)
    assert_allclose(apart.stress[0], 0.5 * history.stress[0], rtol=1e-15)
    assert_allclose(apart.stress[1], 2.0 * history.stress[1], rtol=1e-15)


def test_taken_points_are_those_points():
    """take() keeps the numbered points, in the given order, or a slice."""
    history = made([0, 1])
    assert_allclose(history.take([2, 0]).stress, history.stress[:, [2, 0]], rtol=0)
    assert_allclose(history.take(slice(1, 3)).stress, history.stress[:, 1:3], rtol=0)


@pytest.mark.parametrize(
    ("orders", "shape", "message"),
    [
        ([0, 1], (1, 4, 6), "share their first length"),
        ([0], (1, 4, 3), "Voigt components last"),
        ([1, 0], (2, 4, 6), "sorted"),
        ([1, 1], (2, 4, 6), "without repetition"),
        ([-1, 1], (2, 4, 6), "not negative"),
    ],
)
def test_malformed_histories_are_refused(orders, shape, message):
    """Orders out of order, or fields of another shape, are refused."""
    with pytest.raises(FatigueError, match=message):
        StressHistory(np.array(orders), np.zeros(shape, dtype=complex))


def test_stress_that_is_not_finite_is_refused():
    """A missing value anywhere in the stress is refused."""
    stress = np.zeros((1, 2, 6), dtype=complex)
    stress[0, 1, 3] = np.nan
    with pytest.raises(FatigueError, match="not finite"):
        StressHistory(np.array([1]), stress)


def test_the_ellipse_is_refused_when_several_orders_turn():
    """Closed forms hold for one turning order; asking for two is refused."""
    with pytest.raises(FatigueError, match=r"orders \[1, 3\] turn together"):
        made([0, 1, 3]).ellipse()
    with pytest.raises(FatigueError, match="n_turns = 0"):
        made([1]).sample(0)


def test_sampling_and_scaling_leave_the_history_alone():
    """No method writes into the arrays of its history."""
    history = made([0, 1])
    before = history.stress.copy()
    history.ellipse()[0][:] = 7.0
    history.mean[:] = 7.0
    history.sample(5)[:] = 7.0
    history.scaled(3.0)
    assert_allclose(history.stress, before, rtol=0)


def test_the_deviator_map_is_an_isometry_that_can_be_undone():
    """d.d is half the double contraction of the deviator; the inverse gives it back."""
    stress = RNG.normal(size=(50, 6))
    deviator = stress.copy()
    deviator[:, :3] -= trace(stress)[:, None] / 3.0
    half = 0.5 * (deviator**2 * [1, 1, 1, 2, 2, 2]).sum(axis=1)
    d = deviator5(stress)
    assert_allclose((d**2).sum(axis=1), half, rtol=1e-12)
    assert_allclose(from_deviator5(d), deviator, atol=1e-14)


@pytest.mark.parametrize("shift", np.linspace(0.0, 1.0, 7))
def test_crests_between_samples_are_found(shift):
    """A wave sampled twelve times has its crest found to 0.18 %, wherever it lies.

    The bound of `sampling.turn_count` for one wave.
    """
    phi = 2 * np.pi * (np.arange(12) + shift) / 12
    wave = 3.0 + 2.0 * np.cos(phi)
    assert_allclose(crest(wave) - 3.0, 2.0, rtol=1.8e-3)
    middle, half = span(wave)
    assert_allclose([middle, half], [3.0, 2.0], rtol=1.8e-3)


def test_a_constant_has_no_range():
    """A function without change gives its value and half-range 0."""
    middle, half = span(np.full((9, 2), 4.0))
    assert_allclose(middle, 4.0, rtol=0)
    assert_allclose(half, 0.0, atol=0)
