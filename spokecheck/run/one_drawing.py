"""Designs to be compared are meshed in one and the same drawing of the ladder.

A drawing that was taken because the first could not be meshed has other windows and
corners; a variant in it is not compared with one that is drawn as asked for.
"""

from collections.abc import Callable
from dataclasses import replace

from spokecheck.run.batch import Outcome
from spokecheck.run.designs import Batch
from spokecheck.run.stored import Screened

ROUNDS = 3
"""Most times that designs are screened again."""


def on_one_drawing(
    batch: Batch, screen: Callable[[Batch], list[Outcome[Screened]]]
) -> list[Outcome[Screened]]:
    """Screen designs, and again those in another drawing than the last of all.

    Parameters
    ----------
    batch : Batch
    screen : callable
        Screens a batch.

    Returns
    -------
    list of Outcome
        In the order of the paths.  Designs that still differ after ``ROUNDS`` keep
        their drawings, which their departures report; one that cannot be meshed in the
        others' drawing keeps its own.
    """
    outcomes = screen(batch)
    for _ in range(ROUNDS):
        numbers = {o.path: _drawing(o) for o in outcomes}
        highest = max((n for n in numbers.values() if n is not None), default=0)
        behind = [p for p, n in numbers.items() if n is not None and n < highest]
        if not behind:
            break
        request = replace(batch.request, drawing=highest)
        again = screen(replace(batch, paths=behind, request=request))
        by_path = {o.path: o for o in again if o.value is not None}
        if not by_path:
            break
        outcomes = [by_path.get(o.path, o) for o in outcomes]
    return outcomes


def _drawing(outcome: Outcome[Screened]) -> int | None:
    """Number of the drawing that was meshed; None where nothing was drawn."""
    if outcome.value is None:
        return None
    wheel = outcome.value.findings.wheel
    return wheel.drawing if wheel.origin.kind == "drawn" else None
