"""Read TOML input files: every fault in one error, in one wording.

Design and sidecar files, procedure files and alloy files all come through here.
"""

import difflib
import os
import re
import stat
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

from spokecheck.errors import Fault, InputFileError
from spokecheck.plain_text import bad_characters, described
from spokecheck.toml_content import content_faults

LARGEST_FILE = 1_000_000
"""An input file has a few kilobytes; anything near this [bytes] is something else."""

MOST_PARTS = 40
LONG_KEY = re.compile(
    rf"""(?<![\w"'.-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){{{MOST_PARTS},}}"""
)
"""A key of so many parts: the parser's time goes with their square."""

LONGEST_VALUE = 40
"""Characters of a value that a message repeats."""

UNITS = {
    "_mm": "mm",
    "_deg": "deg",
    "_kg": "kg",
    "_kpa": "kPa",
    "_um": "um",
    "_nm": "N m",
    "_kmh": "km/h",
    "_c": "C",
}
"""Unit of a key by the suffix of its name."""

Failure = Callable[[list[Fault]], InputFileError]
"""Makes the error of one file from its faults."""


def read_text(path: Path, failure: Failure) -> str:
    """Text of a file.

    Raises
    ------
    InputFileError
        If the file cannot be read, is too large, or is not UTF-8.
    """
    misnamed = next(bad_characters(path.name, ""), None)
    if misnamed is not None:
        limit = f"holds {described(misnamed)}, which is no text"
        raise failure([Fault("file name", path.name, limit, "rename the file")])
    try:
        content = _content(path, failure)
        return content.decode("utf-8").replace("\r\n", "\n")
    except OSError as error:
        reason = error.strerror or str(error)
        raise failure([Fault("file", "", reason, "check the path")]) from error
    except UnicodeDecodeError as error:
        fault = Fault("file", "", "is not UTF-8 text", "save it as UTF-8")
        raise failure([fault]) from error
    except ValueError as error:  # a name that no file can have
        raise failure([Fault("file", "", str(error), "check the path")]) from error


def _content(path: Path, failure: Failure) -> bytes:
    """Bytes of a regular file; a pipe or a device is never waited for."""
    with open(path, "rb", opener=_open_at_once) as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            limit = "is a pipe or a device, no file"
            raise failure([Fault("file", "", limit, "write it to a file first")])
        content = file.read(LARGEST_FILE + 1)
        if len(content) > LARGEST_FILE:
            limit = f"more than {LARGEST_FILE} bytes"
            size = f"{max(os.fstat(file.fileno()).st_size, len(content))} bytes"
            raise failure(
                [Fault("file", size, limit, "check that it is the right one")]
            )
    return content


def _open_at_once(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def parse_toml(text: str, failure: Failure) -> dict[str, Any]:
    """Tables of a TOML text.

    Raises
    ------
    InputFileError
        If the text is not TOML, or holds what no input file needs: see
        ``content_faults``.
    """
    if LONG_KEY.search(text):
        limit = f"a key of more than {MOST_PARTS} parts"
        raise failure([Fault("TOML", "", limit, "nest fewer tables")])
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        fault = Fault("TOML", "", str(error), "correct the syntax there")
        raise failure([fault]) from error
    except RecursionError as error:
        fault = Fault("TOML", "", "nested too deep", "take brackets or tables out")
        raise failure([fault]) from error
    except ValueError as error:  # a number of thousands of digits, a date of no day
        fault = Fault("TOML", "", f"a number out of range: {error}", "correct it")
        raise failure([fault]) from error
    faults = content_faults(tables)
    if faults:
        raise failure(faults)
    return tables


def missing_key(key: str) -> Fault:
    """Fault of a key that is not there."""
    return Fault(key, "missing", "this key is needed", f"add {key}")


def field_fault(error: Any, table: Any, prefix: tuple[str, ...] = ()) -> Fault:
    """Fault of one field that failed validation.

    Parameters
    ----------
    error : dict
        One of the errors that pydantic lists.
    table : type
        Model of the table that was validated.
    prefix : tuple of str
        Where that table stands in the file.
    """
    key = ".".join([*prefix, *(str(part) for part in error["loc"])])
    unit = _unit(key)
    value = f"{_shortened(error['input'])}{unit}"
    context = error.get("ctx", {})
    match error["type"]:
        case "missing":
            return missing_key(key)
        case "extra_forbidden":
            return Fault(key, value, "unknown key", _suggestion(error["loc"], table))
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
            return Fault(key, value, reason, "correct the text")
        case "literal_error":
            expected = context.get("expected", "")
            return Fault(key, value, f"must be {expected}", "choose one of these")
    return Fault(key, value, error["msg"].lower(), "correct the value")


def _unit(key: str) -> str:
    """Unit that the name of a key carries."""
    for suffix, unit in UNITS.items():
        if key.endswith(suffix):
            return f" {unit}"
    return ""


def _check_unit(unit: str) -> str:
    return f", and check that it is in{unit}" if unit else ""


def _shortened(value: object) -> str:
    text = value if isinstance(value, str) else repr(value)
    return text if len(text) <= LONGEST_VALUE else f"{text[: LONGEST_VALUE - 3]}..."


def _suggestion(location: tuple[int | str, ...], table: Any) -> str:
    """Nearest known key of the same table."""
    for part in location[:-1]:
        field = getattr(table, "model_fields", {}).get(str(part))
        table = _table_of(field.annotation) if field else None
    keys = getattr(table, "model_fields", {})
    near = difflib.get_close_matches(str(location[-1]), keys, 1, 0.6)
    return f"did you mean {near[0]}?" if near else "remove it"


def _table_of(kind: Any) -> Any:
    """Model of a table that need not be there, such as ``Plate | None``."""
    parts = [part for part in get_args(kind) if hasattr(part, "model_fields")]
    return parts[0] if parts else kind
