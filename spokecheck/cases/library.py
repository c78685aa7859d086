"""Read test procedures: those of the package, and a user's with the same fields."""

import tomllib
from collections.abc import Mapping
from functools import cache, partial
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from spokecheck.cases.schema import Procedure
from spokecheck.errors import Fault, InputError, InputFileError
from spokecheck.toml_file import field_fault, parse_toml, read_text

EXTENDS = "extends"
WHAT = "procedure file"
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
        ``extends = "iso-3006"`` starts from that one: tables are completed key by key,
        all else is replaced.

    Returns
    -------
    mapping of str to Procedure

    Raises
    ------
    InputFileError
        With every fault of the file: unreadable, unknown keys, missing clause or
        basis, values out of range, an identifier that is taken.

    Examples
    --------
    >>> "un-r124" in read_procedures()
    True
    """
    if path is None:
        return dict(_own_book())  # a plain dict crosses processes
    failure = partial(InputFileError, str(path), what=WHAT)
    raw = parse_toml(read_text(path, failure), failure)
    faults = [fault for name, table in raw.items() for fault in _misnamed(name, table)]
    if faults:
        raise failure(faults)
    mine = {name: _extended(table) for name, table in raw.items()}
    return {**_own_book(), **_validated(mine, str(path))}


def _misnamed(name: str, table: Any) -> list[Fault]:
    """Faults of a user's identifier, and of the one it extends."""
    faults = []
    if name in _own_tables():
        limit = "is a procedure of the package"
        remedy = f'choose another identifier, and {EXTENDS} = "{name}" to start from it'
        faults.append(Fault(name, "", limit, remedy))
    base = table.get(EXTENDS) if isinstance(table, dict) else None
    if base is not None and not (isinstance(base, str) and base in _own_tables()):
        remedy = f"choose {', '.join(_own_tables())}"
        fault = Fault(f"{name}.{EXTENDS}", f"{base!r:.40}", "no such procedure", remedy)
        faults.append(fault)
    return faults


def _extended(table: Any) -> Any:
    """Table of a user's procedure, completed from the one it extends."""
    if not isinstance(table, dict) or EXTENDS not in table:
        return table
    base = table[EXTENDS]
    own = {key: value for key, value in table.items() if key != EXTENDS}
    return _merged(_own_tables()[base], own)


def _merged(below: Any, above: Any) -> Any:
    if not (isinstance(below, dict) and isinstance(above, dict)):
        return above
    if "value" in above:  # a row is replaced as a whole
        return above
    keys = [*below, *(key for key in above if key not in below)]
    return {
        key: _merged(below[key], above[key])
        if key in below and key in above
        else above.get(key, below.get(key))
        for key in keys
    }


def _validated(tables: Mapping[str, Any], source: str) -> dict[str, Procedure]:
    """Records of all tables, or all their faults in one error."""
    procedures, faults = {}, []
    for name, table in tables.items():
        try:
            procedures[name] = Procedure.model_validate(table)
        except ValidationError as error:
            faults += [
                field_fault(each, Procedure, (name,))
                for each in error.errors(include_url=False)
            ]
    if faults:
        raise InputFileError(source, faults, WHAT)
    return procedures


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
