"""Joints of the section that all but meet the end of a window, moved out of its way.

Where a rounding of the section runs into a side a few hundredths of a millimetre beside
the end of a window, the solid has a strip of that width, which no cell fits into.
The window stays where it is asked for.  The joint is moved by up to 0.3 mm along the
rounding, which leaves the section within ``OFF`` of what it was.
"""

from collections.abc import Sequence

import numpy as np

from spokecheck.plane.curves import Arc, Curve, offset_outline, outline_points
from spokecheck.plane.joints import moved_joint
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Window

CLEAR = 0.3
"""Distance [mm] of a window's end from a joint: meshed without slivers (five-spoke
example, shapes 0.04 and better; 0.02 mm cannot be meshed)."""

CLEAR_POINT = 0.1
"""The same for joints of a window's outline, which meet the section at a point."""


def clear_of_windows(
    section: Sequence[Curve],
    windows: Sequence[Window],
    roundings: Sequence[float] = (),
) -> tuple[Curve, ...]:
    """Section whose joints keep clear of the windows' ends and joints.

    Parameters
    ----------
    section : sequence of Line and Arc
        Closed outline in (r, z) [mm].
    windows : sequence of Window
        Windows cut from it.
    roundings : sequence of float
        Radii [mm] of their rounded edges, which end about so far beside them.

    Returns
    -------
    tuple of Line and Arc
        Curve by curve; a joint that has no room to move stays.
    """
    curves = list(section)
    low = min(window.inner for window in windows) - 5.0
    high = max(window.outer for window in windows) + 5.0
    for k in range(len(curves)):
        before, after = curves[k - 1], curves[k]
        r, z = after.start
        if not low < r < high or not any(isinstance(c, Arc) for c in (before, after)):
            continue
        near = _near(windows, z, roundings)
        for radius in _ways_out(r, near):
            moved = moved_joint(before, after, radius)
            if moved is not None:
                curves[k - 1], curves[k] = moved
                break
    return tuple(curves)


def _near(
    windows: Sequence[Window], z: float, roundings: Sequence[float]
) -> FloatArray:
    """Radii (n, 2) of windows' ends and joints at a height, and the room each wants."""
    wider = np.array([0.0, *roundings])
    found: list[tuple[float, float]] = []
    for window in windows:
        curves = window.curves
        if window.draft:
            curves = offset_outline(curves, window.growth(z))
        fine = np.hypot(*outline_points(curves, 32).T)
        ends = np.array([fine.min(), fine.max()])
        joints = np.hypot(*np.array([curve.start for curve in curves]).T)
        joints = joints[np.abs(joints[:, None] - ends).min(axis=1) > 1e-6]
        low, high = ends[0] - wider, ends[1] + wider
        found += [(float(r), CLEAR) for r in (*low, *high)]
        found += [(float(r), CLEAR_POINT) for r in joints]
    return np.array(found)


def _ways_out(radius: float, near: FloatArray) -> list[float]:
    """Radii [mm] clear of all others, the nearest first; none if clear already."""

    def clear(r: float) -> bool:
        return bool((np.abs(near[:, 0] - r) > near[:, 1] - 1e-9).all())

    if clear(radius):
        return []
    places = np.concatenate([near[:, 0] - near[:, 1], near[:, 0] + near[:, 1]])
    free = [float(r) for r in places if clear(float(r))]
    return sorted(free, key=lambda r: abs(r - radius))
