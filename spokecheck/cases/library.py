"""Read test procedures: those of the package, and a user's own with the same fields."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from spokecheck.cases.schema import Procedure
from spokecheck.errors import InputError

EXTENDS = "extends"
Book = Mapping[str, Procedure]
"""Procedures by identifier."""


@cache
def _own_tables() -> dict[str, Any]:
    text = files("spokecheck.cases").joinpath("procedures.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def _own_book() -> Book:
    return MappingProxyType(_validated(_own_tables(), "procedures.toml"))


def read_procedures(path: Path | None = None) -> Book:
    """Procedures of the package, and of a user's file if one is given.

    Parameters
    ----------
    path : Path, optional
        TOML file, one table for each procedure.
        ``extends = "iso-3006"`` starts from a known one: tables are filled up key by
        key, all else is replaced.

    Returns
    -------
    mapping of str to Procedure

    Raises
    ------
    InputError
        With every fault of the file: unreadable, unknown keys, missing clause or
        basis, values out of range, an identifier that is taken.

    Examples
    --------
    >>> "un-r124" in read_procedures()
    True
    """
    if path is None:
        return dict(_own_book())  # a plain dict crosses processes
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as failure:
        reason = failure.strerror or failure
        raise InputError(
            f"procedure file {path}: {reason}; check the path"
        ) from failure
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as failure:
        raise InputError(
            f"procedure file {path}: is not TOML ({failure}); mend the syntax there"
        ) from failure
    taken = sorted(set(raw) & set(_own_tables()))
    if taken:
        raise InputError(
            f"procedure file {path}: {', '.join(taken)} is the package's own; choose "
            f'another identifier, and {EXTENDS} = "{taken[0]}" to start from it'
        )
    mine = {name: _extended(name, table, path) for name, table in raw.items()}
    return {**_own_book(), **_validated(mine, str(path))}


def _extended(name: str, table: Any, path: Path) -> Any:
    """Table of a user's procedure with that which it extends below it."""
    if not isinstance(table, dict) or EXTENDS not in table:
        return table
    base = table[EXTENDS]
    if base not in _own_tables():
        raise InputError(
            f"{name}.{EXTENDS} = {base!r}: no such procedure (file {path}); choose "
            f"{', '.join(_own_tables())}"
        )
    own = {key: value for key, value in table.items() if key != EXTENDS}
    return _merged(_own_tables()[base], own)


def _merged(below: Any, above: Any) -> Any:
    if not (isinstance(below, dict) and isinstance(above, dict)):
        return above
    if "value" in above:  # a row is told whole
        return above
    keys = [*below, *(key for key in above if key not in below)]
    return {
        key: _merged(below[key], above[key])
        if key in below and key in above
        else above.get(key, below.get(key))
        for key in keys
    }


def _validated(tables: Mapping[str, Any], source: str) -> dict[str, Procedure]:
    """Records of all tables; all faults in one message."""
    found, faults = {}, []
    for name, table in tables.items():
        try:
            found[name] = Procedure.model_validate(table)
        except ValidationError as failure:
            faults += [_fault(name, e) for e in failure.errors(include_url=False)]
    if faults:
        many = "s" if len(faults) > 1 else ""
        head = f"procedure file {source}: {len(faults)} fault{many}"
        raise InputError("\n".join([head, *(f"  - {fault}" for fault in faults)]))
    return found


def _fault(name: str, error: Any) -> str:
    key = ".".join([name, *(str(part) for part in error["loc"])])
    if error["type"] == "missing":
        return f"{key}: missing; add it"
    if error["type"] == "extra_forbidden":
        return f"{key}: unknown key; remove it"
    shown = repr(error["input"])
    shown = shown if len(shown) <= 40 else f"{shown[:37]}..."
    return f"{key} = {shown}: {error['msg'].lower()}; mend it"


def chosen(names: tuple[str, ...], book: Book) -> dict[str, Procedure]:
    """Procedures by name, each once.

    Raises
    ------
    InputError
        If one is unknown.
    """
    for name in names:
        if name not in book:
            raise InputError(f"procedure {name}: unknown; choose {', '.join(book)}")
    return {name: book[name] for name in dict.fromkeys(names)}
