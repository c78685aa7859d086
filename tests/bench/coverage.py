"""How often the true stress lies inside its bar: ``python -m tests.bench.coverage``.

Each wheel is screened by default, and again by a first mesh at least 1.6 times finer,
with the first ten places, all similar copies in question and a tolerance of 1.5 %.  The
second stands for the truth.  Neither knows the other's mesh.

Designs are drawn from seeds by the random generator of the tests, over all patterns,
and read from the folder of wheels of common dimensions.
"""

import sys
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from spokecheck.screen.pipeline import screen
from spokecheck.screen.request import Request
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.tables.design import Design

ROOT = Path(__file__).resolve().parents[2]
WHEELS = ROOT / "tests" / "designs"
sys.path.insert(0, str(ROOT / "tests" / "wheel"))

FINER, TOLERANCE, PLACES, MESHES = 1.6, 0.015, 10, 7
"""Of the reference: fineness, largest bar, places that must settle, most meshes."""

SAME_PLACE = 20.0
"""A place of the reference lies within this [mm] of the one it stands for."""

FIRST = 5
"""Places of which the goals speak apart."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """One place of the default screen, held against the reference.

    Attributes
    ----------
    test, place : str
    rank : int
        In the list, from 1.
    value, true : float
        Equivalent amplitude [MPa], reported and of the reference.
    bar : float
        Reported, relative.
    """

    test: str
    place: str
    rank: int
    value: float
    true: float
    bar: float

    @property
    def miss(self) -> float:
        """Distance from the true value in bars."""
        return abs(self.value - self.true) / (self.bar * self.value)


def designs(first: int, count: int) -> Iterator[tuple[str, Design]]:
    """The wheels of common dimensions, then random ones until there are enough."""
    from random_designs import random_design

    files = sorted(WHEELS.glob("*.toml"))
    for path in files:
        yield path.stem, read_design(path)
    left, seed = count - len(files), first
    while left > 0:
        design = Design.model_validate(random_design(seed))
        if not find_faults(design):
            left -= 1
            yield f"seed {seed}", design
        seed += 1


def hold(design: Design, meshes: int) -> dict[str, object]:
    """Screen one wheel and hold its first places against the reference."""
    start = time.process_time()
    default = screen(design, Request(meshes=meshes))
    seconds = time.process_time() - start
    reference = screen(
        design,
        Request(fineness=FINER, tolerance=TOLERANCE, meshes=MESHES, places=PLACES),
    )
    places = [
        Held(
            test=spot.requirement,
            place=spot.place,
            rank=rank,
            value=spot.equivalent,
            true=true,
            bar=spot.stress_bar,
        )
        for rank, spot in enumerate(default.spots[:PLACES], start=1)
        if (true := _true_value(reference, spot)) is not None
    ]
    worst, truly_worst = default.worst, reference.worst
    return {
        "places": [asdict(one) for one in places],
        "unmatched": min(PLACES, len(default.spots)) - len(places),
        "settled": default.convergence.settled,
        "reference settled": reference.convergence.settled,
        "meshes": len(default.convergence.meshes),
        "cpu seconds": round(seconds, 1),
        "worst": [worst.place, worst.margin, str(default.verdict)],
        "true worst": [truly_worst.place, truly_worst.margin, str(reference.verdict)],
        "held edge": default.convergence.held_edge,
    }
