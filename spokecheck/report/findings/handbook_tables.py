"""Handbook cases on the terminal: rich renderables, printed by the caller."""

from collections.abc import Mapping, Sequence
from math import isnan

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spokecheck.handbook.case import Case, Parameter, Values
from spokecheck.handbook.convergence import ConvergenceStudy, Trend
from spokecheck.handbook.runner import CaseRun, Reading
from spokecheck.report import caution

MET, MISSED, SHOWN, STOPPED = "met", "missed", "shown", "stopped"
STYLES = {
    MET: "bold green",
    MISSED: "bold red",
    SHOWN: "dim",
    STOPPED: "bold red",
}


def outcome(reading: Reading) -> str:
    """One word for a reading: met, missed, or shown where nothing is judged."""
    if reading.tolerance is None:
        return SHOWN
    return MET if reading.passed else MISSED


def _table(*columns: tuple[str, str]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for title, side in columns:
        is_text = side == "left"
        table.add_column(
            title,
            justify="left" if is_text else "right",
            overflow="fold",
            no_wrap=not is_text,
        )
    return table


def _number(value: float) -> str:
    """Six significant digits."""
    return f"{value:.6g}"


def _error(reading: Reading) -> str:
    """Relative error in per cent, or the number itself where the target is zero."""
    if reading.target == 0.0:
        return f"{reading.error:.1e}"
    percent = round(100.0 * reading.error, 2)
    return f"{percent:+.2f} %" if percent else "0.00 %"


def _allowed(reading: Reading) -> str:
    if reading.tolerance is None:
        return ""
    if reading.target == 0.0 or reading.tolerance < 1e-5:
        return f"{reading.tolerance:.0e}"
    return f"{100.0 * reading.tolerance:.3g} %"


def render_case_list(families: Mapping[str, Sequence[Case]]) -> RenderableType:
    """All cases by family.

    Parameters
    ----------
    families : mapping of str to sequence of Case
        From ``handbook.catalogue.families``.

    Returns
    -------
    rich renderable
    """
    parts: list[RenderableType] = []
    for family, cases in families.items():
        table = _table(("Case", "left"), ("Name", "left"), ("What it is", "left"))
        for case in cases:
            table.add_row(
                Text(case.id, no_wrap=True), Text(case.slug, no_wrap=True), case.title
            )
        parts += [Text(family, "bold"), Padding(table, (0, 0, 1, 2), expand=False)]
    parts.append(
        Text(
            "Run one with: spokecheck handbook NAME [--set name=value] [--convergence]"
        )
    )
    return Group(*parts)


def render_run(case: Case, run: CaseRun) -> RenderableType:
    """One case at one fineness: problem, parameters, values beside targets, source.

    Parameters
    ----------
    case : Case
        The case.
    run : CaseRun
        Its run.

    Returns
    -------
    rich renderable
    """
    size = f"fineness {run.fineness}"
    if run.n_cells:
        size += f", {run.n_cells} cells, {run.n_points} points"
    return Group(
        *_head(case, run.values),
        Text(),
        _readings(run.readings),
        Text(),
        *_reasons(run.readings),
        Text(f"source: {case.source} ({case.basis})"),
        Text(f"{size}, {run.seconds:.1f} s", "dim"),
        Text(caution.SHORT, "italic"),
    )


def _head(case: Case, values: Values) -> list[RenderableType]:
    """Title, statement and parameters."""
    title = Text.assemble((f"{case.id}  {case.title}", "bold"), f"  {case.slug}")
    parts: list[RenderableType] = [title, Text(case.statement)]
    if case.parameters:
        shown = ", ".join(_parameter(p, values) for p in case.parameters)
        parts.append(Text(f"with {shown}", "dim"))
    return parts


def _parameter(parameter: Parameter, values: Values) -> str:
    text = f"{parameter.name} = {values[parameter.name]:g} {parameter.unit}".strip()
    return f"{text} ({parameter.meaning})"


def _readings(readings: Sequence[Reading]) -> Table:
    table = _table(
        ("Quantity", "left"),
        ("Unit", "left"),
        ("FE value", "right"),
        ("Target", "right"),
        ("Error", "right"),
        ("Allowed", "right"),
        ("", "left"),
    )
    for reading in readings:
        word = outcome(reading)
        table.add_row(
            reading.name,
            reading.unit,
            _number(reading.value),
            _number(reading.target),
            _error(reading),
            _allowed(reading),
            Text(word, STYLES[word], no_wrap=True),
        )
    return table


def _reasons(readings: Sequence[Reading]) -> list[RenderableType]:
    """Why each tolerance, each reason once."""
    grouped: dict[str, list[str]] = {}
    for reading in readings:
        grouped.setdefault(reading.reason, []).append(reading.name)
    return [
        Text.assemble((f"{', '.join(names)}: ", "dim"), reason)
        for reason, names in grouped.items()
    ]


def render_convergence(case: Case, study: ConvergenceStudy) -> RenderableType:
    """Values over the refinements, observed rate beside the theoretical one.

    Parameters
    ----------
    case : Case
        The case.
    study : ConvergenceStudy
        From ``handbook.convergence.study_convergence``.

    Returns
    -------
    rich renderable
    """
    levels = [f"n = {run.fineness}" for run in study.runs]
    table = _table(
        ("Quantity", "left"),
        *[(level, "right") for level in levels],
        ("limit", "right"),
        ("Target", "right"),
        ("Rate", "right"),
        ("Theory", "right"),
    )
    for trend in study.trends:
        table.add_row(
            f"{trend.name} [{trend.unit}]" if trend.unit else trend.name,
            *[_number(value) for value in trend.values],
            _number(trend.limit),
            _number(trend.target),
            _rate(trend.observed),
            "" if trend.theoretical is None else f"{trend.theoretical:.1f}",
        )
    seconds = sum(run.seconds for run in study.runs)
    return Group(
        *_head(case, study.runs[0].values),
        Text(),
        table,
        Text(),
        Text(_rate_note(study.trends), "dim"),
        Text(f"source: {case.source} ({case.basis})"),
        Text(f"{seconds:.1f} s", "dim"),
        Text(caution.SHORT, "italic"),
    )


def _rate(observed: float) -> str:
    return "none" if isnan(observed) else f"{observed:.2f}"


def _rate_note(trends: Sequence[Trend]) -> str:
    note = "The rate is fitted to limit + c / n^rate."
    if any(isnan(trend.observed) for trend in trends):
        note += (
            " 'none': the values do not fall steadily, are already exact, or change "
            "sign; refine further to see one."
        )
    return note


def render_summary(runs: Sequence[CaseRun], seconds: float) -> RenderableType:
    """One line for each case: worst error, what was allowed, and the time.

    Parameters
    ----------
    runs : sequence of CaseRun
        From ``handbook.runner.run_all``.
    seconds : float
        Wall time of all together.

    Returns
    -------
    rich renderable
    """
    table = _table(
        ("Case", "left"),
        ("Name", "left"),
        ("Worst quantity", "left"),
        ("Error", "right"),
        ("Allowed", "right"),
        ("s", "right"),
        ("", "right"),
    )
    table.columns[1].min_width = max((len(run.slug) for run in runs), default=1)
    for run in runs:
        worst = _worst(run.readings)
        word = STOPPED if run.failure else MET if run.passed else MISSED
        table.add_row(
            Text(run.case_id, no_wrap=True),
            Text(run.slug, no_wrap=True),
            run.failure or (worst.name if worst else ""),
            _error(worst) if worst else "",
            _allowed(worst) if worst else "",
            f"{run.seconds:.1f}",
            Text(word, STYLES[word], no_wrap=True),
        )
    passed = sum(run.passed for run in runs)
    judged = sum(r.tolerance is not None for run in runs for r in run.readings)
    total = (
        f"{passed} of {len(runs)} cases met all their targets, "
        f"{judged} quantities judged, {seconds:.0f} s"
    )
    style = STYLES[MET if passed == len(runs) else MISSED]
    return Group(table, Text(), Text(total, style), Text(caution.SHORT, "italic"))


def _worst(readings: Sequence[Reading]) -> Reading | None:
    """The judged reading that uses most of its tolerance."""
    judged = [r for r in readings if r.tolerance]
    return max(judged, key=lambda r: abs(r.error) / (r.tolerance or 1.0), default=None)
