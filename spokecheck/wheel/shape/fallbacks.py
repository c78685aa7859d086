"""Fallback geometry: other drawings of a wheel, tried in order where meshing fails.

The CAD kernel and the mesher fail by chance: where two curves meet at a few hundredths
of a millimetre, where a cut grazes an edge.
A slightly different drawing avoids that; whatever it changes is reported.
"""

from dataclasses import dataclass
from typing import TypeVar

from pydantic import BaseModel

from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.spokes_table import Spokes


@dataclass(frozen=True)
class Fallback:
    """Departure of a drawing from the design.

    Attributes
    ----------
    finer : float
        Factor on the fineness.
    cut : int
        Which of the clearest sector cuts is taken, 0 the first; of no effect on a
        wheel that is meshed as a whole.
    slim : float
        How far [mm] the sides of windows, back pockets and valve hole move inward all
        round, at the same corner radii, so that metal is only added.
    corner : float
        By how much [mm] the windows' corner radius is larger.
    pad : float
        How far [mm] the edge of the hub's pad, front and back, moves outward.
    """

    finer: float = 1.0
    cut: int = 0
    slim: float = 0.0
    corner: float = 0.0
    pad: float = 0.0


AS_DRAWN = Fallback()

FAITHFUL = (AS_DRAWN, Fallback(finer=1.15), Fallback(cut=1))
"""Drawings of exactly the design's shape."""

FALLBACKS = (
    *FAITHFUL,
    Fallback(slim=0.1),
    Fallback(pad=0.5),
    Fallback(slim=0.2, cut=1),
    Fallback(slim=0.35, finer=1.15),
    Fallback(slim=0.2, pad=1.0, finer=1.3),
    Fallback(slim=0.35, corner=0.5, pad=0.5, cut=2),
    Fallback(slim=0.27, corner=0.3, pad=1.0, finer=1.2, cut=1),
)
"""Drawings in the order they are tried, the least change first."""


def drawing_number(fallback: Fallback) -> int:
    """Place of a drawing among ``FALLBACKS``; 0 for all that keep the shape."""
    return 0 if fallback in FAITHFUL else FALLBACKS.index(fallback)


def changes(design: Design, fallback: Fallback) -> dict[str, float]:
    """Design keys that a fallback changes, and by how much [mm].

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    fallback : Fallback
        How its drawing departs from it.

    Returns
    -------
    dict of str to float
        Empty for a fallback that leaves the shape alone.
    """
    by_key = {
        f"spokes.{k}": s * fallback.slim for k, s in _shares(design.spokes).items()
    }
    if design.rim.valve == "modelled":
        by_key["rim.valve_mm"] = -2.0 * fallback.slim
    if design.spokes.plate is None:
        by_key["spokes.window_corner_mm"] = fallback.corner
    by_key["hub.pad_diameter_mm"] = 2.0 * fallback.pad
    return {key: change for key, change in by_key.items() if change}


def _shares(spokes: Spokes) -> dict[str, float]:
    """By how much keys change for each mm that windows and back pockets shrink."""
    if spokes.plate is not None:
        shares = {"plate.width_mm": -2.0}
        if spokes.plate.length_mm is not None:
            shares["plate.length_mm"] = -2.0
    else:
        shares = {"root_radius_mm": 1.0, "rim_gap_mm": 1.0}
        shares |= dict.fromkeys(_width_keys(spokes), 2.0)
    if spokes.pocket is not None:
        shares |= {"pocket.wall_mm": 2.0, "pocket.floor_mm": 1.0}
    return shares


def _width_keys(spokes: Spokes) -> tuple[str, ...]:
    """Keys of the widths that hold for a pattern of bars."""
    if spokes.course is not None and spokes.course.widths_mm is not None:
        return ("course.widths_mm",)
    return ("root_width_mm", "tip_width_mm")


def varied(design: Design, fallback: Fallback) -> Design:
    """Design with the changes of a fallback; the same design where it has none.

    It is not checked again: drawing it raises where something has no room any more.
    """
    for key, change in changes(design, fallback).items():
        design = _changed(design, key, change)
    return design


T = TypeVar("T", bound=BaseModel)


def _changed(table: T, key: str, change: float) -> T:
    """Table with the value, or all values, of a dotted key raised by ``change``."""
    head, _, rest = key.partition(".")
    old = getattr(table, head)
    if rest:
        new: object = _changed(old, rest, change)
    elif isinstance(old, tuple):
        new = tuple(value + change for value in old)
    else:
        new = old + change
    return table.model_copy(update={head: new})
