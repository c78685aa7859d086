"""Read a design file and report all its faults together."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import ValidationError

from spokecheck.errors import DesignError, Fault
from spokecheck.toml_file import field_fault, parse_toml, read_text
from spokecheck.wheel.reading.limits import find_faults, sidecar_faults
from spokecheck.wheel.tables.design import Brief, Design
from spokecheck.wheel.tables.sidecar import Sidecar

B = TypeVar("B", bound=Brief)

NOTHING: Mapping[str, object] = MappingProxyType({})


def read_design(path: Path, overrides: Mapping[str, object] = NOTHING) -> Design:
    """Read a design file.

    Parameters
    ----------
    path : Path
        TOML file.
    overrides : mapping of str to object, optional
        Values given on the command line in place of the file's, by key, such as
        ``duty.patch_half_angle_deg``; they have to keep the same limits.

    Returns
    -------
    Design
        Without faults: it can be drawn.

    Raises
    ------
    DesignError
        With every fault found: unreadable file, unknown keys, values out of range,
        combinations that make no wheel.
    """
    source, raw = _tables(path)
    return _validated(raw, source, Design, find_faults, overrides)


def parse_design(text: str, source: str = "design") -> Design:
    """Design from the text of a file; ``source`` names it in messages."""
    raw = parse_toml(text, partial(DesignError, source))
    return _validated(raw, source, Design, find_faults)


def read_brief(
    path: Path, overrides: Mapping[str, object] = NOTHING
) -> Design | Sidecar:
    """Read a design file, or the sidecar file of a wheel from elsewhere.

    Parameters
    ----------
    path, overrides
        As for ``read_design``.

    Raises
    ------
    DesignError
        As for ``read_design``.

    Notes
    -----
    A table ``mesh``, or a value given in place of one of its keys, makes it a sidecar.
    """
    source, raw = _tables(path)
    if "mesh" in raw or any(key.startswith("mesh.") for key in overrides):
        return _validated(raw, source, Sidecar, sidecar_faults, overrides)
    return _validated(raw, source, Design, find_faults, overrides)


def _tables(path: Path) -> tuple[str, dict[str, Any]]:
    """Name of a file for messages, and its tables."""
    source = str(path)
    failure = partial(DesignError, source)
    return source, parse_toml(read_text(path, failure), failure)


def _validated(
    raw: dict[str, Any],
    source: str,
    kind: type[B],
    faults_of: Callable[[B], list[Fault]],
    overrides: Mapping[str, object] = NOTHING,
) -> B:
    """Record of a file, or all its faults together."""
    raw = _overridden(raw, overrides)
    try:
        brief = kind.model_validate(raw)
    except ValidationError as failure:
        faults = [
            field_fault(error, kind) for error in failure.errors(include_url=False)
        ]
        faults += faults_of(_readable_part(raw, kind))
        raise DesignError(source, faults) from failure
    faults = faults_of(brief)
    if faults:
        raise DesignError(source, faults)
    return brief.overridden(overrides)


def _overridden(raw: dict[str, Any], overrides: Mapping[str, object]) -> dict[str, Any]:
    """Tables of a file with the values of the command line.

    A value that should be a table is left to the record, which refuses it.
    """
    tables = dict(raw)
    for key, value in overrides.items():
        name, _, field = key.partition(".")
        table = tables.get(name, {})
        if isinstance(table, dict):
            tables[name] = {**table, field: value}
    return tables


def _readable_part(raw: dict[str, Any], whole: type[B]) -> B:
    """Record with those tables only whose own fields are in order."""
    tables = {}
    for name, field in whole.model_fields.items():
        kind: Any = field.annotation
        if not isinstance(raw.get(name), dict) or not hasattr(kind, "model_fields"):
            continue
        own_keys = {k: v for k, v in raw[name].items() if k in kind.model_fields}
        with suppress(ValidationError):
            tables[name] = kind.model_validate(own_keys)
    return whole.model_construct(_fields_set=set(tables), **tables)
