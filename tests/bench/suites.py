"""The benchmarks, one function each: run the children, gather what they told."""

import itertools
import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.bench.machine import free_mib
from tests.bench.measure import ROOT, ask_child, run_child

Told = dict[str, Any]

STEPS = (1.0, 1.5, 2.0, 2.8, 3.6, 4.4)
"""Fineness of the scaling run; 50 000 to a million unknowns on one sector."""

MEMORY_SHARE = 0.85
"""Share of the free memory that a run may be expected to need."""

FIVE = ROOT / "meshes/designs/aspen-cast-5.toml"
SEVEN = ROOT / "meshes/designs/cedar-flow-formed-7.toml"
WIDTHS = [60.0 + k for k in range(10)]
DEPTHS = [34.0 + 0.8 * k for k in range(10)]
"""Root width and depth [mm] of the sweep's variants."""


@dataclass(frozen=True)
class Plan:
    """How much to do.

    Attributes
    ----------
    fineness : float
        Of the comparisons.
    threads : tuple of int
        Thread counts of the comparison with the compiled library.
    cores : int
        Processes of the sweep.
    variants : int
        Of the sweep.
    sweep_limit, limit : float
        Seconds for the sweep, and for any other child.
    """

    fineness: float
    threads: tuple[int, ...]
    cores: int
    variants: int
    sweep_limit: float
    limit: float


def example_stages(plan: Plan) -> Told:
    """(a) Stage times of a default screening of each example design, one thread.

    One is what the command line takes: small fronts gain nothing from more.
    """
    designs = sorted((ROOT / "meshes/designs").glob("*.toml"))
    return {
        "designs": [
            {"design": path.stem}
            | ask_child("stages", {"design": str(path)}, 1, plan.limit)
            for path in designs
        ]
    }


def scipy_ratio(plan: Plan) -> Told:
    """(b) Assembly and solution against scikit-fem and SciPy, one thread."""
    told = ask_child("against_scipy", {"fineness": plan.fineness}, 1, plan.limit)
    if "failed" not in told:
        told["ratios"] = {
            name: ratio(told[name], told["ours"]) for name in ("symmetric", "default")
        }
    return told


def compiled_ratio(plan: Plan) -> Told:
    """(c) Cornering against a compiled library's whole wheel."""
    runs = []
    for threads in plan.threads:
        choices = {"fineness": plan.fineness, "threads": threads}
        told = ask_child("against_compiled", choices, threads, plan.limit)
        if "failed" not in told:
            told["ratios"] = {
                "compiled over our sector": ratio(told["compiled"], told["sector"]),
                "our whole over compiled": ratio(told["whole"], told["compiled"]),
            }
        runs.append({"threads": threads} | told)
    return {"runs": runs}


def sector_ratio(plan: Plan) -> Told:
    """(d) Sector against whole wheel, one thread."""
    told = ask_child("sector_against_whole", {"fineness": plan.fineness}, 1, plan.limit)
    if "failed" not in told:
        told["ratios"] = {
            test: ratio(told[test]["whole"], told[test]["sector"])
            for test in ("cornering", "radial")
        }
    return told


def joined_ratio(plan: Plan) -> Told:
    """(j) Two parts joined against the same mesh by one factor, and NGSolve."""
    runs = []
    for spokes, bolts in ((7, 5), (6, 4)):
        choices = {"design": str(SEVEN), "spokes": spokes, "bolts": bolts}
        told = ask_child("joined_against_whole", choices, 1, plan.limit)
        if "failed" not in told:
            told["ratios"] = {
                "compiled over joined": ratio(
                    told["compiled"], told["cornering"]["joined"]
                ),
                **{
                    f"whole over joined, {test}": ratio(
                        told[test]["whole"], told[test]["joined"]
                    )
                    for test in ("cornering", "radial")
                },
            }
        runs.append(told)
    return {"runs": runs}


def scaling_exponents(plan: Plan, steps: Sequence[float] = STEPS) -> Told:
    """(e) Time and memory of a sector's cornering case as the mesh gets finer."""
    rows: list[Told] = []
    for step in steps:
        done = [row for row in rows if "total_cpu_s" in row]
        known = None
        if done:
            power = fit(done, "peak_mib") if len(done) > 1 else 1.3
            known = [done[-1]["unknowns"], done[-1]["peak_mib"], power]
        choices = {
            "fineness": step,
            "known": known,
            "most_mib": MEMORY_SHARE * free_mib(),
        }
        row = ask_child("scaling", choices, 1, plan.limit)
        rows.append({"fineness": step} | row)
        if "failed" in row or "skipped" in row:
            break
    done = [row for row in rows if "total_cpu_s" in row]
    told: Told = {"rows": rows, "threads": 1}
    if len(done) > 2:
        told["exponents"] = {
            key: fit(done, key) for key in ("total_wall_s", "total_cpu_s", "peak_mib")
        }
    return told


def sweep(plan: Plan) -> Told:
    """(f) Many variants of one design by the command line, one pass each."""
    text = FIVE.read_text(encoding="utf-8")
    with TemporaryDirectory() as name:
        designs, out = Path(name) / "designs", Path(name) / "out"
        designs.mkdir()
        made = variants(text, plan.variants)
        for k, variant in enumerate(made):
            (designs / f"variant-{k:03d}.toml").write_text(variant, encoding="utf-8")
        chosen = ["--meshes", "1", "--no-pictures", "--no-cache"]
        places = [str(designs), "--out", str(out), "--workers", str(plan.cores)]
        command = ["-m", "spokecheck", "screen", *places, *chosen]
        child = run_child(command, limit=plan.sweep_limit)
        done = len(list(out.glob("variant-*.json")))
    told = {
        "variants": len(made),
        "done": done,
        "workers": plan.cores,
        "wall_s": child.wall,
        "designs_per_minute": 60.0 * done / child.wall,
        "peak_mib": child.peak,
    }
    if child.late:
        return {**told, "ended_after_s": plan.sweep_limit}
    if child.code not in (0, 1):
        return {"failed": f"exit code {child.code}: {child.err.strip()[-200:]}"}
    return {**told, "cpu_s": child.cpu}


def warm(plan: Plan) -> Told:
    """(g) An unchanged design screened again by the command line."""
    with TemporaryDirectory() as name:
        places = ["--out", f"{name}/out", "--cache", f"{name}/cache"]
        command = ["-m", "spokecheck", "screen", str(FIVE), *places, "--vtu"]
        first = run_child(command, limit=plan.limit)
        if first.code:
            return {"failed": f"exit code {first.code}: {first.err.strip()[-200:]}"}
        again = [run_child(command, limit=plan.limit) for _ in range(5)]
    if not all("stored result" in child.err for child in again):
        return {"failed": f"not from the cache: {again[0].err.strip()[-200:]}"}
    return {
        "cold_wall_s": first.wall,
        "cold_cpu_s": first.cpu,
        "warm_wall_s": min(child.wall for child in again),
        "warm_cpu_s": min(child.cpu for child in again),
    }


SUITES: dict[str, Callable[[Plan], Told]] = {
    "a": example_stages,
    "b": scipy_ratio,
    "c": compiled_ratio,
    "d": sector_ratio,
    "e": scaling_exponents,
    "f": sweep,
    "g": warm,
    "j": joined_ratio,
}


def ratio(slow: Told, fast: Told) -> Told:
    """How many times the first took longer, by wall and by CPU time."""
    return {
        key: slow[f"total_{key}_s"] / fast[f"total_{key}_s"] for key in ("wall", "cpu")
    }


def fit(rows: Sequence[Mapping[str, Any]], key: str) -> float:
    """Exponent of a quantity in the unknowns: slope of the logarithms, least squares.

    Examples
    --------
    >>> fit([{"unknowns": n, "t": 3.0 * n**1.5} for n in (1e4, 1e5, 1e6)], "t")
    1.5
    """
    x = [math.log(row["unknowns"]) for row in rows]
    y = [math.log(row[key]) for row in rows]
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    up = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True))
    return round(up / sum((a - mean_x) ** 2 for a in x), 6)


def variants(text: str, count: int) -> list[str]:
    """Design files with other root widths and depths, at most a hundred."""
    pairs = itertools.islice(itertools.product(WIDTHS, DEPTHS), count)
    return [_with(text, root_width_mm=w, root_depth_mm=d) for w, d in pairs]


def _with(text: str, **changes: float) -> str:
    """Design file with other values for some keys."""
    lines = text.splitlines()
    for key, value in changes.items():
        (at,) = [k for k, line in enumerate(lines) if line.startswith(f"{key} =")]
        lines[at] = f"{key} = {json.dumps(value)}"
    return "\n".join(lines) + "\n"
