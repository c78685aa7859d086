"""How smooth results are in a dimension: ``python -m tests.bench.smoothness``.

A dimension is stepped by 0.1 mm over 2 mm, and each wheel is screened by default.
Margin and mass should follow a smooth curve; what they leave is noise of mesh, bars and
drawing: a designer who compares two variants sees it as an effect.

A run that is stopped goes on where it was.
"""

import argparse
import json
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

import numpy as np

from spokecheck.errors import SpokecheckError
from spokecheck.screen.pipeline import screen
from spokecheck.wheel.reading.read import read_design

ROOT = Path(__file__).resolve().parents[2]
OUT = ROOT / "spokecheck-out" / "smoothness.json"

DIMENSIONS = {
    "meshes/designs/aspen-cast-5.toml": "rim.well_wall_mm",
    "meshes/designs/birch-forged-10.toml": "spokes.root_width_mm",
    "tests/designs/r18-cast5.toml": "hub.fillet_mm",
}
"""Design files, and the key that is stepped in each."""

STEP, STEPS = 0.1, 20
DEGREE = 3
"""Of the polynomial that is called smooth."""

PLACES = 5
"""Places of each wheel that are followed: those that a screening must settle."""


def cases() -> Iterator[tuple[str, str, float]]:
    """File, key and value of each screening."""
    for file, key in DIMENSIONS.items():
        value: Any = read_design(ROOT / file).model_dump()
        for part in key.split("."):
            value = value[part]
        for k in range(STEPS + 1):
            yield file, key, round(float(value) + STEP * (k - STEPS // 2), 6)


def one(file: str, key: str, value: float) -> dict[str, Any]:
    """Mass, and margin of the worst spot of each place."""
    line: dict[str, Any] = {"file": file, "key": key, "value": value}
    try:
        design = read_design(ROOT / file, {key: value})
        found = screen(design).findings
    except SpokecheckError as fault:
        return line | {"failed": str(fault)}
    margins: dict[str, float] = {}
    for spot in found.hot_spots:
        margins.setdefault(f"{spot.test}: {spot.place}", spot.margin)
    return line | {
        "mass": found.wheel.mass_kg,
        "otherwise": [d.text for d in found.wheel.departures],
        "settled": found.convergence.settled,
        "margins": margins,
    }


def residuals(lines: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Largest relative distance from a smooth fit, of mass and of each place."""
    done = sorted((line for line in lines if "mass" in line), key=lambda x: x["value"])
    x = np.array([line["value"] for line in done])

    def off(values: Sequence[float]) -> float:
        y = np.array(values)
        fit = np.polynomial.Polynomial.fit(x, y, DEGREE)(x)
        return float(np.abs(y / fit - 1.0).max())

    followed = list(done[len(done) // 2]["margins"])[:PLACES]
    everywhere = [p for p in followed if all(p in line["margins"] for line in done)]
    return {
        "screened": len(done),
        "failed": len(lines) - len(done),
        "settled": sum(line["settled"] for line in done),
        "otherwise drawn": sum(bool(line["moves"]) for line in done),
        "worst margin": off([min(line["margins"].values()) for line in done]),
        "mass": off([line["mass"] for line in done]),
        "places": {p: off([line["margins"][p] for line in done]) for p in everywhere},
        "not followed": [p for p in followed if p not in everywhere],
    }


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, default=OUT)
    args = parser.parse_args()
    args.out.parent.mkdir(parents=True, exist_ok=True)
    file = args.out.with_suffix(".jsonl")
    text = file.read_text().splitlines() if file.exists() else []
    lines = {(x["file"], x["value"]): x for x in map(json.loads, text)}
    with ProcessPoolExecutor(args.workers) as pool, file.open("a") as out:
        left = [
            pool.submit(one, *case)
            for case in cases()
            if (case[0], case[2]) not in lines
        ]
        for task in as_completed(left):
            line = task.result()
            lines[line["file"], line["value"]] = line
            print(json.dumps(line), file=out, flush=True)
            print(line["file"], line["value"], line.get("failed", ""), flush=True)
    done = {
        f"{name}, {key}": residuals([x for x in lines.values() if x["file"] == name])
        for name, key in DIMENSIONS.items()
    }
    args.out.write_text(json.dumps(done, indent=1))
    print(json.dumps(done, indent=1))


if __name__ == "__main__":
    main()
