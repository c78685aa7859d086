"""Refine around the hot spots until they have settled, or say that they have not.

The loop knows neither wheels nor tests: a trial gives values at places, a refinement is
a place and a size, and the trial is made again on the finer mesh.

References
----------
Zienkiewicz, Zhu, A simple error estimator and adaptive procedure for practical
engineering analysis, Int. J. Numer. Methods Eng. 24 (1987) 337-357 (from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from spokecheck.errors import SpokecheckError, TimeLimitError
from spokecheck.screen.request import MOST_MESHES
from spokecheck.screen.tracked_spots import (
    UNDERRATED,
    SpotHistory,
    TrackedSpot,
    spot_history,
)
from spokecheck.wheel.meshing.kernel.task import Refinement

WATCHED = 5
"""Hot spots that must settle, whatever their error bars."""

SMALLEST_STEP, LARGEST_STEP = 0.25, 0.5
"""Bounds of what one refinement may do to an edge."""

SPHERE = 3.0
"""Radius of a refinement sphere in edges of the mesh before."""

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
    """

    unknowns: int
    histories: tuple[SpotHistory, ...]

    @property
    def first(self) -> tuple[SpotHistory, ...]:
        """The hot spots in question: the first, and all that may be worse than they.

        Those are spots whose error bars let them be the worst.
        """
        least = min((one.spot.margin for one in self.histories), default=0.0)
        others = (one for one in self.histories[WATCHED:] if one.least_margin < least)
        return (*self.histories[:WATCHED], *others)

    @property
    def spots(self) -> tuple[TrackedSpot, ...]:
        """The hot spots in question."""
        return tuple(one.spot for one in self.first)

    @property
    def moves(self) -> tuple[float, ...]:
        """Move of each."""
        return tuple(one.move for one in self.first)

    @property
    def largest_doubt(self) -> float:
        """The largest of what the spots' moves and errors leave in doubt."""
        return max((one.doubt for one in self.first), default=float("inf"))


@dataclass(frozen=True)
class Convergence:
    """How the hot spots changed from mesh to mesh.

    Attributes
    ----------
    meshes : tuple of MeshTrial
    settled : bool
        Whether all watched spots changed by less than the tolerance, in order.
    reason : str
        Why the loop ended, in words.
    """

    meshes: tuple[MeshTrial, ...]
    settled: bool
    reason: str


@dataclass(frozen=True)
class RefinementLimits:
    """When to stop.

    Attributes
    ----------
    tolerance : float
        Largest relative change of a watched spot from one mesh to the next.
    meshes : int
        Most trials; 1 refines nothing.
    unknowns : int
        No trial is made on a mesh expected to have more degrees of freedom.
    """

    tolerance: float = 0.05
    meshes: int = MOST_MESHES
    unknowns: int = 500_000


def converge(
    trial: Callable[[T | None, tuple[Refinement, ...]], T],
    watch: Callable[[T], tuple[int, Sequence[TrackedSpot]]],
    gap: Callable[[TrackedSpot, TrackedSpot], float],
    limits: RefinementLimits,
    reach: float,
) -> tuple[T, Convergence]:
    """Repeat a trial on finer meshes until its hot spots have settled.

    Parameters
    ----------
    trial : callable
        From the result before, None at first, and new refinements to a result.
    watch : callable
        From a result to its degrees of freedom and hot spots, worst first.
    gap : callable
        Distance of two spots [mm], symmetric copies being one place.
    limits : RefinementLimits
        When to stop.
    reach : float
        Spots of one label nearer than this [mm] are the same place.

    Returns
    -------
    result : T
        Of the last trial.
    convergence : Convergence
    """
    result = trial(None, ())
    before: list[SpotHistory] = []
    trials: list[MeshTrial] = []
    while True:
        # 1. how each hot spot has changed since the mesh before
        unknowns, spots = watch(result)
        histories = [spot_history(spot, before, gap, reach) for spot in spots]
        trials.append(MeshTrial(unknowns, tuple(histories)))
        # 2. enough?
        settled, reason = _judge(trials, limits)
        if reason:
            return result, Convergence(tuple(trials), settled, reason)
        # 3. finer where a spot is in doubt, or the mesh requirements are not met
        demanded = [demand(spot) for spot in spots if spot.allowed < spot.edge]
        spheres = merged(_doubtful(trials[-1], limits), demanded)
        try:
            result = trial(result, spheres)
        except TimeLimitError:
            raise
        except SpokecheckError as fault:  # the last good result stays
            reason = f"not settled: no finer mesh could be made ({fault})"
            return result, Convergence(tuple(trials), False, reason)
        before = histories


def _judge(trials: Sequence[MeshTrial], limits: RefinementLimits) -> tuple[bool, str]:
    """Whether the spots have settled, and why to stop; no reason means go on.

    Settled spots keep their order, but for swaps of those that differ by less than the
    tolerance, which mean nothing.
    """
    last = trials[-1]
    if last.largest_doubt <= limits.tolerance:
        return True, (
            f"the first {min(len(last.spots), WATCHED)} hot spots, and all that might "
            f"be worse, have settled to {100.0 * last.largest_doubt:.1f} % after "
            f"{len(trials)} meshes"
        )
    if len(trials) == limits.meshes:
        if limits.meshes == 1:
            return False, "one mesh only: nothing was refined"
        return False, f"not settled after {limits.meshes} meshes"
    growth = last.unknowns / trials[-2].unknowns if len(trials) > 1 else 1.1
    if last.unknowns * growth > limits.unknowns:
        return False, (
            f"not settled: a finer mesh would exceed {limits.unknowns} unknowns"
        )
    return False, ""


def _doubtful(last: MeshTrial, limits: RefinementLimits) -> list[Refinement]:
    """Refinements of the spots that are in doubt; at least one."""
    return [
        refine(one.spot, limits) for one in last.first if one.doubt > limits.tolerance
    ]


def refine(spot: TrackedSpot, limits: RefinementLimits) -> Refinement:
    """Refinement that brings a spot's error within half the tolerance.

    The stress error of a second-order mesh falls with the square of the edge length, so
    the step is the root of target over estimated error, within bounds.
    """
    target = limits.tolerance / 2.0
    step = float(np.sqrt(target / max(UNDERRATED * spot.jump, 1e-6)))
    step = min(max(step, SMALLEST_STEP), LARGEST_STEP)
    return Refinement(spot.position, step * spot.edge, SPHERE * spot.edge)


def demand(spot: TrackedSpot) -> Refinement:
    """Small refinement that brings the edges at a spot down to what is allowed there.

    It reaches no further than the edge it replaces; it serves the shape of the mesh,
    not the error, which has refinements of its own.
    """
    return Refinement(spot.position, spot.allowed, spot.edge)


def merged(
    old: Sequence[Refinement], new: Sequence[Refinement]
) -> tuple[Refinement, ...]:
    """All refinements, of those about one place only the finest."""
    kept: list[Refinement] = []
    for sphere in sorted((*old, *new), key=lambda sphere: sphere.size):
        gaps = [np.linalg.norm(np.subtract(k.centre, sphere.centre)) for k in kept]
        if all(gap > 0.5 * k.radius for gap, k in zip(gaps, kept, strict=True)):
            kept.append(sphere)
    return tuple(kept)
