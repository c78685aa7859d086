"""How often the true stress lies inside its bar: ``python -m tests.bench.coverage``.

Each wheel is screened by default, on one mesh, and again from a first mesh 1.6 times
finer, with the first ten places and all that might matter refined until their bars are
no wider than 1.5 %, three meshes at most.  The last stands for the truth; no two share
a mesh.

The wheels are those of ``tests/designs`` and random ones over all patterns, each from
its seed alone.  A run that is stopped goes on where it was: what was found of a wheel
is a file in ``--out``, its reference another, which later runs use again.
"""

import argparse
import json
import pickle
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
from spokecheck.fem.memory import keep_freed_memory
from spokecheck.screen.findings import Findings, HotSpot
from spokecheck.screen.hotspots import equal_images
from spokecheck.screen.pipeline import screen
from spokecheck.screen.request import Request
from spokecheck.screen.results import Screening
from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.tables.design import Design

ROOT = Path(__file__).resolve().parents[2]
WHEELS = ROOT / "tests" / "designs"
OUT = ROOT / "spokecheck-out" / "coverage"
sys.path.insert(0, str(ROOT / "tests" / "wheel"))

REFERENCE = Request(fineness=1.6, tolerance=0.015, places=10, meshes=3)
"""What stands for the truth."""

RUNS = {"default": Request(), "one mesh": Request(meshes=1)}
"""What is held against it."""

PLACES, FIRST = 10, 5
"""Places held, and those of which the goals speak apart."""

SAME_PLACE = 20.0
"""The place of a hot spot in the reference lies on the same surface, within this
distance [mm] of it or of an equal image of it."""

AT_PLACE = 2.0
"""Where the reference lists no hot spot there, its highest stress on the same surface
within this distance [mm] counts."""

KNOWN = 0.025
"""A place is known if the reference's own bar there is no wider."""

MOST_UNKNOWNS = 150_000
"""Wheels whose first mesh has more are left out: their references take too long."""


@dataclass(frozen=True, kw_only=True)
class Reference:
    """What stands for the truth of one wheel.

    Attributes
    ----------
    findings : Findings
    points : ndarray (n_nodes, 3)
        Of the outer surface [mm].
    names : ndarray (n_nodes,) of str
        Drawn surface of each.
    utilisation : dict of str to ndarray (n_nodes,)
        By test.
    """

    findings: Findings
    points: FloatArray
    names: np.ndarray
    utilisation: dict[str, FloatArray]

    @classmethod
    def of(cls, found: Screening) -> "Reference":
        """From a screening."""
        surface = found.fields.surface
        return cls(
            findings=found.findings,
            points=found.wheel.mesh.points[surface.nodes],
            names=np.array(surface.labels)[surface.names],
            utilisation=dict(found.fields.utilisation),
        )

    def at(self, wheel: Wheel, spot: HotSpot) -> tuple[float, float | None] | None:
        """Equivalent stress [MPa] at a hot spot, or one equal to it, and its bar.

        There is no bar where the reference lists no hot spot.
        """
        images = equal_images(wheel, np.array(spot.position_mm))
        same = [
            other
            for other in self.findings.hot_spots
            if (other.test, other.surface) == (spot.test, spot.surface)
            and np.linalg.norm(images - other.position_mm, axis=1).min() < SAME_PLACE
        ]
        if same:
            top = max(same, key=lambda other: other.equivalent_mpa)
            return top.equivalent_mpa, top.stress_error
        on = np.flatnonzero(self.names == spot.surface)
        gaps = np.linalg.norm(self.points[on, None] - images, axis=2).min(axis=1)
        near = on[gaps < AT_PLACE]
        if not len(near):
            return None
        share = self.utilisation[spot.test][near].max() * spot.margin
        return float(spot.equivalent_mpa * share), None


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
    true_bar : float or None
        Of the reference.
    """

    test: str
    place: str
    rank: int
    value: float
    true: float
    bar: float
    true_bar: float | None

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


def hold(name: str, design: Design, out: Path) -> dict[str, Any]:
    """Screen one wheel both ways and hold its first places against the reference."""
    keep_freed_memory()
    line: dict[str, Any] = {"wheel": name, "pattern": design.spokes.pattern}
    try:
        truth = _reference(design, out / f"{name}.reference")
        if truth is None:
            return line | {"left out": "first mesh too large for a reference"}
        start = time.process_time()
        found = {run: screen(design, how) for run, how in RUNS.items()}
    except SpokecheckError as fault:
        return line | {"failed": str(fault)}
    return line | {
        "cpu seconds": round(time.process_time() - start, 1),
        "reference": _run(truth.findings),
        **{run: _held(one, truth) for run, one in found.items()},
    }


def _reference(design: Design, file: Path) -> Reference | None:
    """The reference of a wheel, from its file if there is one; None if too large."""
    if file.exists():
        kept: Reference | None = pickle.loads(file.read_bytes())
        return kept
    truth, first = None, screen(design, RUNS["one mesh"]).findings
    if first.convergence.meshes[0].unknowns <= MOST_UNKNOWNS:
        truth = Reference.of(screen(design, REFERENCE))
    file.write_bytes(pickle.dumps(truth))
    return truth


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


def _held(found: Screening, truth: Reference) -> dict[str, Any]:
    """One run beside the reference."""
    held, findings = [], found.findings
    first = findings.hot_spots[:PLACES]
    for spot in first:
        true = truth.at(found.wheel, spot)
        if true is not None:
            held.append(
                Held(
                    test=spot.test,
                    place=spot.place,
                    rank=spot.rank,
                    value=spot.equivalent_mpa,
                    true=true[0],
                    bar=spot.stress_error,
                    true_bar=true[1],
                )
            )
    return _run(findings) | {
        "held": [asdict(one) for one in held],
        "not matched": len(first) - len(held),
    }


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
    every = [Held(**one) for line in done for one in line[run]["held"]]
    held = [one for one in every if one.true_bar is not None and one.true_bar <= KNOWN]
    first = [one for one in held if one.rank <= FIRST]
    others = [one for one in every if one not in held]
    worst = max(held, key=lambda one: abs(one.miss))

    def bars(of: Sequence[Held]) -> float:
        return float(np.median([one.bar for one in of]))

    return {
        "places known": len(held),
        "inside": float(np.mean([abs(one.miss) <= 1.0 for one in held])),
        "inside, first": float(np.mean([abs(one.miss) <= 1.0 for one in first])),
        "largest miss in bars": [worst.miss, worst.test, worst.place],
        "largest miss in bars, first": max(abs(one.miss) for one in first),
        "median bar": bars(held),
        "median bar, first": bars(first),
        "error rms": float(
            np.sqrt(np.mean([(one.value / one.true - 1.0) ** 2 for one in held]))
        ),
        "less known": [len(others), float(np.mean([abs(o.miss) <= 1 for o in others]))],
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
    parser.add_argument("--references", action="store_true", help="make these only")
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    task = _make_reference if args.references else _hold_once
    lines = []
    with ProcessPoolExecutor(args.workers) as pool:
        left = [
            pool.submit(task, name, design, args.out)
            for name, design in wheels(args.seed, args.count)
        ]
        for one in as_completed(left):
            lines.append(one.result())
            print(lines[-1]["wheel"], lines[-1].get("default", ""), flush=True)
    if not args.references:
        print(json.dumps(summary(lines), indent=1))


def _make_reference(name: str, design: Design, out: Path) -> dict[str, Any]:
    keep_freed_memory()
    try:
        _reference(design, out / f"{name}.reference")
    except SpokecheckError as fault:
        return {"wheel": name, "failed": str(fault)}
    return {"wheel": name}


def _hold_once(name: str, design: Design, out: Path) -> dict[str, Any]:
    """What was found of a wheel, from its file if there is one."""
    file = out / f"{name}.json"
    if not file.exists():
        file.write_text(json.dumps(hold(name, design, out)))
    line: dict[str, Any] = json.loads(file.read_text())
    return line


if __name__ == "__main__":
    main()
