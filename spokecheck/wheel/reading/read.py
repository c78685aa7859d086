"""Read a design file and report all its faults together."""

import difflib
import tomllib
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import ValidationError

from spokecheck.errors import DesignError, Fault
from spokecheck.wheel.reading.limits import find_faults, sidecar_faults
from spokecheck.wheel.tables.design import Brief, Design
from spokecheck.wheel.tables.sidecar import Sidecar

B = TypeVar("B", bound=Brief)

NOTHING: Mapping[str, object] = MappingProxyType({})

LARGEST_FILE = 1_000_000
"""A design file has a few kilobytes; anything near this [bytes] is something else."""


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
    source = str(path)
    raw = _raw(_read_text(path, source), source)
    return _parsed(raw, source, Design, find_faults, overrides)


def parse_design(text: str, source: str = "design") -> Design:
    """Design from the text of a file; ``source`` names it in messages."""
    return _parsed(_raw(text, source), source, Design, find_faults)


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
    source = str(path)
    raw = _raw(_read_text(path, source), source)
    if "mesh" in raw or any(key.startswith("mesh.") for key in overrides):
        return _parsed(raw, source, Sidecar, sidecar_faults, overrides)
    return _parsed(raw, source, Design, find_faults, overrides)


def _raw(text: str, source: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as failure:
        raise DesignError(
            source, [Fault("TOML", "", str(failure), "mend the syntax there")]
        ) from failure


def _parsed(
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
        faults = [_fault(error, kind) for error in failure.errors(include_url=False)]
        faults += faults_of(_readable_part(raw, kind))
        raise DesignError(source, faults) from failure
    faults = faults_of(brief)
    if faults:
        raise DesignError(source, faults)
    return brief.overridden(overrides)


def _overridden(raw: dict[str, Any], overrides: Mapping[str, object]) -> dict[str, Any]:
    """Tables of a file with values of the command line in them.

    A table that is none is left to the record, which refuses it.
    """
    tables = dict(raw)
    for key, value in overrides.items():
        name, _, field = key.partition(".")
        table = tables.get(name, {})
        if isinstance(table, dict):
            tables[name] = {**table, field: value}
    return tables


def _read_text(path: Path, source: str) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE:
            size = f"{path.stat().st_size} bytes"
            limit = f"more than {LARGEST_FILE} bytes"
            raise DesignError(source, [Fault("file", size, limit, "is it a design?")])
        return path.read_text(encoding="utf-8")
    except OSError as failure:
        reason = failure.strerror or str(failure)
        raise DesignError(
            source, [Fault("file", "", reason, "check the path")]
        ) from failure
    except UnicodeDecodeError as failure:
        raise DesignError(
            source, [Fault("file", "", "is not UTF-8 text", "save it as UTF-8")]
        ) from failure


def _readable_part(raw: dict[str, Any], whole: type[B]) -> B:
    """Record with those tables only whose own fields are in order."""
    tables = {}
    for name, field in whole.model_fields.items():
        kind: Any = field.annotation
        if not isinstance(raw.get(name), dict) or not hasattr(kind, "model_fields"):
            continue
        known = {k: v for k, v in raw[name].items() if k in kind.model_fields}
        with suppress(ValidationError):
            tables[name] = kind.model_validate(known)
    return whole.model_construct(_fields_set=set(tables), **tables)


def _fault(error: Any, whole: type[Brief]) -> Fault:
    """Fault of a single field, in this project's words."""
    key = ".".join(str(part) for part in error["loc"])
    unit = _unit(key)
    value = "" if error["type"] == "missing" else f"{_shown(error['input'])}{unit}"
    context = error.get("ctx", {})
    match error["type"]:
        case "missing":
            return Fault(key, "missing", "this key is needed", f"add {key}")
        case "extra_forbidden":
            known = "unknown key"
            return Fault(key, value, known, _suggestion(error["loc"], whole))
        case "greater_than_equal" | "greater_than":
            bound = context.get("ge", context.get("gt"))
            remedy = f"raise it{_check_unit(unit)}"
            return Fault(key, value, f"must be at least {bound:g}{unit}", remedy)
        case "less_than_equal" | "less_than":
            bound = context.get("le", context.get("lt"))
            remedy = f"lower it{_check_unit(unit)}"
            return Fault(key, value, f"must be at most {bound:g}{unit}", remedy)
        case "value_error":
            reason = str(context.get("error", error["msg"]))
            return Fault(key, value, reason, "mend the text")
        case "literal_error":
            expected = context.get("expected", "")
            return Fault(key, value, f"must be {expected}", "choose one of these")
    return Fault(key, value, error["msg"].lower(), "mend the value")


def _unit(key: str) -> str:
    """Unit that the name of a key carries."""
    for suffix, unit in _UNITS.items():
        if key.endswith(suffix):
            return f" {unit}"
    return ""


_UNITS = {
    "_mm": "mm",
    "_deg": "deg",
    "_kg": "kg",
    "_kpa": "kPa",
    "_um": "um",
    "_nm": "N m",
    "_kmh": "km/h",
    "_c": "C",
}


def _check_unit(unit: str) -> str:
    return f", and check that it is in{unit}" if unit else ""


def _shown(value: object) -> str:
    text = value if isinstance(value, str) else repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def _suggestion(location: tuple[int | str, ...], whole: type[Brief]) -> str:
    """Nearest known key of the same table."""
    table: Any = whole
    for part in location[:-1]:
        field = table.model_fields.get(str(part))
        if field is None:
            return "remove it"
        table = field.annotation
    near = difflib.get_close_matches(str(location[-1]), table.model_fields, 1, 0.6)
    return f"did you mean {near[0]}?" if near else "remove it"
