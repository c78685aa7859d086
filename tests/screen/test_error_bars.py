"""Error bars from both sides: wide enough for the truth, no wider than it asks for.

Every spot is the peak at a notch whose truth is known; each mesh is made anew,
uniformly finer, and solved as a whole.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from spokecheck.fem.grid_convergence import grid_convergence
from spokecheck.fem.stress import stress_tensor
from spokecheck.handbook.catalogue import find_case
from spokecheck.handbook.runner import run_case
from spokecheck.screen.tracked_spots import spot_history
from tests.screen.notched import PEAK, SHOULDER, apart, peak_of, plate

REACH = 20.0

UNSEEN = [((1, 1), 1.0), ((2, 1), 8.0)]
"""Cells on an eighth of the hole and outwards, and their growth: so coarse that one
refinement moves the peak by 12 and 17 %."""


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


def bars(*spots):
    """Error bar after each mesh."""
    histories = []
    for spot in spots:
        histories.append(spot_history(spot, histories[-1:], apart, REACH))
    return [one.bar for one in histories]


def off(spot, truth):
    """True relative error."""
    return abs(spot.value / truth - 1.0)


@pytest.mark.parametrize(("cells", "growth"), UNSEEN)
def test_one_refinement_that_hardly_sees_a_hole_is_not_trusted(cells, growth):
    """The bars cover the truth, and after one large move the bar is no smaller than it.

    Kirsch's 300 MPa, exact for this body: 243 and 247 MPa are found, then 277 and 297.
    With two meshes and half the edges the index is the move, 3 / (2^2 - 1) times.
    """
    meshes = [hole(cells, growth, times) for times in (1, 2)]
    moved = 1.0 - meshes[0].value / meshes[1].value
    assert moved > 0.1
    first, second = bars(*meshes)
    assert off(meshes[0], PEAK) < first
    assert off(meshes[1], PEAK) < second
    assert second > 0.999 * moved


@pytest.mark.parametrize("order", [0.7, 1.0, 1.5])
def test_a_slow_series_is_covered_by_its_observed_order(order):
    """Errors 20 h^p of 100 at edges 4, 2, 1 mm: a quarter more than what is left.

    Far beyond noise; the factor of safety with an observed order is 1.25 (Roache).
    """
    edges = [4.0, 2.0, 1.0]
    values = [100.0 + 20.0 * (edge / 4.0) ** order for edge in edges]
    index = grid_convergence(edges, values, 100.0)
    assert index == pytest.approx(1.25 * (values[-1] / 100.0 - 1.0), rel=1e-6)


COARSE = [
    ("p22a", SHOULDER),
    ("p22b", 186.15),
    ("p24a", 204.17),
    ("p24b", 266.01),
]
"""Shoulders and notches of the handbook whose coarsest mesh has two cells to 45
degrees, and their peaks [MPa] on fine meshes (checked below); charts give them within
4 %."""


@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_a_coarse_bar_covers_the_truth_and_is_not_wide(name, truth):
    """With four edges on a quarter arc the peak is 1 to 2.3 % off, the bar below 15 %.

    The estimate is one for all points of a surface; its largest here is 9.3 %.
    """
    spot = handbook(name, 1)
    (bar,) = bars(spot)
    assert off(spot, truth) < bar < 0.15


@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_one_refinement_settles_a_notch(name, truth):
    """One halving of all edges brings the bar within 5 %, and it covers the truth."""
    meshes = [handbook(name, n) for n in (1, 2)]
    before, after = bars(*meshes)
    assert off(meshes[1], truth) < after < before
    assert after < 0.05


@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_the_bar_of_a_fine_mesh_is_the_least(name, truth):
    """After two halvings true errors are below 0.3 %, and the bar is 1.5 %."""
    meshes = [handbook(name, n) for n in (1, 2, 4)]
    assert off(meshes[2], truth) < 0.003
    assert off(meshes[2], truth) < bars(*meshes)[2] < 0.016


@pytest.mark.parametrize(("cells", "fineness"), [((3, 4), 2), ((3, 4), 4)])
def test_a_mesh_that_was_fine_at_once_has_the_least_bar(cells, fineness):
    """A hole seen by three cells an eighth: true error 0.3 %, bar 4 %, then the least.

    Kirsch's solution is met within 0.02 % then.
    """
    meshes = [hole(cells, 8.0, times) for times in (1, 2, 4) if times <= fineness]
    found = bars(*meshes)
    assert off(meshes[0], PEAK) < found[0] < 0.05
    assert off(meshes[-1], PEAK) < 2e-4
    assert off(meshes[-1], PEAK) < found[-1] < 0.016


@pytest.mark.slow
@pytest.mark.parametrize(("name", "truth"), COARSE)
def test_the_truths_are_those_of_fine_meshes(name, truth):
    """Fineness 12 gives them, and recovered stress, read another way, comes near.

    It is the largest principal stress too, and falls to the same value from above; 0.5
    % is what the deep shoulder still lacks.
    """
    found = run_case(find_case(name), fineness=12)
    solution = found.study["solution"]
    assert peak_of(solution, 1.0).value == pytest.approx(truth, rel=5e-4)
    nodes = solution.mesh.nodes("fillet")
    recovered = np.linalg.eigvalsh(stress_tensor(solution.stress[nodes]))[:, 2].max()
    assert recovered == pytest.approx(truth, rel=5e-3)
