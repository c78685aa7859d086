"""Form of an alloy file: which keys are tables, texts or numbers."""

from collections.abc import Iterator, Mapping
from typing import Any

from spokecheck.errors import Fault
from spokecheck.fatigue.facts import COLUMNS, TABLES

TEXTS = ("name", "process", "note", "group")
"""Texts directly below an alloy."""

KIND = {dict: "a table", str: "a text", bool: "true or false"}


def form_faults(tables: Mapping[str, Any]) -> list[Fault]:
    """Faults of the form of an alloy file.

    Parameters
    ----------
    tables : mapping
        The whole file.

    Returns
    -------
    list of Fault
        Keys that hold another kind of value than they should.
    """
    return list(_faults(tables))


def _faults(tables: Mapping[str, Any]) -> Iterator[Fault]:
    yield from _of_kind("sources", tables, "sources", dict)
    yield from _of_kind("alloy", tables, "alloy", dict)
    sources, alloys = tables.get("sources"), tables.get("alloy")
    if isinstance(sources, dict):
        for key in sources:
            yield from _of_kind(f"sources.{key}", sources, key, str)
    if isinstance(alloys, dict):
        for key, entry in alloys.items():
            yield from _of_kind(key, alloys, key, dict)
            if isinstance(entry, dict):
                yield from _alloy_faults(key, entry)


def _alloy_faults(place: str, entry: Mapping[str, Any]) -> Iterator[Fault]:
    """Faults of one alloy."""
    for name in TEXTS:
        yield from _of_kind(f"{place}.{name}", entry, name, str)
    yield from _number_faults(place, entry, TABLES)
    for name in TABLES:
        yield from _of_kind(f"{place}.{name}", entry, name, dict)
        table = entry.get(name)
        if isinstance(table, dict):
            inside = f"{place}.{name}"
            yield from _of_kind(f"{inside}.route", table, "route", str)
            credit = "credit_compression"
            yield from _of_kind(f"{inside}.{credit}", table, credit, bool)
            yield from _number_faults(inside, table)


def _number_faults(
    place: str, table: Mapping[str, Any], others: tuple[str, ...] = ()
) -> Iterator[Fault]:
    """Faults of the columns of each number of a table."""
    for name, cell in table.items():
        if not isinstance(cell, dict) or name in others:
            continue
        for column in COLUMNS[1:]:
            yield from _of_kind(f"{place}.{name}.{column}", cell, column, str)
        value = cell.get("value", 0.0)
        if isinstance(value, bool) or not isinstance(value, int | float):
            limit = "must be a number"
            key = f"{place}.{name}.value"
            yield Fault(key, f"{value!r:.40}", limit, "correct the value")


def _of_kind(
    place: str, table: Mapping[str, Any], key: str, kind: type
) -> Iterator[Fault]:
    """Fault of a key that is there, but of another kind."""
    if key in table and not isinstance(table[key], kind):
        shown = f"{table[key]!r:.40}"
        yield Fault(place, shown, f"must be {KIND[kind]}", "correct the value")
