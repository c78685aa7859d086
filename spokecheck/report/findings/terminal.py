"""What the terminal shows, as rich renderables; printing is left to the caller.

Nothing depends on colour: each verdict is a word.
"""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.constrain import Constrain
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from spokecheck.errors import DesignError
from spokecheck.report import caution
from spokecheck.report.findings import numbers, sentences
from spokecheck.report.findings.comparison import Comparison
from spokecheck.screen.findings import Findings, HotSpot
from spokecheck.screen.json_numbers import LIFE_WORDS
from spokecheck.screen.verdict import Verdict, judge

MOST = 10
"""Hot spots in the table; the page and the JSON have them all."""

CHECKED = 3
"""Hot spots whose support and other criteria are listed; the page lists all."""

RULE_WIDTH = 80
"""Length of the rule over a screening, however wide the terminal."""

STYLES = {
    Verdict.CLEARS: "bold green",
    Verdict.BORDERLINE: "bold yellow",
    Verdict.NOT_SETTLED: "bold yellow",
    Verdict.DOES_NOT_CLEAR: "bold red",
}


def render_screening(findings: Findings, most: int = MOST) -> RenderableType:
    """One screening.

    Parameters
    ----------
    findings : Findings
        What was found.
    most : int
        Hot spots in the table.

    Returns
    -------
    rich renderable
    """
    mass = numbers.mass(findings.wheel.mass_kg)
    parts: list[RenderableType] = [
        Constrain(Rule(style="dim"), RULE_WIDTH),
        Text.assemble((findings.name, "bold"), f"  {mass}"),
        Text(sentences.headline(findings), STYLES[findings.verdict.word]),
        Text(f"weakest place: {sentences.worst_sentence(findings)}"),
        Text(),
        _test_table(findings),
        Text(),
        _spot_table(findings, most),
    ]
    for title, lines in _all_remarks(findings).items():
        parts += _remarks(title, lines)
    return Group(*parts, Text(), render_caution())


def _all_remarks(findings: Findings) -> dict[str, list[str]]:
    """Lines under each heading, in the order they are printed."""
    return {
        "What the worst margins owe to the load model": sentences.sensitivity_lines(
            findings
        ),
        "Notch support": sentences.support_lines(findings, CHECKED),
        "Margins by other criteria": sentences.other_criteria_lines(findings, CHECKED),
        "13-degree impact, an indication": _impact_lines(findings),
        "Outside its range": sentences.warning_lines(findings),
        "From memory and unsure": sentences.unsure_lines(findings),
        "Not drawn as asked for": sentences.departure_lines(findings),
        "Drawn, or left out": list(findings.wheel.drawing_remarks),
        "A wheel from elsewhere": sentences.origin_lines(findings),
        "Mesh": [sentences.way_line(findings), sentences.convergence_line(findings)],
        "Left out by rule": sentences.highest_exclusion_lines(findings),
    }


def _impact_lines(findings: Findings) -> list[str]:
    """Warning, forces and places of the impact indication, if there is one."""
    impact = findings.impact_indication
    if impact is None:
        return []
    places = [
        f"{strike.where}: {numbers.stress(place.von_mises_mpa)} MPa, "
        f"{numbers.utilisation(place.of_yield)} of yield ({place.place})"
        for strike in impact.strikes
        for place in strike.places
    ]
    return [impact.warning, *sentences.impact_lines(impact), *places]


def plain_table(*columns: tuple[str, str], gap: int = 2) -> Table:
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


def _test_table(findings: Findings) -> Table:
    table = plain_table(
        ("Test", "left"),
        ("Load", "right"),
        ("Cycles", "right"),
        ("Margin", "right"),
        ("Worst place", "left"),
    )
    for test in findings.tests:
        table.add_row(
            Text(test.name, no_wrap=True),
            numbers.load(test),
            numbers.cycles(test.cycles),
            Text(numbers.margin(test.margin), STYLES[test.verdict]),
            Text(test.place),
        )
    return table


def _spot_table(findings: Findings, most: int) -> Table:
    table = plain_table(
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
    shown = findings.hot_spots[:most]
    required = findings.verdict.clears_from_margin
    for spot in shown:
        table.add_row(
            str(spot.rank),
            Text(
                numbers.margin(spot.margin),
                STYLES[judge(spot.margin, spot.stress_error, required=required)],
            ),
            _place(spot),
            numbers.stress(spot.amplitude_mpa),
            numbers.stress(spot.mean_mpa),
            numbers.stress(spot.allowable_mpa),
            numbers.life(spot.life_median_cycles, spot.life_median_range),
            numbers.percent(spot.stress_error),
        )
    remarks = []
    if any(spot.life_median_cycles is None for spot in shown):
        remarks.append(LIFE_WORDS)
    more = len(findings.hot_spots) - len(shown)
    if more:
        remarks.append(f"{more} more in the page and the JSON")
    table.caption = "\n".join(remarks) or None
    table.caption_justify = "left"
    return table


def _place(spot: HotSpot) -> Text:
    """Place of a hot spot, with its test and copies below."""
    where = f"{spot.test}, {numbers.places(spot)}"
    return Text.assemble(spot.place, ("\n" + where, "dim"))


def _remarks(title: str, lines: Sequence[str]) -> list[RenderableType]:
    """Heading and one indented paragraph a line; nothing when there are no lines."""
    if not lines:
        return []
    grid = Table.grid(padding=(0, 1, 0, 0))
    for line in lines:
        grid.add_row(Text("-"), Text(line))
    return [Text(), Text(title, "dim"), Padding(grid, (0, 0, 0, 2), expand=False)]


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
    table = plain_table(
        ("#", "right"),
        ("Design", "left"),
        ("Margin", "right"),
        ("Mass", "right"),
        ("Verdict", "left"),
        ("Worst hot spot", "left"),
    )
    for rank, entry in enumerate(comparison.entries, 1):
        findings, worst = entry.findings, entry.findings.worst
        style = STYLES[findings.verdict.word]
        table.add_row(
            str(rank),
            Text(findings.name),
            Text(numbers.margin(worst.margin), style),
            numbers.mass(findings.wheel.mass_kg),
            Text(str(findings.verdict.word), style),
            _place(worst),
        )
    failed = [f"{gone.source}: {gone.message}" for gone in comparison.failures]
    otherwise = _remarks("Not drawn as asked for", comparison.departures)
    failed_ones = _remarks("Not screened", failed)
    return Group(table, *otherwise, *failed_ones, Text(), render_caution())


def render_faults(error: DesignError) -> RenderableType:
    """Faults of a design file, one a row."""
    table = plain_table(("Key", "left"), ("Fault", "left"), ("What to do", "left"))
    for fault in error.faults:
        what = f"{fault.value}: {fault.limit}" if fault.value else fault.limit
        table.add_row(Text(fault.key, "bold"), Text(what), Text(fault.remedy))
    count = len(error.faults)
    plural = "" if count == 1 else "s"
    head = Text.assemble(
        (str(error.source), "bold"), f": {count} fault{plural} in the {error.what}"
    )
    return Group(head, Padding(table, (0, 0, 0, 2), expand=False))
