"""How often the true stress lies inside its bar: ``python -m tests.bench.coverage``.

Each wheel is screened by default, on one mesh, and again from a first mesh 1.6 times
finer, with the first ten places and all that might matter refined until their bars are
no wider than 1.5 %.  The last stands for the truth; no two share a mesh.

The wheels are those of ``tests/designs`` and random ones over all patterns, each from
its seed alone.  A run that is stopped goes on where it was: every wheel is a line of
the file beside ``--out``.
"""

import argparse
import json
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from spokecheck.errors import SpokecheckError
from spokecheck.screen.findings import Findings, HotSpot
from spokecheck.screen.hotspots import images_at_spokes
from spokecheck.screen.pipeline import screen
from spokecheck.screen.request import Request
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.tables.design import Design

ROOT = Path(__file__).resolve().parents[2]
WHEELS = ROOT / "tests" / "designs"
OUT = ROOT / "spokecheck-out" / "coverage.json"
sys.path.insert(0, str(ROOT / "tests" / "wheel"))

REFERENCE = Request(fineness=1.6, tolerance=0.015, places=10, meshes=6)
"""What stands for the truth."""

RUNS = {"default": Request(), "one mesh": Request(meshes=1)}
"""What is held against it."""

PLACES, FIRST = 10, 5
"""Places held, and those of which the goals speak apart."""

SAME_PLACE = 20.0
"""The place of a hot spot in the reference lies on the same surface, within this
distance [mm] of it or of one that lies to its spoke alike."""

MOST_UNKNOWNS = 260_000
"""Wheels whose first mesh has more are left out: their references take too long."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """One hot spot, held against the reference.

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
        """Distance of the true value, in bars; positive if it is higher."""
        return (self.true - self.value) / (self.bar * self.value)


def wheels(first: int, count: int) -> Iterator[tuple[str, Design]]:
    """The wheels of common dimensions, then random ones until there are enough."""
    random_design = import_module("random_designs").random_design  # of tests/wheel
    files = sorted(WHEELS.glob("*.toml"))
    for path in files[:count]:
        yield path.stem, read_design(path)
    left, seed = count - len(files), first
    while left > 0:
        design = Design.model_validate(random_design(seed))
        if not find_faults(design):
            left -= 1
            yield f"seed {seed}", design
        seed += 1


def hold(name: str, design: Design) -> dict[str, Any]:
    """Screen one wheel both ways and hold its first places against the reference."""
    line: dict[str, Any] = {"wheel": name, "pattern": design.spokes.pattern}
    try:
        one = screen(design, RUNS["one mesh"])
        line["unknowns"] = one.findings.convergence.meshes[0].unknowns
        if line["unknowns"] > MOST_UNKNOWNS:
            return line | {"left out": "first mesh too large for a reference"}
        start = time.process_time()
        default = screen(design, RUNS["default"]).findings
        line["cpu seconds"] = round(time.process_time() - start, 1)
        truth = screen(design, REFERENCE).findings
    except SpokecheckError as fault:
        return line | {"failed": str(fault)}
    runs = {"default": default, "one mesh": one.findings}
    return line | {
        "reference": _run(truth),
        **{run: _held(design, findings, truth) for run, findings in runs.items()},
    }


def _run(findings: Findings) -> dict[str, Any]:
    end = findings.convergence
    return {
        "settled": end.settled,
        "reason": end.reason,
        "meshes": len(end.meshes),
        "held edge": end.held_edge,
        "worst": [findings.worst.test, findings.worst.place, findings.worst.margin],
        "verdict": str(findings.verdict.word),
    }


def _held(design: Design, findings: Findings, truth: Findings) -> dict[str, Any]:
    """One run beside the reference."""
    held = []
    for spot in findings.hot_spots[:PLACES]:
        true = _true_value(design, spot, truth)
        if true is not None:
            held.append(
                Held(
                    test=spot.test,
                    place=spot.place,
                    rank=spot.rank,
                    value=spot.equivalent_mpa,
                    true=true,
                    bar=spot.stress_error,
                )
            )
    return _run(findings) | {
        "held": [asdict(one) for one in held],
        "not matched": min(PLACES, len(findings.hot_spots)) - len(held),
    }


def _true_value(design: Design, spot: HotSpot, truth: Findings) -> float | None:
    """Highest stress that the reference has at a place, or at one like it."""
    images = images_at_spokes(design, np.array(spot.position_mm))
    values = [
        other.equivalent_mpa
        for other in truth.hot_spots
        if (other.test, other.surface) == (spot.test, spot.surface)
        and np.linalg.norm(images - other.position_mm, axis=1).min() < SAME_PLACE
    ]
    return max(values, default=None)


def summary(lines: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """What the goals are put in: shares inside, largest misses, widths of the bars."""
    done = [line for line in lines if "reference" in line]
    return {
        "wheels": len(done),
        "left out": [one["wheel"] for one in lines if "left out" in one],
        "failed": {one["wheel"]: one["failed"] for one in lines if "failed" in one},
        "references settled": sum(one["reference"]["settled"] for one in done),
        **{run: _summary_of(run, done) for run in RUNS},
    }


def _summary_of(run: str, done: Sequence[dict[str, Any]]) -> dict[str, Any]:
    held = [Held(**one) for line in done for one in line[run]["held"]]
    first = [one for one in held if one.rank <= FIRST]
    worst = max(held, key=lambda one: abs(one.miss))

    def bars(of: Sequence[Held]) -> float:
        return float(np.median([one.bar for one in of]))

    return {
        "places": len(held),
        "inside": float(np.mean([abs(one.miss) <= 1.0 for one in held])),
        "inside, first": float(np.mean([abs(one.miss) <= 1.0 for one in first])),
        "largest miss in bars": [worst.miss, worst.test, worst.place],
        "largest miss in bars, first": max(abs(one.miss) for one in first),
        "median bar": bars(held),
        "median bar, first": bars(first),
        "error rms": float(
            np.sqrt(np.mean([(one.value / one.true - 1.0) ** 2 for one in held]))
        ),
        "settled": sum(line[run]["settled"] for line in done),
        "meshes": float(np.mean([line[run]["meshes"] for line in done])),
        "not matched": sum(line[run]["not matched"] for line in done),
        "worst place changed": [
            line["wheel"]
            for line in done
            if line[run]["worst"][:2] != line["reference"]["worst"][:2]
        ],
        "verdict changed": [
            line["wheel"]
            for line in done
            if line[run]["verdict"] != line["reference"]["verdict"]
        ],
    }


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=20_000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, default=OUT)
    args = parser.parse_args()
    args.out.parent.mkdir(parents=True, exist_ok=True)
    file = args.out.with_suffix(".jsonl")
    text = file.read_text().splitlines() if file.exists() else []
    lines = {line["wheel"]: line for line in map(json.loads, text)}
    with ProcessPoolExecutor(args.workers) as pool, file.open("a") as out:
        left = [
            pool.submit(hold, name, design)
            for name, design in wheels(args.seed, args.count)
            if name not in lines
        ]
        for task in as_completed(left):
            line = task.result()
            lines[line["wheel"]] = line
            print(json.dumps(line), file=out, flush=True)
            print(line["wheel"], line.get("default", line), flush=True)
    done = summary(list(lines.values()))
    args.out.write_text(json.dumps(done, indent=1))
    print(json.dumps(done, indent=1))


if __name__ == "__main__":
    main()
