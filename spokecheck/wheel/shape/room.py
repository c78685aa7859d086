"""Which key gives a rounding room, and how much: found from the drawing by trying."""

from collections.abc import Iterable, Iterator

from pydantic import ValidationError

from spokecheck.errors import Fault
from spokecheck.plane.curves import ReducedRadius
from spokecheck.wheel.shape.profile import draw_profile
from spokecheck.wheel.tables.design import Design

STEPS = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0)
"""Changes [mm] of a key that are tried, either way."""

NAMED = 2
"""Most keys that are named."""

GAIN = 0.1
"""Least gain [mm] worth naming."""

_SPOKES = (
    "spokes.root_depth_mm",
    "spokes.tip_depth_mm",
    "spokes.root_face_mm",
    "spokes.tip_face_mm",
    "hub.thickness_mm",
)
_WELL = (
    "rim.well_depth_mm",
    "rim.well_width_mm",
    "rim.well_position_mm",
    "rim.seat_width_mm",
    "rim.leg_drop_mm",
)
KEYS = {
    "hub.fillet_mm": (*_SPOKES, "hub.pad_diameter_mm"),
    "spokes.rim_fillet_mm": (
        "spokes.tip_depth_mm",
        "spokes.tip_face_mm",
        "rim.seat_wall_mm",
        "rim.well_wall_mm",
        "rim.well_corner_wall_mm",
        "rim.well_position_mm",
    ),
    "spokes.undercut_radius_mm": ("spokes.undercut_mm", "spokes.undercut_width_mm"),
    "rim.well_radius_mm": _WELL,
    "rim.hump_radius_mm": ("rim.hump_position_mm", "rim.seat_width_mm"),
    "hub.cap_radius_mm": ("hub.cap_mm", "hub.cap_depth_mm"),
    "hub.relief_radius_mm": (
        "hub.relief_depth_mm",
        "hub.relief_inner_mm",
        "hub.relief_outer_mm",
        "hub.pad_diameter_mm",
    ),
}
"""Keys that may give room, by the key of the rounding."""


RAISED = ("hub.cap_mm", "hub.cap_depth_mm", "hub.pad_diameter_mm")
"""Keys that give room only where they are raised."""


def what_gives_room(design: Design, fillet: ReducedRadius) -> str:
    """Which keys give a rounding room, and how much.

    Parameters
    ----------
    design : Design
        As drawn.
    fillet : ReducedRadius
        Rounding of its section that is drawn smaller than asked for.

    Returns
    -------
    str
        Such as "spokes.root_depth_mm 39 gives 11.8 mm"; empty if none of ``KEYS`` does.
    """
    found = []
    for key in KEYS.get(fillet.key, ()):
        for sign in (1.0,) if key in RAISED else (-1.0, 1.0):
            found += list(_best(design, fillet, key, sign))
    full = [f for f in found if f[2] > fillet.asked - 1e-6]
    ordered = sorted(full or found, key=lambda f: (-f[2], f[0]))[:NAMED]
    return ", ".join(
        f"{key} {value:.4g} gives {drawn:.3g} mm" for _, (key, value), drawn in ordered
    )


def _best(
    design: Design, fillet: ReducedRadius, key: str, sign: float
) -> Iterator[tuple[float, tuple[str, float], float]]:
    """Change, key with its value, and radius: the least change that gives most."""
    best = None
    for step in STEPS:
        changed = _with(design, key, sign * step)
        if changed is None:
            break
        design_value, other = changed
        drawn = _drawn(other, fillet)
        if drawn is None:
            break
        if drawn < fillet.drawn + GAIN:
            continue
        if best is None or drawn > best[2] + GAIN:
            best = (step, (key, design_value), drawn)
        if drawn > fillet.asked - 1e-6:
            break
    if best is not None:
        yield best


def _with(design: Design, key: str, change: float) -> tuple[float, Design] | None:
    """New value and design with one key changed; None out of the key's range."""
    name, _, field = key.partition(".")
    table = getattr(design, name)
    old = getattr(table, field)
    if old is None:  # the usual value stands in a property
        old = getattr(table, field.removesuffix("_mm"), None)
    if not isinstance(old, float | int):
        return None
    value = round(float(old) + change, 3)
    try:
        changed = type(table).model_validate(table.model_dump() | {field: value})
    except ValidationError:
        return None
    return value, design.model_copy(update={name: changed})


def _drawn(design: Design, fillet: ReducedRadius) -> float | None:
    """Radius [mm] of a rounding in another design; None if that cannot be drawn."""
    try:
        reduced = draw_profile(design).reduced_radii
    except (ValueError, AssertionError):
        return None
    return min((s.drawn for s in reduced if _same(s, fillet)), default=fillet.asked)


def _same(one: ReducedRadius, other: ReducedRadius) -> bool:
    return (one.where, one.key) == (other.where, other.key)


SOFT = ("hub.cap_radius_mm",)
"""Roundings that carry little stress: however small, they are drawn."""


def room_faults(
    design: Design, reduced: Iterable[ReducedRadius], least: float = 0.5
) -> list[Fault]:
    """Faults of roundings drawn with less than ``least`` of the radius asked for.

    Parameters
    ----------
    design : Design
    reduced : iterable of ReducedRadius
        Roundings of its profile without room.
    least : float
        Share of the radius that has to be drawn.

    Returns
    -------
    list of Fault
    """
    return [
        Fault(
            s.key,
            f"{s.asked:g} mm",
            f"the {s.where} has room for {s.drawn:.1f} mm only",
            what_gives_room(design, s)
            or "make it smaller, or move the surfaces that meet there further apart",
        )
        for s in reduced
        if s.key and s.key not in SOFT and s.drawn < least * s.asked
    ]
