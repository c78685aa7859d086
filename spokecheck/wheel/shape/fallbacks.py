"""Other drawings of the same wheel, tried in order where one cannot be meshed soundly.

The CAD kernel and the mesher fail by chance: where two curves meet at a few hundredths
of a millimetre, where a cut grazes an edge.
A drawing that is a little different, as good a wheel as the one asked for, does not
meet that chance; whatever it changes is told.
"""

from dataclasses import dataclass
from typing import TypeVar

from pydantic import BaseModel

from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.spokes_table import Spokes


@dataclass(frozen=True)
class Fallback:
    """How a drawing departs from the one asked for.

    Attributes
    ----------
    finer : float
        Factor on the fineness.
    cut : int
        Which of the clearest sector cuts is taken, 0 the first; tells nothing of a
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
"""Drawings of the very shape asked for."""

LADDER = (
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


def changes(design: Design, fallback: Fallback) -> dict[str, float]:
    """Design keys that a rung exceeds, and by how much [mm].

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    fallback : Fallback
        How its drawing departs from it.

    Returns
    -------
    dict of str to float
        Empty for a rung that leaves the shape alone.
    """
    told = {f"spokes.{k}": s * fallback.slim for k, s in _shares(design.spokes).items()}
    if design.rim.valve == "modelled":
        told["rim.valve_mm"] = -2.0 * fallback.slim
    if design.spokes.plate is None:
        told["spokes.window_corner_mm"] = fallback.corner
    told["hub.pad_diameter_mm"] = 2.0 * fallback.pad
    return {key: change for key, change in told.items() if change}


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
    """Design with the changes of a rung; the very same where it has none.

    It is not checked again: what has no room any more is told when it is drawn.
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
