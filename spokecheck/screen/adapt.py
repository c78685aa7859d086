"""Refine around the hot spots until they stand still, or say that they do not.

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

from spokecheck.errors import SpokecheckError
from spokecheck.screen.request import MOST_PASSES
from spokecheck.wheel.kernel.task import Refinement

WATCHED = 5
"""Hot spots that must stand still."""

SMALLEST_STEP, LARGEST_STEP = 0.25, 0.5
"""Bounds of what a refinement may do to an edge in one pass."""

UNDERRATED = 1.6
"""Jump estimates are too small by about this on fillets of two edges a quarter arc."""

BALL = 3.0
"""Radius of a refined ball in edges of the mesh before."""

FIRST = 3.0
"""The move of a first refinement counts so many times: the mesh before may not have
seen the notch.  Flanges moved by 2.4 and 2.8 % at first, and by 6.8 and 6.7 % more
after that."""

REFINED = 0.8
"""A spot counts as refined if its edges shrank to this share or less."""

T = TypeVar("T")


@dataclass(frozen=True)
class Watched:
    """A hot spot as the loop sees it.

    Attributes
    ----------
    label : str
        Spots with other labels are never the same.
    position : tuple of float
        x, y, z [mm].
    value : float
        What must stand still, such as an amplitude [MPa].
    edge : float
        Edge length of the mesh there [mm].
    error : float
        Estimated relative error of the stress there.
    band : bool
        Whether the spot may wander along a band from mesh to mesh.
    allowed : float
        Largest edge [mm] that may stand there, whatever the error; infinite if the
        present one may.
    """

    label: str
    position: tuple[float, float, float]
    value: float
    edge: float
    error: float
    band: bool = False
    allowed: float = float("inf")


Moved = tuple[Watched, float]
"""A hot spot and its move: its relative change by its last refinement, three times that
by a first one, infinite without any."""


@dataclass(frozen=True)
class Pass:
    """One trial.

    Attributes
    ----------
    unknowns : int
        Degrees of freedom of the mesh.
    spots : tuple of Watched
        The first ``WATCHED`` hot spots, worst first.
    moves : tuple of float
        Move of each.
    """

    unknowns: int
    spots: tuple[Watched, ...]
    moves: tuple[float, ...]

    @property
    def largest_move(self) -> float:
        """The largest move."""
        return max(self.moves, default=float("inf"))

    @property
    def largest_doubt(self) -> float:
        """The largest of what the spots' moves and errors leave in doubt."""
        both = zip(self.spots, self.moves, strict=True)
        return max((doubt(*one) for one in both), default=float("inf"))


@dataclass(frozen=True)
class Convergence:
    """How the hot spots moved from pass to pass.

    Attributes
    ----------
    tolerance : float
        Largest relative change allowed.
    passes : tuple of Pass
    settled : bool
        Whether all watched spots stood still within the tolerance, in order.
    reason : str
        Why the loop ended, in words.
    """

    tolerance: float
    passes: tuple[Pass, ...]
    settled: bool
    reason: str


@dataclass(frozen=True)
class Limits:
    """When to stop.

    Attributes
    ----------
    tolerance : float
        Largest relative change of a watched spot from one pass to the next.
    passes : int
        Most trials; 1 refines nothing.
    unknowns : int
        No trial is made on a mesh expected to have more degrees of freedom.
    """

    tolerance: float = 0.05
    passes: int = MOST_PASSES
    unknowns: int = 500_000


def converge(
    trial: Callable[[T | None, tuple[Refinement, ...]], T],
    watch: Callable[[T], tuple[int, Sequence[Watched]]],
    gap: Callable[[Watched, Watched], float],
    limits: Limits,
    reach: float,
) -> tuple[T, Convergence]:
    """Repeat a trial on finer meshes until its hot spots stand still.

    Parameters
    ----------
    trial : callable
        From the result before, None at first, and new refinements to a result.
    watch : callable
        From a result to its degrees of freedom and hot spots, worst first.
    gap : callable
        Distance of two spots [mm], symmetric copies being one place.
    limits : Limits
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
    before: list[Moved] = []
    passes: list[Pass] = []
    while True:
        unknowns, spots = watch(result)
        found = [(spot, _move(spot, before, gap, reach)) for spot in spots]
        first = found[:WATCHED]
        passes.append(
            Pass(unknowns, tuple(s for s, _ in first), tuple(m for _, m in first))
        )
        settled, reason = _judge(passes, limits)
        if reason:
            return result, Convergence(limits.tolerance, tuple(passes), settled, reason)
        demanded = [demand(spot) for spot in spots if spot.allowed < spot.edge]
        balls = merged(_wanting(passes[-1], limits), demanded)
        try:
            result = trial(result, balls)
        except SpokecheckError as fault:  # what was found stays
            reason = f"not settled: no finer mesh could be made ({fault})"
            return result, Convergence(limits.tolerance, tuple(passes), False, reason)
        before = found


def _move(
    spot: Watched,
    before: Sequence[Moved],
    gap: Callable[[Watched, Watched], float],
    reach: float,
) -> float:
    """Move of a spot.

    Where the mesh stayed as it was a value stands still for no merit of its own: there
    the move of an earlier pass counts, unless this one is larger.
    """
    same = [(s, m) for s, m in before if s.label == spot.label and gap(s, spot) < reach]
    if not same:
        return float("inf")
    old, moved = min(same, key=lambda one: gap(one[0], spot))
    change = abs(spot.value - old.value) / spot.value
    if spot.edge > REFINED * old.edge:
        return max(change, moved)
    return change if np.isfinite(moved) else FIRST * change


def _judge(passes: Sequence[Pass], limits: Limits) -> tuple[bool, str]:
    """Whether the spots have settled, and why to stop; no reason means go on.

    Spots that stood still keep their order, but for swaps of those that differ by less
    than the tolerance, which mean nothing.
    """
    last = passes[-1]
    if last.largest_doubt <= limits.tolerance:
        return True, (
            f"the first {len(last.spots)} hot spots stand still to "
            f"{100.0 * last.largest_doubt:.1f} % after {len(passes)} passes"
        )
    if len(passes) == limits.passes:
        if limits.passes == 1:
            return False, "one pass only: nothing was refined"
        return False, f"not settled after {limits.passes} passes"
    growth = last.unknowns / passes[-2].unknowns if len(passes) > 1 else 1.3
    if last.unknowns * growth > limits.unknowns:
        return False, (
            f"not settled: a finer mesh would exceed {limits.unknowns} unknowns"
        )
    return False, ""


def _wanting(last: Pass, limits: Limits) -> list[Refinement]:
    """Refinements of the spots that are in doubt; at least one."""
    return [
        refine(spot, limits)
        for spot, move in zip(last.spots, last.moves, strict=True)
        if doubt(spot, move) > limits.tolerance
    ]


def doubt(spot: Watched, move: float) -> float:
    """Relative error a spot may still have: its move, or its estimate if larger.

    If the error falls with the square of the edge length, and edges shrank to 0.7 or
    less, what is left is at most 0.96 of the move.
    """
    return max(move, UNDERRATED * spot.error)


def refine(spot: Watched, limits: Limits) -> Refinement:
    """Refinement that brings a spot's error within half the tolerance.

    The stress error of a second-order mesh falls with the square of the edge length, so
    the step is the root of wanted over estimated error, within bounds.
    """
    wanted = limits.tolerance / 2.0
    step = float(np.sqrt(wanted / max(UNDERRATED * spot.error, 1e-6)))
    step = min(max(step, SMALLEST_STEP), LARGEST_STEP)
    return Refinement(spot.position, step * spot.edge, BALL * spot.edge)


def demand(spot: Watched) -> Refinement:
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
    for ball in sorted((*old, *new), key=lambda ball: ball.size):
        gaps = [np.linalg.norm(np.subtract(k.centre, ball.centre)) for k in kept]
        if all(gap > 0.5 * k.radius for gap, k in zip(gaps, kept, strict=True)):
            kept.append(ball)
    return tuple(kept)
