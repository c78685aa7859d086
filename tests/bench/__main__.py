"""Run the benchmarks: ``python -m tests.bench --only b,c --name "quiet machine"``."""

import argparse
import json
import os
import time
from datetime import date
from pathlib import Path
from typing import Any

from tests.bench.machine import describe
from tests.bench.suites import SUITES, Plan
from tests.bench.table import README, render, written

RESULTS = Path(__file__).with_name("results.json")


def main() -> None:
    """Run what was asked for, print the table, write JSON and, on request, README."""
    asked = _arguments()
    run = _stored(asked.given) if asked.given else _measured(asked)
    run = json.loads(_text(run))  # the table shows what the JSON holds
    table = render(run)
    print(table)
    if not asked.given:
        asked.json.write_text(_text(run), encoding="utf-8")
    if asked.write:
        README.write_text(
            written(README.read_text(encoding="utf-8"), table), encoding="utf-8"
        )


def _arguments() -> argparse.Namespace:
    told = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    letters = ",".join(SUITES)
    told.add_argument("--only", default=letters, help=f"some of {letters}")
    told.add_argument("--name", default="unnamed", help="name of the run")
    told.add_argument("--json", type=Path, default=RESULTS, help="where to write JSON")
    told.add_argument("--write", action="store_true", help="put the table in README.md")
    told.add_argument(
        "--from", dest="given", type=Path, help="show an earlier run's JSON instead"
    )
    told.add_argument("--fineness", type=float, default=1.0, help="of b, c, d")
    told.add_argument("--variants", type=int, default=100, help="of the sweep")
    told.add_argument("--sweep-limit", type=float, default=240.0, help="seconds")
    told.add_argument("--limit", type=float, default=300.0, help="seconds for a child")
    cores = len(os.sched_getaffinity(0))
    told.add_argument("--cores", type=int, default=cores, help="workers of the sweep")
    each = ",".join(str(n) for n in sorted({1, cores}))
    told.add_argument("--threads", default=each, help="thread counts of c")
    asked = told.parse_args()
    unknown = set(asked.only.split(",")) - set(SUITES)
    if unknown:
        told.error(f"--only {','.join(sorted(unknown))}: choose from {letters}")
    return asked


def _measured(asked: argparse.Namespace) -> dict[str, Any]:
    plan = Plan(
        asked.fineness,
        tuple(int(n) for n in asked.threads.split(",")),
        asked.cores,
        asked.variants,
        asked.sweep_limit,
        asked.limit,
    )
    run: dict[str, Any] = {
        "name": asked.name,
        "date": date.today().isoformat(),
        "machine": describe(),
        "results": {},
    }
    start = time.perf_counter()
    for letter in asked.only.split(","):
        since = time.perf_counter()
        run["results"][letter] = SUITES[letter](plan)
        print(f"({letter}) {time.perf_counter() - since:.0f} s", flush=True)
        run["seconds"] = time.perf_counter() - start
        asked.json.write_text(_text(run), encoding="utf-8")  # nothing is lost
    return run


def _stored(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


def _text(run: dict[str, Any]) -> str:
    return json.dumps(_rounded(run), indent=1, sort_keys=False) + "\n"


def _rounded(value: Any) -> Any:
    """Four digits are more than a clock is worth."""
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return float(f"{value:.4g}") if isinstance(value, float) else value


if __name__ == "__main__":
    main()
