"""Histories of hot spots and what their moves leave open."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.fem.grid_convergence import (
    LEAST_BAR,
    LEAST_ORDER,
    NOISE,
    UNREFINED,
    grid_convergence,
    observed_order,
)
from spokecheck.screen.tracked_spots import SpotHistory, TrackedSpot, spot_history


def spot(value=100.0, edge=4.0, error=0.0, x=0.0, **more):
    """A tracked spot on the x axis."""
    return TrackedSpot(
        label="t", position=(x, 0.0, 0.0), value=value, edge=edge, error=error, **more
    )


def gap(one, other):
    """Distance along the x axis."""
    return abs(one.position[0] - other.position[0])


@given(st.floats(0.6, 2.0), st.floats(1.3, 3.0), st.floats(1.3, 3.0), st.booleans())
def test_the_order_of_a_power_law_is_observed(order, first, second, falling):
    """Values f + C h^p on three edges give back p, whatever the ratios of the edges."""
    edges = np.array([first * second, second, 1.0])
    values = 100.0 + (9.0 if falling else -9.0) * edges**order
    assert_allclose(observed_order(edges, values), order, atol=0.02)


@given(
    st.floats(0.7, 2.0), st.floats(-40.0, 40.0), st.floats(1.4, 3.0), st.integers(2, 4)
)
def test_the_index_covers_the_true_error_and_not_much_more(order, c, ratio, meshes):
    """Of values that follow a power law the last lies within its index, and near it.

    With two meshes, or a move within the noise, the order is taken as 2, so that a
    slower series is covered by the factor of safety 3 down to an order at which
    (r^p - 1) is a third of (r^2 - 1).
    """
    edges = ratio ** -np.arange(float(meshes))
    values = 100.0 + c * edges**order
    index = max(grid_convergence(edges, values, 100.0), LEAST_BAR)
    true = abs(values[-1] / 100.0 - 1.0)
    observed = meshes > 2 and abs(values[-1] - values[-2]) > 100.0 * NOISE
    if observed or 3.0 * (ratio**order - 1.0) >= ratio**2 - 1.0:
        assert index >= true * (1.0 - 1e-3) - 1e-9
    noisy = abs(values[-1] - values[-2]) <= 1.0 or meshes == 2
    if noisy or order >= 1.05:
        assert index <= 3.0 * true * (ratio**order - 1.0) / (ratio - 1.0) + LEAST_BAR


@pytest.mark.parametrize("series", [(141.0, 144.8, 149.1), (100.0, 90.0, 101.0)])
def test_moves_that_do_not_fall_leave_much_open(series):
    """A growing move, one way or to and back, is no convergence: a bar above 20 %."""
    edges = [4.0, 2.0, 1.0]
    assert observed_order(edges, series) == LEAST_ORDER
    assert grid_convergence(edges, series, series[-1]) > 0.2


def test_a_history_grows_by_refinements_only():
    """Unchanged edges replace the last value; shorter ones add a mesh."""
    first = SpotHistory((spot(100.0, 4.0),))
    same = spot_history(spot(101.0, 3.9), [first], gap, 20.0)
    assert [one.value for one in same.meshes] == [101.0]
    finer = spot_history(spot(104.0, 2.0), [same], gap, 20.0)
    assert [one.value for one in finer.meshes] == [101.0, 104.0]
    assert finer.refined == 1


def test_a_spot_far_away_or_on_coarser_cells_is_another_place():
    """No history is inherited across the merge radius, nor by a coarser neighbour."""
    fine = SpotHistory((spot(100.0, 4.0), spot(104.0, 2.0)))
    assert spot_history(spot(104.0, 2.0, x=25.0), [fine], gap, 20.0).refined == 0
    assert spot_history(spot(104.0, 4.0, x=5.0), [fine], gap, 20.0).refined == 0
    assert spot_history(spot(104.0, 2.0, x=5.0), [fine], gap, 20.0).refined == 1


def test_the_bar_without_a_refinement_is_the_estimate_times_its_factor():
    """Nothing was refined: 1.5 times the estimate, never less than the least bar."""
    assert_allclose(SpotHistory((spot(error=0.1),)).bar, UNREFINED * 0.1)
    assert SpotHistory((spot(error=0.0),)).bar == LEAST_BAR


def test_amplitude_and_mean_both_have_to_settle():
    """An equivalent amplitude that stands still while its mean moves keeps a bar."""
    still = [spot(100.0, 4.0, parts=(90.0, 20.0)), spot(100.0, 2.0, parts=(84.0, 32.0))]
    # two meshes, edges halved: 3 |move| / (2^2 - 1)
    assert_allclose(SpotHistory(tuple(still)).bar, 0.12, rtol=1e-12)


def test_an_estimate_that_falls_confirms_the_order():
    """Half the bar then, 1.5 |move| / (2^2 - 1), but not if the estimate stays."""

    def bar(first, second, value=104.0):
        return SpotHistory(
            (spot(100.0, 4.0, error=first), spot(value, 2.0, error=second))
        ).bar

    assert_allclose(bar(0.04, 0.01), 0.5 * 4.0 / 104.0, rtol=1e-12)
    assert_allclose(bar(0.02, 0.015), 4.0 / 104.0, rtol=1e-12)
    # what moved by more than a tenth was hardly seen before
    assert_allclose(bar(0.04, 0.01, 115.0), 15.0 / 115.0, rtol=1e-12)


def test_the_least_margin_is_that_at_the_upper_end_of_the_bar():
    """A margin of 1.2 with a bar of 20 % may be 1.0."""
    history = SpotHistory((spot(error=0.2 / UNREFINED, margin=1.2),))
    assert_allclose(history.least_margin, 1.0, rtol=1e-12)
