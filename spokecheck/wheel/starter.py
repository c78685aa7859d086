"""A first design file from a few words of the trade: rim, bolts, load, spokes, alloy.

Numbers that the words do not give follow from them by proportions of wheels on the road
(common practice, chosen by the project); whether the wheel clears its screening shows.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import tomlkit
from pydantic import BaseModel, ValidationError

from spokecheck.errors import DesignError, Fault
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.rim_table import Rim
from spokecheck.wheel.tables.sizes import RimSize, parse_rim_size

Raw = dict[str, Any]

ABOVE = (
    "Starter design: what was not asked for has proportions of common practice.",
    "Keys behind a # stand for their default; take the # away to change one.",
    "A screening does not replace certified testing.",
)
"""Comment at the top of the file."""

_BOLTS = re.compile(r"^\s*(\d+)\s*[xX*/]\s*(\d+(?:[.,]\d+)?)\s*$")


@dataclass(frozen=True)
class Words:
    """What a starter design is asked for with.

    Attributes
    ----------
    rim : str
        Designation, such as ``8J x 18``.
    bolts : str
        Number and pitch circle, such as ``5x112``.
    rating_kg : float
        Maximum load of the wheel.
    spokes : int
        Number of spokes, or of windows of a plate.
    pattern : str
        Spoke pattern.
    alloy : str
        Alloy id.
    inset_mm, bore_mm : float or None
        Else by proportion.
    tyre : str or None
        Largest tyre; else one whose rim and load suit.
    name : str
        Of the design.
    """

    rim: str
    bolts: str
    rating_kg: float
    spokes: int = 5
    pattern: str = "straight"
    alloy: str = "a356-t6-low-pressure"
    inset_mm: float | None = None
    bore_mm: float | None = None
    tyre: str | None = None
    name: str = "Starter"


def starter_file(words: Words, source: str) -> str:
    """Text of a design file that can be drawn.

    Parameters
    ----------
    words : Words
    source : str
        Names the file in messages.

    Returns
    -------
    str
        TOML, each default as a comment with its description and range.

    Raises
    ------
    DesignError
        If the words give no wheel: each fault names the key, so that the file that can
        be made with other words is one edit away.
    """
    faults: list[Fault] = []
    for slimmer in SLIMMER:
        raw = _tables(words, source, slimmer)
        try:
            design = Design.model_validate(raw)
        except ValidationError as error:
            faults = [_field_fault(one) for one in error.errors()]
            break
        faults = find_faults(design)
        if not faults:
            return _written(raw)
    raise DesignError(source, faults, "words")


SLIMMER = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5)
"""Shares of the spokes' width tried until the wheel can be drawn."""


def _field_fault(error: Mapping[str, Any]) -> Fault:
    key = ".".join(map(str, error["loc"]))
    return Fault(key, str(error["input"]), str(error["msg"]), "ask for another")


def _tables(words: Words, source: str, slimmer: float) -> Raw:
    """All tables of the design, spokes slimmer by a share."""
    size, count, circle = _sizes(words, source)
    rim = _rim(words, size)
    return {
        "format": 1,
        "name": words.name,
        "note": "Starter: proportions of common practice, no real wheel.",
        "rim": rim,
        **_disc(words, size, rim, circle, slimmer),
        "bolts": {"count": count, "pitch_circle_mm": circle, "land_mm": 11.0},
        "duty": _duty(words, size),
        "material": {"alloy": words.alloy},
    }


def _sizes(words: Words, source: str) -> tuple[RimSize, int, float]:
    """Rim, number of bolts and their pitch circle [mm]."""
    try:
        size = parse_rim_size(words.rim)
    except ValueError as error:
        fault = Fault("--rim", words.rim, str(error), "such as '8J x 18'")
        raise DesignError(source, [fault], "words") from error
    match = _BOLTS.match(words.bolts)
    if match is None:
        fault = Fault("--bolts", words.bolts, "no bolt circle", "such as 5x112")
        raise DesignError(source, [fault], "words")
    return size, int(match[1]), float(match[2].replace(",", "."))


def _rim(words: Words, size: RimSize) -> Raw:
    inset = words.inset_mm
    if inset is None:
        inset = float(np.clip(0.21 * size.width, 20.0, 48.0))
    forged = "forged" in words.alloy
    return {
        "size": words.rim,
        "inset_mm": round(inset, 1),
        "seat_wall_mm": 6.5,
        "well_wall_mm": 8.0 if forged else 9.0,
        "well_radius_mm": 14.0,
        "leg_wall_mm": 5.0 if forged else 5.5,
    }


def _disc(words: Words, size: RimSize, rim: Raw, circle: float, slimmer: float) -> Raw:
    """Tables of hub and spokes, which fit each other."""
    pad = circle + 36.0
    bore = words.bore_mm or min(0.6 * circle, circle - 40.0)
    root = max(pad / 2.0 + 4.0, circle / 2.0 + 22.0)
    depth = Rim.model_validate(rim).well_depth + rim["well_wall_mm"]
    tip = size.diameter / 2.0 - depth
    tip_face = min(size.width / 2.0 - 24.0 - rim["inset_mm"], 55.0)
    root_face = max(tip_face + 2.0, 38.0)
    # the front of the hub runs on in the spokes' face
    slope = (tip_face - root_face) / (tip - root)
    front = root_face + slope * (pad / 2.0 - root)
    hub: Raw = {
        "bore_mm": round(bore, 1),
        "pad_diameter_mm": round(pad, 1),
        "thickness_mm": round(front, 1),
        "fillet_mm": 12.0,
    }
    spokes: Raw = {
        "pattern": words.pattern,
        "count": words.spokes,
        "root_depth_mm": round(min(36.0, root_face - 4.0), 1),
        "tip_depth_mm": 26.0,
        "root_face_mm": round(root_face, 1),
        "tip_face_mm": round(tip_face, 1),
        "root_radius_mm": round(root, 1),
        "window_corner_mm": 10.0,
        "rim_fillet_mm": 9.0,
    }
    lay = LAY.get(words.pattern, _straight)
    spokes |= lay(words.spokes, root, tip, slimmer)
    return {"hub": hub, "spokes": spokes}


def _duty(words: Words, size: RimSize) -> Raw:
    duty: Raw = {"rating_kg": words.rating_kg}
    if words.tyre:
        return duty | {"tyre": words.tyre}
    # outside diameter of common fittings on 14 to 22 inch: 1.42 rims, from memory
    free = float(np.clip(0.71 * size.diameter, 290.0, 380.0))
    radii = {"free_radius_mm": round(free), "dynamic_radius_mm": round(0.97 * free)}
    return duty | radii


def starter_tables(words: Words) -> Raw:
    """Tables of a starter design, as ``starter_file`` writes them first."""
    return _tables(words, "starter", SLIMMER[0])


def _widths(count: int, root: float, share: float, taper: float = 0.9) -> Raw:
    """Root and tip width [mm] of legs that take a share of the circle at the hub."""
    width = 2.0 * np.pi * root / count * share
    return {
        "root_width_mm": round(width, 1),
        "tip_width_mm": round(taper * width, 1),
    }


def _straight(count: int, root: float, tip: float, slimmer: float) -> Raw:
    return _widths(count, root, 0.6 * slimmer)


def _twin(count: int, root: float, tip: float, slimmer: float) -> Raw:
    widths = _widths(2 * count, root, 0.62 * slimmer)
    spread = 2.0 * np.pi * tip / count * 0.4
    return {
        **widths,
        "twin": {
            "root_spacing_mm": round(1.3 * widths["root_width_mm"], 1),
            "tip_spacing_mm": round(spread, 1),
        },
    }


def _forked(count: int, root: float, tip: float, slimmer: float) -> Raw:
    spread = 2.0 * np.pi * tip / count * 0.45
    return {
        **_widths(count, root, 0.58 * slimmer, 0.58),
        "fork": {
            "radius_mm": round(root + 0.35 * (tip - root), 1),
            "tip_spacing_mm": round(spread, 1),
        },
    }


def _swept(count: int, root: float, tip: float, slimmer: float) -> Raw:
    angle = min(360.0 / count * 0.3, 30.0)
    return {
        **_widths(count, root, 0.55 * slimmer),
        "sweep": {"angle_deg": round(angle, 1)},
    }


def _lattice(count: int, root: float, tip: float, slimmer: float) -> Raw:
    return {
        **_widths(count, root, 0.32 * slimmer),
        "window_corner_mm": 5.0,
        "lattice": {"lead_deg": round(360.0 / count * 0.9, 1)},
    }


def _plate(count: int, root: float, tip: float, slimmer: float) -> Raw:
    middle = (root + tip) / 2.0
    room = min(2.0 * np.pi * middle / count, tip - root)
    return {
        "root_depth_mm": 28.0,
        "tip_depth_mm": 24.0,
        "plate": {
            "circle_mm": round(2.0 * middle, 1),
            "width_mm": round(0.68 * room * slimmer, 1),
        },
    }


def _course(count: int, root: float, tip: float, slimmer: float) -> Raw:
    reach = tip - root
    points = [[root + s * reach, b * reach] for s, b in ((0, 0), (0.5, 0.06), (1, 0))]
    return {
        **_widths(count, root, 0.55 * slimmer),
        "course": {"points_mm": [[round(x, 1), round(y, 1)] for x, y in points]},
    }


LAY: dict[str, Callable[[int, float, float, float], Raw]] = {
    "straight": _straight,
    "twin": _twin,
    "forked": _forked,
    "swept": _swept,
    "lattice": _lattice,
    "plate": _plate,
    "course": _course,
}


def _written(raw: Raw) -> str:
    """TOML of the tables, and every key that is left out as a comment."""
    file = tomlkit.document()
    for line in ABOVE:
        file.add(tomlkit.comment(line))
    for key in ("format", "name", "note"):
        file.add(key, raw[key])
    for key, field in Design.model_fields.items():
        if isinstance(raw.get(key), dict):
            file.add(tomlkit.nl())
            file.add(key, _table(raw[key], field.annotation))
    return tomlkit.dumps(file)


def _table(given: Raw, record: Any) -> Any:
    """One table with its defaults as comments, tables within it last."""
    table = tomlkit.table()
    for key, value in given.items():
        if not isinstance(value, dict):
            table.add(key, value)
    properties = record.model_json_schema()["properties"]
    for key, field in record.model_fields.items():
        if key in given or _record_of(field.annotation) is not None:
            continue
        for line in _comments(key, properties[key], field.default):
            table.add(tomlkit.comment(line))
    for key, value in given.items():
        if isinstance(value, dict):
            inner = _record_of(record.model_fields[key].annotation)
            table.add(key, _table(value, inner))
    return table


def _record_of(annotation: Any) -> type[BaseModel] | None:
    """Record of a table's field; None for a plain value."""
    parts = (annotation, *getattr(annotation, "__args__", ()))
    found = (p for p in parts if isinstance(p, type) and issubclass(p, BaseModel))
    return next(found, None)


def _comments(key: str, schema: Mapping[str, Any], default: Any) -> Iterator[str]:
    """Lines on a key that is left out: its default, what it is, what it may be."""
    options = [one for one in (schema, *schema.get("anyOf", ())) if "type" in one]
    shape = next((one for one in options if one["type"] != "null"), schema)
    limits = [
        f"{word} {shape[name]:g}" for name, word in LIMITS.items() if name in shape
    ]
    choices = [" | ".join(map(str, shape["enum"]))] if "enum" in shape else []
    about = "; ".join([schema.get("description", ""), *choices, ", ".join(limits)])
    value = "..." if default is None else tomlkit.item(_plain(default)).as_string()
    yield f"{key} = {value}  # {about.strip('; ')}"


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


LIMITS = {
    "minimum": "at least",
    "maximum": "at most",
    "exclusiveMinimum": "above",
    "exclusiveMaximum": "below",
}
