"""What no input file needs, whatever its kind: found before any table is looked at.

Nested tables of thousands of levels, numbers of thousands of digits, values by the ten
thousand, and characters that are no text.
"""

import math
from collections.abc import Iterator
from typing import Any

from spokecheck.errors import Fault
from spokecheck.plain_text import LAYOUT, bad_characters, described, escaped

DEEPEST = 12
"""Levels of tables and lists; the package's own files have five."""

MOST_VALUES = 20_000
"""Values, keys included; the package's own files have a few thousand."""

LARGEST_INTEGER = 2**63
"""TOML 1.0.0, "Integer": 64-bit signed integers have to be accepted, more need not."""

MOST_FAULTS = 20
"""Faults that are listed; a file with more is something else."""

SHOWN = 60
"""Characters of a key that a message repeats."""


def content_faults(tables: dict[str, Any]) -> list[Fault]:
    """Faults of the content of a TOML file.

    Parameters
    ----------
    tables : dict
        As the parser gives them.

    Returns
    -------
    list of Fault
        The first twenty.
    """
    faults = []
    for fault in _faults(tables):
        faults.append(fault)
        if len(faults) == MOST_FAULTS:
            break
    return faults


def _faults(tables: dict[str, Any]) -> Iterator[Fault]:
    """Walk without recursion, since the depth is what may be wrong."""
    waiting: list[tuple[str, int, Any]] = [("", 0, tables)]
    seen = 0
    while waiting:
        place, depth, value = waiting.pop()
        seen += 1
        if seen > MOST_VALUES:
            limit = f"more than {MOST_VALUES} values"
            yield Fault("file", "", limit, "check that it is the right one")
            return
        if depth > DEEPEST:
            limit = f"nested deeper than {DEEPEST} levels"
            yield Fault(_short(place), "", limit, "take brackets or tables out")
            return
        if isinstance(value, dict):
            for key, inner in value.items():
                at = f"{place}.{key}" if place else key
                yield from _bad_text(at, key, "")
                waiting.append((at, depth + 1, inner))
        elif isinstance(value, list):
            waiting += [(f"{place}.{k}", depth + 1, v) for k, v in enumerate(value)]
        else:
            yield from _value_faults(place, value)


def _value_faults(place: str, value: object) -> Iterator[Fault]:
    """Faults of one value."""
    if isinstance(value, str):
        yield from _bad_text(place, value, LAYOUT)
    elif isinstance(value, int) and not -LARGEST_INTEGER <= value < LARGEST_INTEGER:
        yield Fault(_short(place), "", "an integer beyond 64 bits", "correct the value")
    elif isinstance(value, float) and not math.isfinite(value):
        limit = "must be a finite number"
        yield Fault(_short(place), repr(value), limit, "correct the value")


def _bad_text(place: str, text: str, allowed: str) -> Iterator[Fault]:
    """Fault of a text with characters that are none."""
    found = next(bad_characters(text, allowed), None)
    if found is not None:
        limit = f"holds {described(found)}, which is no text"
        yield Fault(_short(place), "", limit, "take it out")


def _short(place: str) -> str:
    plain = escaped(place, "")
    return plain if len(plain) <= SHOWN else f"{plain[: SHOWN - 3]}..."
