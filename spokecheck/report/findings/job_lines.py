"""A run of several designs on the terminal: a line for each, and a closing table."""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from spokecheck.report.findings import numbers
from spokecheck.report.findings.design_result import (
    DesignResult,
    counted,
    worst_first,
)
from spokecheck.report.findings.terminal import STYLES, plain_table, render_caution
from spokecheck.screen.findings import Findings
from spokecheck.screen.verdict import Verdict


def result_line(result: DesignResult, done: int, total: int) -> Text:
    """One design as it finishes: verdict, file, margin or first fault."""
    lines = 1 if isinstance(result.outcome, Findings) else len(result.error_lines)
    summary = result.summary if lines == 1 else f"{lines} faults"
    return Text.assemble(
        f"{done}/{total} ",
        (result.word, _style(result)),
        f"  {result.shown_path}  {summary}",
    )


def render_results(results: Sequence[DesignResult]) -> RenderableType:
    """Closing table of a run, what needs a look last, where the eye is.

    Parameters
    ----------
    results : sequence of DesignResult
        All designs of the run.

    Returns
    -------
    rich renderable
    """
    grid = plain_table(
        ("Verdict", "left"),
        ("Margin", "right"),
        ("Less bar", "right"),
        ("Before", "right"),
        ("Mass", "right"),
        ("Design", "left"),
    )
    for result in reversed(worst_first(results)):
        found, earlier = result.outcome, result.earlier
        cells = ["", "", ""]
        if isinstance(found, Findings):
            cells = [
                numbers.margin(found.verdict.worst_margin),
                numbers.margin(found.verdict.worst_margin_less_bar),
                numbers.mass(found.wheel.mass_kg),
            ]
        before = "" if earlier is None else numbers.margin(earlier.worst)
        word = result.word + (", fell" if result.falls else "")
        grid.add_row(
            Text(word, _style(result), no_wrap=True),
            *cells[:2],
            before,
            cells[2],
            Text(result.shown_path),
        )
    return Group(Text(), grid, Text(), Text(counted(results), "bold"), render_caution())


def _style(result: DesignResult) -> str:
    if isinstance(result.outcome, Findings):
        word = result.outcome.verdict.word
        fell = result.falls and word is Verdict.CLEARS
        return STYLES[Verdict.DOES_NOT_CLEAR if fell else word]
    return STYLES[Verdict.DOES_NOT_CLEAR]
