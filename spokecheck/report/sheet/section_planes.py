"""Cutting planes of the section: half planes through a spoke, a bolt and a window."""

from dataclasses import dataclass

import numpy as np

from spokecheck.plane.curves import outline_points, turned
from spokecheck.plane.polygons import crossings
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Window
from spokecheck.wheel.shape.wheel_shape import WheelShape

CHORDS = 12
"""Pieces each arc of an outline is drawn with."""

STEPS = 360
"""Angles tried in the search for the widest window."""

LONG = 0.25
"""Two angles are equivalent if windows take equal lengths of their radii, to this [mm].
"""


@dataclass(frozen=True)
class CutPlanes:
    """Half planes of the section, as angles [rad] of the wheel.

    Attributes
    ----------
    spoke : float
        Upper half: where most metal is, nearest to the first spoke.
    bolt, window : float
        Lower half: through a bolt inside of ``bend``, through a window outside of it.
    bend : float
        Radius [mm] at which the lower half passes from one to the other.
    """

    spoke: float
    bolt: float
    window: float
    bend: float


def cut_planes(shape: WheelShape) -> CutPlanes:
    """Choose the half planes that show most: a spoke, and opposite a window and a bolt.

    The spoke is the first one; window and bolt are those most nearly opposite to it.
    Where windows of the spoke's own, as between twin legs, leave no whole half plane,
    the section is turned into that with most metal.
    """
    angles = 2.0 * np.pi * (np.arange(STEPS) + 0.5) / STEPS
    outlines = window_outlines(shape)
    taken = np.array([_taken(outlines, float(angle)) for angle in angles])
    is_best = taken > taken.max() - LONG
    best = angles[is_best]
    window = float(best[np.argmin(np.abs(best - np.pi))])
    window = _middle_of_run(angles, is_best, window)
    bolts = np.mod(np.array(shape.bolt_hole.angles), 2.0 * np.pi)
    bolt = float(bolts[np.argmin(np.abs(bolts - window))])
    reach = shape.bolt_hole.foot[0] + shape.bolt_hole.reach
    spoke = _spoke_angle(angles, taken, _taken(outlines, 0.0))
    return CutPlanes(spoke, bolt, window, (reach + shape.window_range[0]) / 2.0)


def _spoke_angle(angles: FloatArray, taken: FloatArray, at_zero: float) -> float:
    """Angle of most metal, nearest to zero; zero itself if it is as good."""
    if at_zero < taken.min() + LONG:
        return 0.0
    is_best = taken < taken.min() + LONG
    signed = np.mod(angles + np.pi, 2.0 * np.pi) - np.pi
    nearest = int(np.argmin(np.where(is_best, np.abs(signed), np.inf)))
    return _middle_of_run(angles, is_best, float(angles[nearest]))


def _taken(outlines: list[FloatArray], angle: float) -> float:
    """Length [mm] that windows take from the radius at an angle."""
    return sum(high - low for low, high in window_cuts(outlines, angle))


def _middle_of_run(angles: FloatArray, is_alike: FloatArray, start: float) -> float:
    """Middle of the equivalent angles around one of them, without a gap."""
    k = int(np.argmin(np.abs(angles - start)))
    low = high = k
    count = len(angles)
    while is_alike[(low - 1) % count] and k - low < count // 2:
        low -= 1
    while is_alike[(high + 1) % count] and high - k < count // 2:
        high += 1
    return float(start + (high + low - 2 * k) * np.pi / count)


def window_outlines(shape: WheelShape) -> list[FloatArray]:
    """Closed outlines (n, 2) [mm] of all windows, each copy in its place."""
    return [outline for window in shape.windows for outline in copies(window)]


def copies(window: Window) -> list[FloatArray]:
    """Closed outlines (n, 2) [mm] of all copies of a window, each in its place."""
    own = outline_points(window.curves, CHORDS)
    return [turned(own, angle) for angle in window.angles]


def window_cuts(outlines: list[FloatArray], angle: float) -> list[tuple[float, float]]:
    """Radii [mm] between which outlines cut the half plane at an angle."""
    cuts = []
    for outline in outlines_at(outlines, angle):
        crosses, radii = crossings(outline[:, ::-1], np.zeros(1))
        ends = np.sort(radii[crosses])
        ends = ends[ends > 0.0]
        cuts += list(zip(ends[::2], ends[1::2], strict=False))
    return [(float(low), float(high)) for low, high in cuts]


def outlines_at(outlines: list[FloatArray], angle: float) -> list[FloatArray]:
    """Outlines that cross the half plane at an angle, turned so that it lies on +x."""
    c, s = np.cos(angle), np.sin(angle)
    crossed = []
    for outline in outlines:
        off = c * outline[:, 1] - s * outline[:, 0]
        if off.min() < 0.0 < off.max() and (outline @ [c, s]).max() > 0.0:
            crossed.append(turned(outline, -angle))
    return crossed
