"""Keys of a design that are given but change nothing: a feature is not asked for."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from pydantic import BaseModel

from spokecheck.wheel.tables.design import Design


class Unused(NamedTuple):
    """When some keys change nothing.

    Attributes
    ----------
    keys : tuple of str
        Dotted.
    holds : callable
        Whether a design leaves them unused.
    why : str
        In words.
    """

    keys: tuple[str, ...]
    holds: Callable[[Design], bool]
    why: str


RULES = (
    Unused(
        ("spokes.window_corner_mm", "spokes.rim_corner_mm", "spokes.rim_gap_mm"),
        lambda d: d.spokes.pattern == "plate",
        "the windows of a plate have the shape of [spokes.plate]",
    ),
    Unused(
        ("spokes.root_width_mm", "spokes.tip_width_mm"),
        lambda d: d.spokes.course is not None and d.spokes.course.widths_mm is not None,
        "spokes.course.widths_mm is given",
    ),
    Unused(
        ("spokes.undercut_width_mm", "spokes.undercut_radius_mm"),
        lambda d: d.spokes.undercut_mm is None,
        "spokes.undercut_mm is not given",
    ),
    Unused(
        ("rim.hump_height_mm", "rim.hump_position_mm", "rim.hump_radius_mm"),
        lambda d: d.rim.humps == "none",
        'rim.humps is "none"',
    ),
    Unused(
        ("hub.cap_depth_mm", "hub.cap_radius_mm"),
        lambda d: d.hub.cap_mm is None,
        "hub.cap_mm is not given",
    ),
    Unused(
        ("hub.relief_depth_mm", "hub.relief_radius_mm"),
        lambda d: d.hub.relief_inner_mm is None and d.hub.relief_outer_mm is None,
        "neither hub.relief_inner_mm nor hub.relief_outer_mm is given",
    ),
    Unused(
        (
            "hub.pocket_mm",
            "hub.pocket_circle_mm",
            "hub.pocket_depth_mm",
            "hub.pocket_radius_mm",
            "hub.pocket_draft_deg",
        ),
        lambda d: d.hub.pocket_side == "none",
        'hub.pocket_side is "none"',
    ),
    Unused(
        ("bolts.ball_radius_mm",),
        lambda d: d.bolts.seat != "ball",
        'bolts.seat is not "ball"',
    ),
)


def unused_keys(design: Design) -> Mapping[str, str]:
    """Keys given with another value than the default's that change nothing, and why."""
    return {
        key: rule.why
        for rule in RULES
        if rule.holds(design)
        for key in rule.keys
        if _is_given(design, key)
    }


def _is_given(design: Design, key: str) -> bool:
    name, _, field = key.partition(".")
    table: BaseModel = getattr(design, name)
    default = type(table).model_fields[field].default
    return field in table.model_fields_set and getattr(table, field) != default
