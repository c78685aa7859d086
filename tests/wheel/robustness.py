"""Mesh many random designs and count what becomes of them.

``python tests/wheel/robustness.py --count 1000 --seed 1`` meshes the first thousand
feasible designs from a seed on, and reports counts by pattern and the causes of
failure, in JSON too.
"""

import argparse
import json
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict
from itertools import count as count_up
from itertools import islice
from multiprocessing import get_context
from pathlib import Path

import numpy as np
from random_designs import random_design
from random_features import features

from spokecheck.errors import SpokecheckError
from spokecheck.fem.cyclic import rotation
from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.mesh.record import boundary_faces
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.shape.fallbacks import AS_DRAWN
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

VOLUME = 2.0e-3
"""Largest gap of mesh and CAD volume, as in ``wheel/meshing/sound_mesh.py``."""


def check_wheel(wheel):
    """What is wrong with a meshed wheel, in words; empty if nothing."""
    mesh, quality, wrong = wheel.mesh, wheel.quality, []
    if quality.least_jacobian < LEAST_JACOBIAN:
        wrong.append(f"folded cells: least Jacobian {quality.least_jacobian:.3f}")
    if abs(wheel.weight.solid_gap) > VOLUME:
        wrong.append(f"mesh volume off by {wheel.weight.solid_gap:.1e}")
    named = sum(len(f) for n, f in mesh.surfaces.items() if n not in INSIDE)
    if named != len(boundary_faces(mesh.cells)):
        wrong.append(f"{len(boundary_faces(mesh.cells))} faces, {named} of them named")
    if max(wheel.runout.values()) > 0.01:
        wrong.append("bead seats out of true")
    low, high = wheel.cyclic.pairs.T
    gap = mesh.points[low] @ rotation(wheel.cyclic.alpha).T - mesh.points[high]
    if np.abs(gap).max(initial=0.0) > 1e-9:
        wrong.append("cuts differ")
    return "; ".join(wrong)


OUT = Path("spokecheck-out/robustness.json")
INSIDE = ("zone boundary", "joint")
"""Named surfaces inside the wheel."""


def try_seed(seed, fineness=1.0):
    """Outcome of a feasible seed: valid or failed, with the reason."""
    raw = random_design(seed)
    outcomes = {
        "seed": seed,
        "fineness": fineness,
        "pattern": raw["spokes"]["pattern"],
        "with": features(raw),
    }
    start = time.perf_counter()
    design = Design.model_validate(raw)
    try:
        wheel = build_wheel(design, Fineness(fineness))
        why = check_wheel(wheel)
    except SpokecheckError as error:
        seconds = time.perf_counter() - start
        return outcomes | {"outcome": "failed", "why": str(error), "seconds": seconds}
    outcomes |= {"cells": len(wheel.mesh.cells), "shape": wheel.quality.least_shape,
             "gap": wheel.weight.solid_gap, "moved": wheel.quality.deviation,
             "straightened": wheel.quality.straightened, "sectors": wheel.cyclic.count,
             "seconds": time.perf_counter() - start}  # fmt: skip
    fallback = {k: v for k, v in asdict(wheel.shape.fallback).items()
            if v != getattr(AS_DRAWN, k)}  # fmt: skip
    outcomes |= {"fallback": fallback, "otherwise": [d.text for d in wheel.departures]}
    return outcomes | {"outcome": "failed" if why else "valid", "why": why}


def is_feasible(seed):
    """Whether the validator lets the design of a seed pass."""
    return not find_faults(Design.model_validate(random_design(seed)))


def has_sectors(seed):
    """Whether the wheel of a seed is meshed as one of several equal sectors."""
    return draw_wheel(Design.model_validate(random_design(seed))).count > 1


def feasible_seeds(first, number, whole=True):
    """The first ``number`` feasible seeds from ``first`` on, whole wheels or none."""
    wanted = (s for s in count_up(first) if is_feasible(s))
    return list(islice((s for s in wanted if whole or has_sectors(s)), number))


def summary(outcomes):
    """Counts by pattern, by feature and by fallback, and the causes of failure."""

    def counts(kind):
        rows = {}
        for t in outcomes:
            for key in kind(t):
                rows.setdefault(key, Counter())[t["outcome"]] += 1
        return {key: dict(rows[key]) for key in sorted(rows)}

    return {
        "by pattern": counts(lambda t: [t["pattern"]]),
        "by feature": counts(lambda t: t["with"] or ["plain"]),
        "by fallback": counts(lambda t: [json.dumps(t.get("fallback"))]),
        "failures": [t for t in outcomes if t["outcome"] == "failed"],
        "worst shape": min(t.get("shape", 1.0) for t in outcomes),
        "worst gap": max(abs(t.get("gap", 0.0)) for t in outcomes),
        "with straightened cells": [
            t["seed"] for t in outcomes if t.get("straightened")
        ],
        "surface moved most": max(t.get("moved", 0.0) for t in outcomes),
        "longest": max(t["seconds"] for t in outcomes),
    }  # fmt: skip


def done_before(lines, fineness):
    """Outcomes by seed of a run at this fineness that was stopped."""
    if not lines.exists():
        return {}
    outcomes = [json.loads(line) for line in lines.read_text().splitlines()]
    return {t["seed"]: t for t in outcomes if t.get("fineness") == fineness}


def try_all(seeds, lines, workers, fineness):
    """Outcomes of all seeds, each written as a line as soon as it is known."""
    outcomes = {
        s: t for s, t in done_before(lines, fineness).items() if s in set(seeds)
    }
    lines.parent.mkdir(parents=True, exist_ok=True)
    pool = ProcessPoolExecutor(workers, get_context("spawn"))
    with pool, lines.open("a") as file:
        left = [pool.submit(try_seed, s, fineness) for s in seeds if s not in outcomes]
        for task in as_completed(left):
            one = task.result()
            outcomes[one["seed"]] = one
            print(json.dumps(one), file=file, flush=True)
            if one["outcome"] == "failed":
                print(f"seed {one['seed']} {one['pattern']}: {one['why']}", flush=True)
    return [outcomes[s] for s in seeds]


def main():
    """Run from the command line; a run that was stopped goes on where it was."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--fineness", type=float, default=1.0)
    parser.add_argument("--out", type=Path, default=OUT)
    args = parser.parse_args()
    seeds = feasible_seeds(args.seed, args.count)
    start = time.perf_counter()
    lines = args.out.with_suffix(".jsonl")
    outcomes = try_all(seeds, lines, args.workers, args.fineness)
    valid = sum(t["outcome"] == "valid" for t in outcomes)
    actual = summary(outcomes)
    actual |= {"seeds": [seeds[0], seeds[-1]], "feasible": len(seeds), "valid": valid,
              "drawn": seeds[-1] - args.seed + 1, "fineness": args.fineness,
              "seconds": time.perf_counter() - start}  # fmt: skip
    args.out.write_text(json.dumps(actual, indent=1))
    print(json.dumps({k: v for k, v in actual.items() if k != "failures"}, indent=1))
    return 0 if valid >= 0.995 * len(seeds) else 1


if __name__ == "__main__":
    sys.exit(main())
