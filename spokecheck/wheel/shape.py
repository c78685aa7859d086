"""The whole wheel as drawn: section, windows, cutters, and its symmetry."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd

import numpy as np

from spokecheck.wheel.bolts import draw_bolt_hole
from spokecheck.wheel.curves import Curve, outline_points
from spokecheck.wheel.design import Design
from spokecheck.wheel.drawing import Drawing, RoundCutter, Window
from spokecheck.wheel.patterns import repeats
from spokecheck.wheel.pockets import draw_pockets
from spokecheck.wheel.profile import Profile, draw_profile
from spokecheck.wheel.windows import draw_windows

CUT_CLEARANCE = 3.0
"""Least distance [mm] of a sector cut from a hole's wall, and from the end of a curve
of a window, unless it meets them squarely."""

GRAZING = 0.35
"""Least sine of the angle at which a cut may cross a window's side."""

FAN = 96
"""Directions tried for a cut where neither windows' nor spokes' middles will do."""


@dataclass(frozen=True)
class WheelShape:
    """Everything that is known of a wheel before it is meshed.

    Attributes
    ----------
    design : Design
        What it was drawn from.
    profile : Profile
        The section, with the rim it was drawn on.
    drawing : Drawing
        What the CAD kernel is told.
    bolt_hole : RoundCutter
        The cutter of the bolt holes, one of the drawing's.
    """

    design: Design
    profile: Profile
    drawing: Drawing
    bolt_hole: RoundCutter

    @property
    def windows(self) -> tuple[Window, ...]:
        """Kinds of window in one repeat of the pattern, each with all its copies."""
        return self.drawing.windows

    @property
    def count(self) -> int:
        """Number N of equal sectors."""
        return self.drawing.count

    @property
    def window_range(self) -> tuple[float, float]:
        """Radii [mm] between which the windows lie."""
        return (
            min(window.inner for window in self.windows),
            max(window.outer for window in self.windows),
        )


def draw_wheel(design: Design) -> WheelShape:
    """Draw the wheel of a design that has passed ``limits``."""
    profile = draw_profile(design)
    windows = draw_windows(design.spokes, profile.contour.well_inner_radius)
    top = float(outline_points(profile.curves)[:, 1].max())
    bolt_hole = draw_bolt_hole(design.bolts, design.attachment, top)
    cutters = (bolt_hole, *draw_pockets(design, top))
    count = gcd(repeats(design.spokes), design.bolts.count)
    low = _low_cut(repeats(design.spokes), windows, cutters) if count > 1 else 0.0
    drawing = Drawing(design.name, profile.curves, windows, cutters, count, low)
    return WheelShape(design, profile, drawing, bolt_hole)


def _low_cut(
    n: int, windows: Sequence[Window], cutters: Sequence[RoundCutter]
) -> float:
    """Angle of the low cut: the middle of a window, else of a spoke, else the clearest.

    A cut may run through a hole's axis or miss the hole, but never graze its wall, nor
    a window's side, nor a joint of two of its curves.
    """
    half = np.pi / n
    middles = [-half * (1 + 2 * k) for k in range(n)]
    middles += [-2.0 * half * k for k in range(n)]
    fan = [-2.0 * half * k / FAN for k in range(FAN * n)]
    rooms = [_room(angle, windows, cutters) for angle in middles]
    for angle, room in zip(middles, rooms, strict=True):
        if room >= CUT_CLEARANCE:
            return angle
    return max(middles + fan, key=lambda angle: _room(angle, windows, cutters))


def _room(
    angle: float, windows: Sequence[Window], cutters: Sequence[RoundCutter]
) -> float:
    """How far [mm] a cut stays clear of whatever it must not graze."""
    room = 2.0 * CUT_CLEARANCE
    for cutter in cutters:
        off = cutter.foot[0] * np.sin(np.array(cutter.angles) - angle)
        ahead = np.cos(np.array(cutter.angles) - angle) > 0.0
        walls = np.abs(off[ahead & (np.abs(off) > 1e-6)]) - cutter.reach
        room = min(room, float(walls.min(initial=room)))
    for window in windows:
        for turn in window.angles:
            room = min(room, _window_room(window.curves, angle - turn))
    return room


def _window_room(curves: Sequence[Curve], angle: float) -> float:
    """How far [mm] a ray from the axle stays clear of a window's joints and sides."""
    along = np.array([np.cos(angle), np.sin(angle)])
    across = np.array([-along[1], along[0]])
    fine = outline_points(curves, 32)
    side, ahead = fine @ across, fine @ along > 0.0
    step = np.roll(fine, -1, axis=0) - fine
    crossed = (side * np.roll(side, -1) <= 0.0) & ahead
    if not crossed.any():
        return float(np.abs(side[ahead]).min(initial=np.inf))
    sine = np.abs(step @ across) / np.maximum(np.linalg.norm(step, axis=1), 1e-12)
    if (sine[crossed] < GRAZING).any():
        return 0.0
    ends = np.array([curve.start for curve in curves])
    return float(np.abs(ends @ across)[ends @ along > 0.0].min())
