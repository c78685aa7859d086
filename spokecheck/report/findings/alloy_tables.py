"""Alloys as the tables hold them, every number with its basis and source."""

from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from spokecheck.fatigue.alloys import Alloy
from spokecheck.report import caution
from spokecheck.report.findings import numbers


def render_alloys(alloys: Iterable[Alloy]) -> RenderableType:
    """One line for each alloy."""
    table = Table(box=None, pad_edge=False, header_style="dim")
    for title in ("Alloy", "Name", "Rm MPa", "Rp0.2 MPa", "S-N line", "Scatter"):
        table.add_column(title, overflow="fold")
    for alloy in alloys:
        table.add_row(
            Text(alloy.id, no_wrap=True),
            alloy.name,
            f"{alloy.rm:g}",
            f"{alloy.rp02:g}",
            alloy.sn.formula,
            f"{alloy.sn.log_life_std:g}",
        )
    more = Text("'spokecheck alloys NAME' shows basis and source of every number.")
    return Group(table, Text(), more, Text(caution.SHORT, "italic"))


def render_alloy(alloy: Alloy) -> RenderableType:
    """All facts of one alloy."""
    table = Table(box=None, pad_edge=False, header_style="dim")
    for title in ("Fact", "Value", "Unit", "Basis", "Source"):
        table.add_column(title, overflow="fold")
    for fact in alloy.facts.values():
        table.add_row(
            Text(fact.key, no_wrap=True),
            numbers.plain(fact.value),
            fact.unit,
            fact.basis,
            fact.source,
        )
    head = Text(f"{alloy.id}: {alloy.name}", "bold")
    note = Text(f"S-N line: {alloy.sn.formula}. {alloy.note}")
    return Group(head, note, Text(), table, Text(), Text(caution.SHORT, "italic"))
