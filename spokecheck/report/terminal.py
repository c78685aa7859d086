"""What the terminal shows, as rich renderables; printing is left to the caller.

Nothing hangs on colour: each verdict stands there as a word.
"""

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from spokecheck.errors import DesignError
from spokecheck.report import assumptions, caution, numbers, rows
from spokecheck.report.compare import Comparison
from spokecheck.screen.results import Screening
from spokecheck.screen.verdict import Verdict

STYLES = {
    Verdict.CLEARS: "bold green",
    Verdict.BORDERLINE: "bold yellow",
    Verdict.DOES_NOT_CLEAR: "bold red",
}

MOST = 10
"""Hot spots shown; the page and the JSON have them all."""


def render_screening(screening: Screening, most: int = MOST) -> RenderableType:
    """Summary of one screening.

    Parameters
    ----------
    screening : Screening
        What was found.
    most : int
        Hot spots to show.

    Returns
    -------
    rich renderable
    """
    wheel = screening.wheel
    head = Text.assemble(
        (screening.name, "bold"), f"  {numbers.mass(wheel.weight.mass)}"
    )
    verdict = Text(rows.headline(screening), STYLES[screening.verdict])
    first = Text(f"weakest place: {rows.worst_sentence(screening)}")
    parts: list[RenderableType] = [
        Rule(style="dim"),
        head,
        verdict,
        first,
        Text(),
        _test_table(screening),
        Text(),
        _spot_table(screening, most),
        *_remarks(
            "What the worst margins owe to the load model",
            assumptions.sensitivity_lines(screening),
        ),
        *_remarks(
            "Notch support",
            assumptions.support_lines(screening, assumptions.CHECKED),
        ),
        *_remarks(
            "Margins by other criteria",
            assumptions.beside_lines(screening, assumptions.CHECKED),
        ),
        *_impact(screening),
        *_remarks("Outside its ground", assumptions.warning_lines(screening)),
        *_remarks("From memory and unsure", assumptions.doubt_lines(screening)),
        *_remarks("Mesh", [rows.convergence_line(screening)]),
        *_remarks("Left out by rule", rows.highest_exclusion_lines(screening)),
        *_remarks("Fillets drawn smaller than asked", rows.squeeze_lines(screening)),
        Text(),
        render_caution(),
    ]
    return Group(*parts)


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


def _test_table(screening: Screening) -> Table:
    table = _table(
        ("Test", "left"),
        ("Load", "right"),
        ("Cycles", "right"),
        ("Margin", "right"),
        ("Worst place", "left"),
    )
    for row in rows.test_rows(screening):
        margin = Text(row.margin, STYLES[row.verdict])
        name = Text(row.name, no_wrap=True)
        table.add_row(name, row.load, row.cycles, margin, Text(row.place))
    return table


def _spot_table(screening: Screening, most: int) -> Table:
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
    found = rows.spot_rows(screening)
    for row in found[:most]:
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
    if not all(row.life_median[0].isdigit() for row in found[:most]):
        remarks.append(numbers.LIFE_WORDS)
    if len(found) > most:
        remarks.append(f"{len(found) - most} more in the page and the JSON")
    table.caption = "\n".join(remarks) or None
    table.caption_justify = "left"
    return table


def _remarks(title: str, lines: list[str]) -> list[RenderableType]:
    """Heading and one indented paragraph a line; nothing when there are no lines."""
    if not lines:
        return []
    told = Table.grid(padding=(0, 1, 0, 0))
    for line in lines:
        told.add_row(Text("-"), Text(line))
    return [Text(), Text(title, "dim"), Padding(told, (0, 0, 0, 2))]


def _impact(screening: Screening) -> list[RenderableType]:
    """The impact indication under its own heading; nothing unless asked for."""
    found = screening.impact
    if found is None:
        return []
    places = [
        f"{row.strike}: {row.von_mises} MPa, {row.of_yield} of yield ({row.place})"
        for row in assumptions.impact_rows(found)
    ]
    lines = [found.warning, *assumptions.impact_lines(found), *places]
    return _remarks("13-degree impact, an indication", lines)


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
        (str(error.source), "bold"), f": {count} fault{plural} in the design file"
    )
    return Group(head, Padding(table, (0, 0, 0, 2)))
