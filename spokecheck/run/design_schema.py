"""The JSON Schema of a design file, as editors read it.

It adds to the record's own schema what the record does not know: alloys and procedures
by name, and an example.
"""

from collections.abc import Sequence
from typing import Any

from spokecheck.cases.library import read_procedures
from spokecheck.fatigue.alloys import read_alloys
from spokecheck.wheel.starter import Words, starter_tables
from spokecheck.wheel.tables.design import FORMAT, Design

DIALECT = "https://json-schema.org/draft/2020-12/schema"
"""Dialect of JSON Schema that the records are described in."""

ID = f"urn:spokecheck:design:{FORMAT}"
"""Name of the schema; no address to fetch it from."""

EXAMPLES: dict[str, dict[str, list[Any]]] = {
    "Rim": {"size": ["8J x 18"], "inset_mm": [42.0]},
    "Duty": {"tyre": ["225/45R18"], "rating_kg": [620.0]},
    "Bolts": {"pitch_circle_mm": [100.0, 108.0, 112.0, 114.3, 120.0, 139.7]},
}
"""Examples of keys that have no default, by record."""


def design_schema() -> dict[str, Any]:
    """JSON Schema of a design file, with enumerations and examples.

    Returns
    -------
    dict
        Alloys are listed; procedures too, but a user's own name is valid beside them.
    """
    schema = Design.model_json_schema()
    records = schema["$defs"]
    for record, keys in EXAMPLES.items():
        for key, examples in keys.items():
            records[record]["properties"][key]["examples"] = examples
    alloys = sorted(read_alloys())
    material = records["MaterialTable"]["properties"]
    material["alloy"]["enum"] = alloys
    _text_option(material["rim_alloy"])["enum"] = alloys
    procedures = records["Duty"]["properties"]["procedures"]
    procedures["items"] = _known_or_own(sorted(read_procedures()))
    example = starter_tables(Words("8J x 18", "5x112", 620.0))
    return {"$schema": DIALECT, "$id": ID, **schema, "examples": [example]}


def _text_option(key: dict[str, Any]) -> dict[str, Any]:
    """The option of a key that is text."""
    return next(one for one in key["anyOf"] if one["type"] == "string")


def _known_or_own(names: Sequence[str]) -> dict[str, Any]:
    """Any text, with the known names for editors to offer."""
    return {"anyOf": [{"enum": list(names)}, {"type": "string"}]}
