"""Error bars from both sides: wide enough for the truth, no wider than it asks for.

Every spot is the peak at a notch whose truth is known; each mesh is made anew,
uniformly finer, and solved as a whole.
"""

from dataclasses import replace
from functools import cache

import pytest

from spokecheck.handbook.catalogue import find_case
from spokecheck.handbook.runner import run_case
from spokecheck.screen.tracked_spots import error_bar, spot_history
from tests.screen.notched import PEAK, SHOULDER, apart, peak_of, plate

REACH = 20.0

UNSEEN = [((1, 1), 1.0), ((2, 1), 8.0)]
"""Cells on an eighth of the hole and outwards, and their growth: so coarse that one
refinement moves the peak by less than what is left."""


@cache
def hole(cells, growth, times):
    """Peak at the hole on a mesh so many times finer."""
    fine = plate((times * cells[0], times * cells[1]), growth)
    spot = fine.watch(fine.trial(None, ()))[1][0]
    # along the hole and outwards; there is one cell through the thickness on all
    return replace(spot, edge=8.0 / times)


@cache
def handbook(name, fineness):
    """Peak of a handbook case."""
    found = run_case(find_case(name), fineness=fineness)
    return peak_of(found.study["solution"], 8.0 / fineness)


def histories(*spots):
    """How a spot stands after each of its meshes."""
    told = []
    for spot in spots:
        told.append(spot_history(spot, told[-1:], apart, REACH))
    return told


def bars(*spots):
    """Error bar after each mesh."""
    return [error_bar(one.move, one.spot.jump) for one in histories(*spots)]


def off(spot, truth):
    """True relative error."""
    return abs(spot.value / truth - 1.0)


@pytest.mark.parametrize(("cells", "growth"), UNSEEN)
def test_one_refinement_that_does_not_see_a_hole_is_not_trusted(cells, growth):
    """The peak moves by less than what is left, and the bar still covers that.

    Kirsch's 300 MPa, exact for this body: after one refinement 191 and 252 MPa are
    found, moved by 41 and 33 MPa.
    """
    meshes = [hole(cells, growth, times) for times in (1, 2)]
    moved = 1.0 - meshes[0].value / meshes[1].value
    assert off(meshes[1], PEAK) > moved > 0.1
    for spot, bar in zip(meshes, bars(*meshes), strict=True):
        assert off(spot, PEAK) < bar


COARSE = [
    ("p22a", 215.36),
    ("p22b", 186.08),
    ("p24a", 204.36),
    ("p24b", 266.25),
]
"""Shoulders and notches of the handbook whose coarsest mesh has one cell to 45 degrees,
and their peaks [MPa] at fineness 8 (checked below); charts give them within 4 %."""


@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_a_coarse_bar_covers_the_truth_and_no_more_than_eight_times_it(name, truth):
    """With edges longer than the radius the jump is below the true error.

    So seven times the jump, which covers it, stays below eight times the truth.
    """
    spot = handbook(name, 1)
    (bar,) = bars(spot)
    assert off(spot, truth) < bar < 8.0 * off(spot, truth)


@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_a_refinement_narrows_the_bar_and_it_covers_the_truth(name, truth):
    """One halving of all edges costs four cells, and buys a smaller bar."""
    meshes = [handbook(name, n) for n in (1, 2)]
    before, after = bars(*meshes)
    assert off(meshes[1], truth) < after < before


@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_the_bar_of_a_fine_mesh_is_a_few_per_cent(name, truth):
    """After two halvings, true errors below 1 %, the bar is above the truth, below 6 %.

    Six per cent is the largest last move among them (shoulder, 5.8 %).
    """
    meshes = [handbook(name, n) for n in (1, 2, 4)]
    assert off(meshes[2], truth) < 0.01
    assert off(meshes[2], truth) < bars(*meshes)[2] < 0.06


@pytest.mark.parametrize(("cells", "fineness"), [((3, 4), 2), ((3, 4), 4)])
def test_a_mesh_that_was_fine_at_once_has_the_least_bar(cells, fineness):
    """A hole seen by six cells an eighth: true error 1 %, bar 2 to 8 %, then the least.

    No bar is more than ten times the error that Kirsch's solution leaves.
    """
    meshes = [hole(cells, 8.0, times) for times in (1, 2, 4) if times <= fineness]
    bar = bars(*meshes)[-1]
    assert off(meshes[-1], PEAK) < bar < 10.0 * off(meshes[-1], PEAK)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_the_truths_are_those_of_fine_meshes(name, truth):
    """Fineness 8, which moves them by less than 0.5 % beyond fineness 4."""
    assert handbook(name, 8).value == pytest.approx(truth, rel=1e-4)
    assert handbook(name, 4).value == pytest.approx(truth, rel=5e-3)


def test_the_step_bar_of_the_handbook_is_the_one_here():
    """Two meshers of one shoulder agree on its peak within 0.1 %."""
    assert dict(COARSE)["p22a"] == pytest.approx(SHOULDER, rel=1e-3)
