"""The whole wheel as drawn: section, windows, cutters, and its symmetry."""

from dataclasses import dataclass
from math import gcd

import numpy as np

from spokecheck.wheel.bolts import draw_bolt_hole
from spokecheck.wheel.curves import outline_points
from spokecheck.wheel.design import Design
from spokecheck.wheel.drawing import Drawing, RoundCutter, Window
from spokecheck.wheel.profile import Profile, draw_profile
from spokecheck.wheel.windows import draw_window

CUT_CLEARANCE = 3.0
"""Least distance [mm] of a bolt-hole wall from a sector cut that misses its axis."""


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
    window = draw_window(design.spokes, profile.contour.well_inner_radius)
    top = float(outline_points(profile.curves)[:, 1].max())
    bolt_hole = draw_bolt_hole(design, top)
    count = gcd(design.spokes.count, design.bolts.count)
    low = _low_cut(design, bolt_hole, count)
    drawing = Drawing(design.name, profile.curves, (window,), (bolt_hole,), count, low)
    return WheelShape(design, profile, drawing, bolt_hole)


def _low_cut(design: Design, bolt_hole: RoundCutter, count: int) -> float:
    """Angle of the low cut: through windows if the bolts allow it, else spokes.

    A cut may run through a bolt axis or miss the hole, but never graze its wall.
    """
    if count == 1:
        return 0.0
    spacing = np.pi / design.spokes.count
    candidates = [-spacing * (1 + 2 * k) for k in range(design.spokes.count)]
    candidates += [-2.0 * spacing * k for k in range(design.spokes.count)]

    def is_clear(angle: float) -> bool:
        from_cut = np.array(bolt_hole.angles) - angle
        off = bolt_hole.foot[0] * np.abs(np.sin(from_cut))
        grazes = (off > 1e-6) & (off < bolt_hole.reach + CUT_CLEARANCE)
        return not bool((grazes & (np.cos(from_cut) > 0.0)).any())

    return float(next((a for a in candidates if is_clear(a)), candidates[0]))
