"""Refine around the hot spots until they have settled, or say that they have not.

The loop knows neither wheels nor tests: a trial gives values at places, a refinement is
a place and a size, and the trial is made again on the finer mesh.

References
----------
Zienkiewicz, Zhu, A simple error estimator and adaptive procedure for practical
engineering analysis, Int. J. Numer. Methods Eng. 24 (1987) 337-357 (from memory).
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from spokecheck.errors import MemoryLimitError, SpokecheckError, TimeLimitError
from spokecheck.screen.request import FIRST_PLACES, MOST_MESHES
from spokecheck.screen.tracked_spots import (
    SpotHistory,
    TrackedSpot,
    solved_whole,
    spot_history,
)
from spokecheck.wheel.meshing.kernel.task import Refinement

SMALLEST_STEP, LARGEST_STEP = 0.25, 0.5
"""Bounds of what one refinement may do to an edge."""

FINEST = 0.3
"""Spots with edges as short as this [mm] are not refined any further: a rounding of
1 mm has five of them on its quarter, and what still grows there is no rounding."""

SPHERE = 3.0
"""Radius of a refinement sphere in edges of the mesh before."""

SPARE_PLACES, SLACK = 2, 0.03
"""So many places more are refined with those in question, and all that would be if bars
were wider by this: values move, and spots with them."""

T = TypeVar("T")


@dataclass(frozen=True)
class MeshTrial:
    """One mesh of the loop.

    Attributes
    ----------
    unknowns : int
        Its degrees of freedom.
    histories : tuple of SpotHistory
        All hot spots, worst first.
    places : int
        Places that must settle, whatever their error bars.
    """

    unknowns: int
    histories: tuple[SpotHistory, ...]
    places: int = FIRST_PLACES

    @property
    def in_question(self) -> tuple[SpotHistory, ...]:
        """Spots that must settle.

        The worst of each of the first places; those similar to it whose error bars let
        them be worse; and all whose error bars let them be the worst of all.
        """
        return self._first()

    @property
    def likely(self) -> tuple[SpotHistory, ...]:
        """Spots in question, and those that may be on the next mesh.

        What a spot costs with the others is little beside a mesh of its own.
        """
        return self._first(SPARE_PLACES, SLACK)

    def _first(self, spare: int = 0, slack: float = 0.0) -> tuple[SpotHistory, ...]:
        """Spots in question if so many places more mattered, and bars were wider."""
        worst: dict[int, float] = {}
        for one in self.histories:
            worst.setdefault(one.spot.place, one.spot.margin)
        first = dict(list(worst.items())[: self.places + spare])
        least = min(worst.values(), default=0.0)

        def matters(one: SpotHistory) -> bool:
            margin = first.get(one.spot.place, least)
            least_margin = one.least_margin / (1.0 + slack)
            return one.spot.margin <= margin or least_margin < margin

        return tuple(one for one in self.histories if matters(one))

    @property
    def largest_doubt(self) -> float:
        """The largest error bar of a spot in question; infinite if one is coarse."""
        return max((one.doubt for one in self.in_question), default=float("inf"))


@dataclass(frozen=True)
class Convergence:
    """How the hot spots moved from mesh to mesh.

    Attributes
    ----------
    tolerance : float
        Largest relative error bar allowed.
    meshes : tuple of MeshTrial
    settled : bool
        Whether the bars of all spots in question lie within the tolerance.
    reason : str
        Why the loop ended, in words.
    held_edge : float
        Largest relative change of a spot in question when the last mesh was solved as a
        whole: what the held edge of the submodels had cost.
    """

    tolerance: float
    meshes: tuple[MeshTrial, ...]
    settled: bool
    reason: str
    held_edge: float = 0.0


@dataclass(frozen=True)
class RefinementLimits:
    """When to stop.

    Attributes
    ----------
    tolerance : float
        Largest relative error bar of a spot in question.
    meshes : int
        Most meshes; 1 refines nothing.
    unknowns : int
        No trial is made on a mesh expected to have more degrees of freedom.
    places : int
        Places that must settle, whatever their error bars; similar ones count as one.
    """

    tolerance: float = 0.05
    meshes: int = MOST_MESHES
    unknowns: int = 500_000
    places: int = FIRST_PLACES


def converge(
    trial: Callable[[T | None, tuple[Refinement, ...]], T],
    watch: Callable[[T], tuple[int, Sequence[TrackedSpot]]],
    gap: Callable[[TrackedSpot, TrackedSpot], float],
    limits: RefinementLimits,
    reach: float,
    solve_whole: Callable[[T], T | None] = lambda result: None,
) -> tuple[T, Convergence]:
    """Repeat a trial on finer meshes until its hot spots have settled.

    Parameters
    ----------
    trial : callable
        From the result before, None at first, and new refinements to a result.
    watch : callable
        From a result to its degrees of freedom and hot spots, worst first.
    gap : callable
        Distance of two spots [mm], equal images being one place.
    limits : RefinementLimits
        When to stop.
    reach : float
        Spots of one label nearer than this [mm] are the same place.
    solve_whole : callable, optional
        From a result whose mesh was solved about the refined spots only to that of the
        same mesh solved as a whole, or None where all of it was solved; done before
        anything is called settled.

    Returns
    -------
    result : T
        Of the last trial.
    convergence : Convergence
    """

    def trial_on(
        result: T, before: Sequence[SpotHistory], same_mesh: bool = False
    ) -> MeshTrial:
        unknowns, spots = watch(result)
        histories = (
            spot_history(spot, before, gap, reach, same_mesh) for spot in spots
        )
        return MeshTrial(unknowns, tuple(histories), limits.places)

    result, held_edge = trial(None, ()), 0.0
    trials = [trial_on(result, ())]
    while True:
        settled, reason = _judge(trials, limits)
        try:
            whole = solve_whole(result) if reason else None
            if whole is not None:
                result = whole
                same = trial_on(result, trials[-1].histories, same_mesh=True)
                held_edge = max(held_edge, _largest_change(trials[-1], same))
                trials[-1] = _without_held_edge(same, trials[-1], gap)
            elif reason:
                break
            else:
                result = trial(result, _refinements(trials[-1], limits))
                trials.append(trial_on(result, trials[-1].histories))
        except (TimeLimitError, MemoryLimitError):
            raise
        except SpokecheckError as fault:  # what was computed stays
            settled = False
            reason = f"not settled: no finer mesh could be made ({fault})"
            break
    done = Convergence(limits.tolerance, tuple(trials), settled, reason, held_edge)
    return result, done


def _without_held_edge(
    whole: MeshTrial,
    local: MeshTrial,
    gap: Callable[[TrackedSpot, TrackedSpot], float],
) -> MeshTrial:
    """A mesh solved as a whole, its local histories corrected by what that changed."""

    def corrected(one: SpotHistory) -> SpotHistory:
        same = [h for h in local.histories if h.spot.label == one.spot.label]
        nearest = min(same, key=lambda h: gap(h.spot, one.spot), default=one)
        return solved_whole(one, nearest)

    return replace(whole, histories=tuple(map(corrected, whole.histories)))


def _largest_change(before: MeshTrial, after: MeshTrial) -> float:
    """Largest relative change of a refined spot in question on the same mesh."""
    values = {
        (one.spot.label, one.spot.position): one.spot.value
        for one in before.in_question
        if one.refined
    }
    changes = [
        abs(one.spot.value / values[one.spot.label, one.spot.position] - 1.0)
        for one in after.histories
        if (one.spot.label, one.spot.position) in values
    ]
    return max(changes, default=0.0)


def _judge(trials: Sequence[MeshTrial], limits: RefinementLimits) -> tuple[bool, str]:
    """Whether the spots have settled, and why to stop; no reason means go on."""
    last = trials[-1]
    if last.largest_doubt <= limits.tolerance:
        places = len({one.spot.place for one in last.histories})
        return True, (
            f"the first {min(places, limits.places)} places, and all that might be "
            f"worse, are known to {100.0 * last.largest_doubt:.1f} % after "
            f"{len(trials)} meshes"
        )
    if len(trials) >= limits.meshes:
        if limits.meshes == 1:
            return False, "one mesh only: nothing was refined"
        return False, f"not settled after {limits.meshes} meshes"
    growth = last.unknowns / trials[-2].unknowns if len(trials) > 1 else 1.1
    if last.unknowns * growth > limits.unknowns:
        return False, (
            f"not settled: a finer mesh would exceed {limits.unknowns} unknowns"
        )
    if not _refinements(last, limits):
        return (
            False,
            f"not settled: edges are {FINEST:g} mm where the stress still moves",
        )
    if len(trials) > 1 and last.unknowns == trials[-2].unknowns:
        return False, "not settled: no cell in question could be halved soundly"
    return False, ""


def _refinements(step: MeshTrial, limits: RefinementLimits) -> tuple[Refinement, ...]:
    """Refinements of the spots in doubt, and those that the mesh check asks for."""
    doubtful = (
        refine(one, limits)
        for one in step.likely
        if one.doubt > limits.tolerance and one.spot.edge > FINEST
    )
    spots = (one.spot for one in step.in_question)
    return merged((*doubtful, *(demand(s) for s in spots if s.allowed < s.edge)))


def refine(history: SpotHistory, limits: RefinementLimits) -> Refinement:
    """Refinement that brings a spot's error bar within half the tolerance.

    The stress error of a second-order mesh falls with the square of the edge length, so
    the step is the root of wanted over present bar, within bounds.
    """
    step = float(np.sqrt(limits.tolerance / 2.0 / history.bar))
    step = min(max(step, SMALLEST_STEP), LARGEST_STEP)
    spot = history.spot
    return Refinement(spot.position, step * spot.edge, SPHERE * spot.edge)


def demand(spot: TrackedSpot) -> Refinement:
    """Small refinement that brings the edges at a spot down to what is allowed there.

    It reaches no further than the edge it replaces; it serves the shape of the mesh,
    not the error, which has refinements of its own.
    """
    return Refinement(spot.position, spot.allowed, spot.edge)


def merged(spheres: Iterable[Refinement]) -> tuple[Refinement, ...]:
    """All refinements but those that a finer and no smaller one about a place holds."""
    kept: list[Refinement] = []
    for sphere in sorted(spheres, key=lambda sphere: (sphere.size, -sphere.radius)):
        held = (
            np.linalg.norm(np.subtract(other.centre, sphere.centre))
            <= 0.5 * other.radius
            and other.radius >= sphere.radius
            for other in kept
        )
        if not any(held):
            kept.append(sphere)
    return tuple(kept)
