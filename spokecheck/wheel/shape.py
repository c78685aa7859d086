"""The whole wheel as drawn: section, windows, bolt holes, and its symmetry."""

from dataclasses import dataclass
from math import gcd

import numpy as np

from spokecheck.wheel.bolts import BoltHole, draw_bolt_hole
from spokecheck.wheel.curves import outline_points
from spokecheck.wheel.design import Design
from spokecheck.wheel.profile import Profile, draw_profile
from spokecheck.wheel.windows import Window, draw_window

CUT_CLEARANCE = 3.0
"""Least distance [mm] of a bolt-hole wall from a sector cut that misses its axis."""


@dataclass(frozen=True)
class WheelShape:
    """Everything the mesher needs to know of a wheel.

    Attributes
    ----------
    design : Design
        What it was drawn from.
    profile : Profile
    window : Window
    bolt_hole : BoltHole
    count : int
        Number N of equal sectors shared by spokes and bolts.
    low_angle : float
        Angle of the low cut [rad]; the high cut lies 2 pi / N further.
    """

    design: Design
    profile: Profile
    window: Window
    bolt_hole: BoltHole
    count: int
    low_angle: float

    @property
    def z_range(self) -> tuple[float, float]:
        """Lowest and highest z of the section [mm]."""
        z = outline_points(self.profile.curves)[:, 1]
        return float(z.min()), float(z.max())


def draw_wheel(design: Design) -> WheelShape:
    """Draw the wheel of a design that has passed ``limits``."""
    profile = draw_profile(design)
    window = draw_window(design.spokes, profile.contour.well_inner_radius)
    top = float(outline_points(profile.curves)[:, 1].max())
    bolt_hole = draw_bolt_hole(design, top)
    count = gcd(design.spokes.count, design.bolts.count)
    low = _low_cut(design, bolt_hole, count)
    return WheelShape(design, profile, window, bolt_hole, count, low)


def _low_cut(design: Design, bolt_hole: BoltHole, count: int) -> float:
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
        off = bolt_hole.circle * np.abs(np.sin(from_cut))
        grazes = (off > 1e-6) & (off < bolt_hole.reach + CUT_CLEARANCE)
        return not bool((grazes & (np.cos(from_cut) > 0.0)).any())

    return float(next((a for a in candidates if is_clear(a)), candidates[0]))
