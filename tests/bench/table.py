"""The results of a run as Markdown, and their place in the README beside this file."""

import re
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

README = Path(__file__).with_name("README.md")
BEGIN, END = "<!-- run: begin -->", "<!-- run: end -->"

Told = Mapping[str, Any]

MIB_PER_GIB = 1024.0


def render(run: Told) -> str:
    """Markdown of a whole run."""
    machine = run["machine"]
    versions = ", ".join(f"{k} {v}" for k, v in machine["versions"].items())
    parts = [
        f"Run **{run['name']}**, {run['date']}: {machine['processor']}, "
        f"{machine['cores']} cores, {machine['memory_gib']} GiB, {machine['system']}, "
        f"Python {machine['python']}, {versions}; load average before the run "
        f"{machine['load_before']}; {run['seconds']:.0f} s in all.",
    ]
    for key, told in run["results"].items():
        body = f"Not run: {told['failed']}." if "failed" in told else TABLES[key](told)
        parts.append(f"### {TITLES[key]}\n\n{body}")
    return "\n\n".join(parts) + "\n"


TITLES = {
    "a": "(a) Default screening of the example designs",
    "b": "(b) Assembly and solution beside scikit-fem and SciPy",
    "c": "(c) Cornering beside NGSolve",
    "d": "(d) Sector against whole wheel",
    "e": "(e) Scaling with fineness",
    "f": "(f) Sweep",
    "g": "(g) Unchanged design screened again",
    "j": "(j) Two parts joined beside the whole wheel and NGSolve",
}


def _stages(told: Told) -> str:
    rows = told["designs"]
    names = list(dict.fromkeys(n for r in rows for n in r.get("stages_wall_s", {})))
    head = ["design", "N", "unknowns", "passes", *names, "total", "CPU", "peak GiB"]
    lines = []
    for row in rows:
        if "failed" in row:
            lines.append([row["design"], f"not run: {row['failed']}"])
            continue
        spent = [_s(row["stages_wall_s"].get(name, 0.0)) for name in names]
        passes = f"{row['passes']}{'' if row['settled'] else ', not settled'}"
        whole = row["process"]
        lines.append(
            [
                row["design"],
                str(row["sectors"]),
                str(row["unknowns"]),
                passes,
                *spent,
                _s(whole["wall_s"]),
                _s(whole["cpu_s"]),
                _gib(whole["peak_mib"]),
            ]
        )
    note = "Seconds of wall time, all passes; total and CPU with imports, one process."
    return f"{_table(head, lines)}\n\n{note}"


def _scipy(told: Told) -> str:
    names = {
        "ours": "ours",
        "symmetric": "scikit-fem + SuperLU, symmetric mode",
        "default": "scikit-fem + SuperLU as it comes",
    }
    lines = _sides(told, names)
    for line, key in zip(lines, names, strict=True):
        line += _ratio(told["ratios"].get(key))
    head = ["", *SIDE_HEAD, "ratio, wall", "ratio, CPU"]
    note = f"Order 0 on one sector, {told['unknowns']} unknowns, one thread."
    return f"{_table(head, lines)}\n\n{note} {GAP_NOTE}"


def _compiled(told: Told) -> str:
    parts = []
    names = {
        "sector": "our sector",
        "whole": "our whole wheel",
        "compiled": "NGSolve, whole wheel",
    }
    for run in told["runs"]:
        if "failed" in run:
            parts.append(f"{run['threads']} threads: not run: {run['failed']}.")
            continue
        ratios = "; ".join(
            f"{name} {r['wall']:.2f} by wall, {r['cpu']:.2f} by CPU time"
            for name, r in run["ratios"].items()
        )
        threads = "one thread" if run["threads"] == 1 else f"{run['threads']} threads"
        parts.append(
            f"{_table(['', *SIDE_HEAD], _sides(run, names))}\n\n"
            f"{threads.capitalize()} on either side, {run['unknowns_sector']} unknowns "
            f"in the sector, {run['unknowns_whole']} in the wheel. {GAP_NOTE} "
            f"Ratios: {ratios}."
        )
    return "\n\n".join(parts)


def _sector(told: Told) -> str:
    lines = []
    for test in ("cornering", "radial"):
        both = told[test]
        lines.append(
            [
                test,
                str(both["orders"]),
                _s(both["sector"]["total_wall_s"]),
                _s(both["whole"]["total_wall_s"]),
                _s(both["sector"]["total_cpu_s"]),
                _s(both["whole"]["total_cpu_s"]),
                f"{both['sector']['gap']:.0e}",
                *_ratio(told["ratios"][test]),
            ]
        )
    head = ["test", "orders", "sector, wall s", "whole, wall s", "sector, CPU s"]
    head += ["whole, CPU s", "gap", "ratio, wall", "ratio, CPU"]
    note = (
        f"{told['unknowns_sector']} unknowns in the sector, {told['unknowns_whole']} "
        f"in the wheel, one thread, from mesh to displacement. {GAP_NOTE}"
    )
    return f"{_table(head, lines)}\n\n{note}"


def _joined(told: Told) -> str:
    lines, ratios = [], []
    for run in told["runs"]:
        if "failed" in run:
            lines.append([f"not run: {run['failed']}"])
            continue
        for test in ("cornering", "radial"):
            both = run[test]
            other = run["compiled"] if test == "cornering" else None
            lines.append(
                [
                    f"{run['wheel']}, {test}",
                    str(run["unknowns"]),
                    _s(both["joined"]["total_cpu_s"]),
                    _s(both["whole"]["total_cpu_s"]),
                    "" if other is None else _s(other["total_cpu_s"]),
                    f"{both['joined']['gap']:.0e}",
                    _gib(run["peak_mib"]) if other else "",
                ]
            )
        ratios.append(
            f"{run['wheel']}: "
            + "; ".join(
                f"{name} {r['wall']:.2f} by wall, {r['cpu']:.2f} by CPU time"
                for name, r in run["ratios"].items()
            )
        )
    head = ["wheel and test", "unknowns", "joined, CPU s", "whole, CPU s"]
    head += ["NGSolve, CPU s", "gap", "peak GiB, joined"]
    note = "One thread, from mesh to displacement; the same mesh on all sides."
    return f"{_table(head, lines)}\n\n{note} {GAP_NOTE} {'. '.join(ratios)}."


def _scaling(told: Told) -> str:
    lines = []
    for row in told["rows"]:
        start = [f"{row['fineness']:g}", str(row.get("unknowns", ""))]
        if "total_cpu_s" not in row:
            reason = row.get("skipped") or row.get("failed")
            lines.append([*start, f"not run: {reason}"])
            continue
        lines.append(
            [
                *start,
                _s(row["wall_s"]["assembly"]),
                _s(row["wall_s"]["factor and solve"]),
                _s(row["total_wall_s"]),
                _s(row["total_cpu_s"]),
                _gib(row["peak_mib"]),
            ]
        )
    head = ["fineness", "unknowns", "assembly s", "factor and solve s", "total s"]
    head += ["CPU s", "peak GiB"]
    note = (
        "Cornering on one sector (complex, order 1), from mesh to displacement, "
        "one thread."
    )
    if "exponents" in told:
        powers = told["exponents"]
        note += (
            f" Fitted: time with unknowns^{powers['total_wall_s']:.2f} (CPU "
            f"^{powers['total_cpu_s']:.2f}), peak memory ^{powers['peak_mib']:.2f}."
        )
    return f"{_table(head, lines)}\n\n{note}"


def _sweep(told: Told) -> str:
    ended = told.get("ended_after_s")
    end = f"; ended after {ended:.0f} s as planned" if ended else ""
    cpu = f", {told['cpu_s']:.0f} s CPU" if "cpu_s" in told else ""
    return (
        f"{told['done']} of {told['variants']} variants of one design (root width and "
        f"depth), one pass, no pictures, {told['workers']} processes: "
        f"**{told['designs_per_minute']:.1f} designs per minute** "
        f"({told['wall_s']:.0f} s wall{cpu}{end})."
    )


def _warm(told: Told) -> str:
    return (
        f"First {_s(told['cold_wall_s'])} s ({_s(told['cold_cpu_s'])} s CPU), with "
        f"pictures and VTU; again **{told['warm_wall_s']:.2f} s** "
        f"({told['warm_cpu_s']:.2f} s CPU), from the command line, import included."
    )


TABLES: dict[str, Callable[[Told], str]] = {
    "a": _stages,
    "b": _scipy,
    "c": _compiled,
    "d": _sector,
    "e": _scaling,
    "f": _sweep,
    "g": _warm,
    "j": _joined,
}

SIDE_HEAD = ["assembly s", "rest s", "total s", "CPU s", "gap"]
GAP_NOTE = "Gap: largest difference of displacement over the largest displacement."


def _sides(told: Told, names: Mapping[str, str]) -> list[list[str]]:
    """One line for each side of a comparison."""
    return [
        [
            name,
            _s(told[key]["wall_s"]["assembly"]),
            _s(told[key]["total_wall_s"] - told[key]["wall_s"]["assembly"]),
            _s(told[key]["total_wall_s"]),
            _s(told[key]["total_cpu_s"]),
            f"{told[key]['gap']:.0e}" if "gap" in told[key] else "",
        ]
        for key, name in names.items()
    ]


def _ratio(found: Told | None) -> list[str]:
    return ["", ""] if found is None else [f"{found[k]:.1f}" for k in ("wall", "cpu")]


def _s(seconds: float) -> str:
    return f"{seconds:.2f}" if seconds < 9.995 else f"{seconds:.1f}"


def _gib(mib: float) -> str:
    return f"{mib / MIB_PER_GIB:.2f}"


def _table(head: list[str], lines: Iterable[list[str]]) -> str:
    rows = [head, ["---"] * len(head)]
    rows += [line + [""] * (len(head) - len(line)) for line in lines]
    return "\n".join("| " + " | ".join(row) + " |" for row in rows)


def written(text: str, table: str) -> str:
    """A README with the run between its markers replaced."""
    pattern = re.compile(f"{re.escape(BEGIN)}.*{re.escape(END)}", re.DOTALL)
    if not pattern.search(text):
        raise ValueError(f"the README has no {BEGIN} ... {END}")
    return pattern.sub(lambda _: f"{BEGIN}\n{table}{END}", text)
