"""The findings as JSON: the same bytes for the same input.

The record is the document: its fields are the keys.  Here it only gets a head, sorted
keys and rounded numbers, so that neither the order of a sum nor the clock shows.
Wall times, dates and paths are left out for the same reason.
A life outside the S-N line is ``null``; its ``..._range`` says ``beyond`` (past
the last cycle) or ``below`` (before the first).
Keys carry their units; ``value`` goes with the ``unit`` beside it.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from spokecheck.report import caution
from spokecheck.report.findings.tool import PACKAGE, tool_version
from spokecheck.report.whole_files import write_text
from spokecheck.screen.findings import Findings
from spokecheck.screen.json_numbers import LIFE_WORDS

Json = dict[str, Any]

UNITS = {
    "base": "mm, N, MPa; keys that differ end in their unit",
    "value": "in the unit that stands beside it",
    "null": f"a life outside the S-N line; {LIFE_WORDS}",
}


def findings_to_dict(findings: Findings) -> Json:
    """Everything a screening found, as plain values with rounded numbers.

    Parameters
    ----------
    findings : Findings
        What was found.

    Returns
    -------
    dict
        Nothing but str, int, float, bool, None, list and dict.
    """
    return {
        "kind": "screening",
        "tool": {"name": PACKAGE, "version": tool_version()},
        "caution": caution.FULL,
        "units": UNITS,
        **_adapter().dump_python(findings, mode="json"),
    }


def to_text(document: Json) -> str:
    """Text of a JSON document: sorted keys, two spaces, a newline at the end."""
    text = json.dumps(
        document, sort_keys=True, indent=2, ensure_ascii=False, allow_nan=False
    )
    return text + "\n"


def write_json(findings: Findings, path: Path) -> Path:
    """Write the JSON of a screening, whole or not at all."""
    return write_text(path, to_text(findings_to_dict(findings)))


def exact_text(findings: Findings) -> str:
    """Findings as JSON with every number as it is, to be read back.

    Margins are rounded down where they are printed, which the rounded document would
    not always allow.
    """
    return json.dumps(_adapter().dump_python(findings), ensure_ascii=False)


def read_exact(text: str | bytes) -> Findings:
    """Findings from such a text.

    Raises
    ------
    ValueError
        If the text is no JSON, or a value is missing or of another type.
    """
    return _adapter().validate_json(text, strict=True)


@cache
def _adapter() -> TypeAdapter[Findings]:
    return TypeAdapter(Findings)
