"""What the terminal shows, as rich renderables; printing is left to the caller.

Nothing hangs on colour: each verdict stands there as a word.
"""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from spokecheck.errors import DesignError
from spokecheck.report import caution
from spokecheck.report.findings import numbers
from spokecheck.report.findings.comparison import Comparison
from spokecheck.report.findings.summary import Summary, TestCase
from spokecheck.screen.verdict import Verdict

STYLES = {
    Verdict.CLEARS: "bold green",
    Verdict.BORDERLINE: "bold yellow",
    Verdict.DOES_NOT_CLEAR: "bold red",
}


def render_screening(summary: Summary) -> RenderableType:
    """One screening.

    Parameters
    ----------
    summary : Summary
        What was found.

    Returns
    -------
    rich renderable
    """
    head = Text.assemble((summary.name, "bold"), f"  {numbers.mass(summary.mass)}")
    parts: list[RenderableType] = [
        Rule(style="dim"),
        head,
        Text(summary.headline, STYLES[summary.verdict]),
        Text(f"weakest place: {summary.sentence}"),
        Text(),
        _test_table(summary.tests),
        Text(),
        _spot_table(summary),
    ]
    for remark in summary.remarks:
        parts += _remarks(remark.title, remark.lines)
    return Group(*parts, Text(), render_caution())


def _table(*columns: tuple[str, str], gap: int = 2) -> Table:
    """Table without box; columns are (title, justification)."""
    padding = (0, gap, 0, 0)
    table = Table(box=None, pad_edge=False, padding=padding, header_style="dim")
    for title, side in columns:
        is_text = side == "left"
        table.add_column(
            title,
            justify="left" if is_text else "right",
            overflow="fold",
            no_wrap=not is_text,
        )
    return table


def _test_table(tests: Sequence[TestCase]) -> Table:
    table = _table(
        ("Test", "left"),
        ("Load", "right"),
        ("Cycles", "right"),
        ("Margin", "right"),
        ("Worst place", "left"),
    )
    for row in (test.row for test in tests):
        margin = Text(row.margin, STYLES[row.verdict])
        name = Text(row.name, no_wrap=True)
        table.add_row(name, row.load, row.cycles, margin, Text(row.place))
    return table


def _spot_table(summary: Summary) -> Table:
    table = _table(
        ("#", "right"),
        ("Margin", "right"),
        ("Hot spot", "left"),
        ("Ampl.\nMPa", "right"),
        ("Mean\nMPa", "right"),
        ("Allow.\nMPa", "right"),
        ("Median\nlife", "right"),
        ("Stress\nerror", "right"),
        gap=1,
    )
    for row in summary.spots:
        table.add_row(
            str(row.rank),
            Text(row.margin, STYLES[row.verdict]),
            Text.assemble(row.place, ("\n" + f"{row.test}, {row.copies}", "dim")),
            row.amplitude,
            row.mean,
            row.allowable,
            row.life_median,
            row.error,
        )
    remarks = []
    if not all(row.life_median[0].isdigit() for row in summary.spots):
        remarks.append(numbers.LIFE_WORDS)
    untold = summary.n_spots - len(summary.spots)
    if untold:
        remarks.append(f"{untold} more in the page and the JSON")
    table.caption = "\n".join(remarks) or None
    table.caption_justify = "left"
    return table


def _remarks(title: str, lines: Sequence[str]) -> list[RenderableType]:
    """Heading and one indented paragraph a line; nothing when there are no lines."""
    if not lines:
        return []
    told = Table.grid(padding=(0, 1, 0, 0))
    for line in lines:
        told.add_row(Text("-"), Text(line))
    return [Text(), Text(title, "dim"), Padding(told, (0, 0, 0, 2))]


def render_caution() -> RenderableType:
    """The short caution."""
    return Text(caution.SHORT, "italic")


def render_comparison(comparison: Comparison) -> RenderableType:
    """Ranking of several designs.

    Parameters
    ----------
    comparison : Comparison
        Designs, best first, and those that could not be screened.

    Returns
    -------
    rich renderable
    """
    table = _table(
        ("#", "right"),
        ("Design", "left"),
        ("Margin", "right"),
        ("Mass", "right"),
        ("Verdict", "left"),
        ("Worst hot spot", "left"),
    )
    for rank, entry in enumerate(comparison.entries, 1):
        style = STYLES[entry.verdict]
        table.add_row(
            str(rank),
            Text(entry.name),
            Text(numbers.margin(entry.margin), style),
            numbers.mass(entry.mass),
            Text(str(entry.verdict), style),
            Text.assemble(entry.place, ("\n" + f"{entry.test}, {entry.copies}", "dim")),
        )
    failed = [f"{gone.source}: {gone.message}" for gone in comparison.failures]
    return Group(table, *_remarks("Not screened", failed), Text(), render_caution())


def render_faults(error: DesignError) -> RenderableType:
    """Faults of a design file, one a row."""
    table = _table(("Key", "left"), ("Fault", "left"), ("What to do", "left"))
    for fault in error.faults:
        what = f"{fault.value}: {fault.limit}" if fault.value else fault.limit
        table.add_row(Text(fault.key, "bold"), Text(what), Text(fault.remedy))
    count = len(error.faults)
    plural = "" if count == 1 else "s"
    head = Text.assemble(
        (str(error.source), "bold"), f": {count} fault{plural} in the {error.what}"
    )
    return Group(head, Padding(table, (0, 0, 0, 2)))
