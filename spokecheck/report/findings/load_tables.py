"""How the loads of the tests follow from a design: a sheet to be checked by hand.

And the procedures themselves, with clause and basis of every number.
"""

from collections.abc import Iterator, Mapping, Sequence

from pydantic import BaseModel
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from spokecheck.cases.impact import Drop
from spokecheck.cases.procedure import Requirement
from spokecheck.cases.schema import UNSURE, Procedure, Row, Word
from spokecheck.cases.sourced import Sourced
from spokecheck.cases.steady import TORQUE_FACTORS, clamp_force
from spokecheck.report import caution
from spokecheck.report.findings import numbers
from spokecheck.wheel.tables.design import Brief

DOUBT = "unsure: from memory, check against the document before relying on it"


def _sheet(*titles: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="dim")
    for title in titles:
        table.add_column(
            title, justify="right" if title == "Value" else "left", overflow="fold"
        )
    return table


def render_requirements(
    design: Brief,
    requirements: Sequence[Requirement],
    falls: Sequence[Drop] = (),
) -> RenderableType:
    """Derivation of every load and cycle number.

    Parameters
    ----------
    design : Brief
        The design.
    requirements : sequence of Requirement
        From ``cases.procedure``.
    falls : sequence of Drop
        Impact drops, from ``cases.impact``.

    Returns
    -------
    rich renderable
    """
    parts: list[RenderableType] = [Text(design.name, "bold")]
    for requirement in requirements:
        name = requirement.name.removeprefix(f"{requirement.procedure} ")
        head = f"{requirement.procedure}: {name}"
        parts += [Text(), Text(head, "bold"), _derivation(requirement.derivation)]
    parts += _bolts(design)
    for fall in falls:
        head = f"{fall.procedure}: 13-degree impact, an indication"
        parts += [Text(), Text(head, "bold"), _derivation(fall.derivation)]
    if any(requirement.doubts for requirement in requirements):
        parts += [Text(), Text(DOUBT, "yellow")]
    return Group(*parts, Text(), Text(caution.SHORT, "italic"))


def _derivation(lines: Sequence[Sourced]) -> Table:
    table = _sheet("", "Value", "Unit", "Clause, key or formula", "Basis")
    for line in lines:
        table.add_row(
            Text(line.symbol, no_wrap=True),
            numbers.plain(line.value),
            line.unit,
            Text(line.clause),
            _basis(line.basis),
        )
    return table


def _basis(basis: str) -> Text:
    return Text(basis, "yellow" if UNSURE in basis else "")


def _bolts(design: Brief) -> list[RenderableType]:
    """Clamp force of the bolts over the range of K; nothing without a torque."""
    duty = design.duty
    if duty.bolt_torque_nm is None or duty.bolt_thread_mm is None:
        return []
    table = _sheet("", "Value", "Unit", "Clause, key or formula", "Basis")
    table.add_row(
        "T", f"{duty.bolt_torque_nm:g}", "N m", "duty.bolt_torque_nm", "given"
    )
    table.add_row("D", f"{duty.bolt_thread_mm:g}", "mm", "duty.bolt_thread_mm", "given")
    seat = design.bolts.seat
    ends = TORQUE_FACTORS[seat]
    for factor in sorted({duty.bolt_torque_factor, *ends}):
        force = clamp_force(duty.bolt_torque_nm, duty.bolt_thread_mm, factor)
        table.add_row(
            "F_c",
            numbers.plain(force),
            "N",
            f"T / (K D), K = {factor:g}",
            f"K {ends[0]:g} to {ends[1]:g} for a {seat} seat, derived; no margin "
            "follows from it",
        )
    return [Text(), Text("bolts, each, both tests", "bold"), table]


def render_procedures(book: Mapping[str, Procedure]) -> RenderableType:
    """Table of the procedures there are."""
    table = _sheet("Identifier", "Procedure", "Covers", "Tests", "Unsure numbers")
    for name, procedure in book.items():
        rows = [row for _, row in _rows(procedure) if isinstance(row, Row)]
        doubts = sum(UNSURE in row.basis for row in rows)
        table.add_row(
            Text(name, no_wrap=True),
            Text(f"{procedure.title}: {procedure.scope}"),
            ", ".join(procedure.covers),
            ", ".join(_tests(procedure)) or "none",
            f"{doubts} of {len(rows)}",
        )
    return Group(table, Text(), Text(DOUBT, "yellow"))


def _tests(procedure: Procedure) -> Iterator[str]:
    for test in ("cornering", "radial"):
        part = getattr(procedure, test)
        if part is not None:
            yield test if part.level else f"{test} (no factor sourced)"
    if procedure.impact is not None:
        yield "impact (indication)"


def render_procedure(name: str, procedure: Procedure) -> RenderableType:
    """One procedure with clause and basis of every number."""
    table = _sheet("", "Value", "Unit", "For", "Clause", "Basis")
    for key, row in _rows(procedure):
        value, unit, group = row.value, "", ""
        if isinstance(row, Row):
            unit, group = row.unit, ", ".join((*row.categories, *row.materials))
        table.add_row(
            Text(key), numbers.plain(value), unit, group, row.clause,
            _basis(row.stated_basis),
        )  # fmt: skip
    head = Text.assemble((procedure.title, "bold"), f" ({name}): {procedure.scope}")
    covers = Text(f"covers {', '.join(procedure.covers)}")
    notes = [Text(f"- {note}") for note in procedure.notes]
    return Group(head, covers, Text(), table, Text(), *notes, Text(DOUBT, "yellow"))


def _rows(table: BaseModel, prefix: str = "") -> Iterator[tuple[str, Row | Word]]:
    """Every number and statement of a procedure, with its dotted key."""
    for key, value in table:
        name = f"{prefix}{key}"
        if isinstance(value, Row | Word):
            yield name, value
        elif isinstance(value, BaseModel):
            yield from _rows(value, f"{name}.")
        elif isinstance(value, tuple):
            for k, item in enumerate(value):
                if isinstance(item, Row | Word):
                    yield name, item
                elif isinstance(item, BaseModel):
                    label = getattr(item, "name", "") or str(k + 1)
                    yield from _rows(item, f"{prefix}{label}: ")
