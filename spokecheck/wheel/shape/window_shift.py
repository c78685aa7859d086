"""Windows shifted by a millimetre or two where they almost meet a step of the section.

Where the end of a window, or a joint of its outline, lies a few hundredths of a
millimetre beside the circle at which a rounding of the section begins, the solid has
edges of that length and the mesh has slivers.
The hub end of the windows is then drawn a little further out, or their rim end a little
further in, so that metal is only ever added.
"""

from collections.abc import Sequence

import numpy as np

from spokecheck.plane.curves import Arc, offset_outline, outline_points
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Window
from spokecheck.wheel.shape.profile import Profile
from spokecheck.wheel.shape.windows import draw_windows
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.spokes_table import Spokes

CLEAR = 1.0
"""Distance [mm] of a window's end from a step at which it is not shifted; a ring of
this width still takes sound cells."""

JOINT = 2.5
"""Joints of a window's outline may come nearer by this factor: they meet a step at a
point, not along an arc."""

STEPS = (0.0, 0.3, 0.6, 0.9, 1.2, 1.5, 1.8, 2.1)
"""Shifts tried at either end [mm]."""


CORNERS = ("window corner, hub", "window corner, rim")
"""Roundings whose radius is the design's."""


def draw_shifted_windows(
    design: Design, profile: Profile
) -> tuple[tuple[Window, ...], dict[str, float]]:
    """Windows of a design, shifted where they would almost meet a step of the section.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    profile : Profile
        Its section.

    Returns
    -------
    windows : tuple of Window
    moves : dict of str to float
        Changes of design keys [mm]; usually empty.
    """
    spokes, moves = design.spokes, {}
    for key in ("plate",) if spokes.plate else ("root_radius_mm", "rim_gap_mm"):
        spokes, move, windows = _clearest(design, profile, spokes, key)
        if move:
            name = "spokes.plate.circle_mm" if spokes.plate else f"spokes.{key}"
            moves[name] = move
    return windows, moves | _shrunk_corners(spokes, windows)


def _shrunk_corners(spokes: Spokes, windows: Sequence[Window]) -> dict[str, float]:
    """By how much [mm] the smallest corner radius is below the one asked for."""
    radii = [
        curve.radius
        for window in windows
        for curve in window.curves
        if isinstance(curve, Arc) and curve.name in CORNERS
    ]
    asked = min(spokes.window_corner_mm, spokes.rim_corner_mm or np.inf)
    less = asked - min(radii, default=asked)
    return {"spokes.window_corner_mm": -less} if less > 1e-6 else {}


def _clearest(
    design: Design, profile: Profile, spokes: Spokes, key: str
) -> tuple[Spokes, float, tuple[Window, ...]]:
    """Spokes with one end shifted by the first step that is clear, or the clearest.

    With the move [mm], and their windows.
    """
    tip = profile.contour.well_inner_radius
    best: tuple[float, Spokes, float, tuple[Window, ...]] | None = None
    for move in STEPS:
        moved = _moved(spokes, key, move)
        try:
            windows = draw_windows(moved, tip, design.attachment)
            room = _room(design, profile, windows, key)
        except ValueError:
            continue
        if best is None or room > best[0]:
            best = room, moved, move, windows
        if room >= CLEAR:
            break
    if best is None:
        raise ValueError("no room for a window between the spokes")
    return best[1:]


def _moved(spokes: Spokes, key: str, move: float) -> Spokes:
    """Spokes with the windows' end, or a plate's circle, shifted by ``move`` [mm]."""
    if spokes.plate is None:
        return spokes.model_copy(update={key: getattr(spokes, key) + move})
    wider = {"circle_mm": spokes.plate.circle_mm + move}
    return spokes.model_copy(update={"plate": spokes.plate.model_copy(update=wider)})


def _room(
    design: Design, profile: Profile, windows: Sequence[Window], key: str
) -> float:
    """Least gap [mm] of windows and steps, at the half that the key moves."""
    tip = profile.contour.well_inner_radius
    steps = _steps(profile, windows)
    inward = steps[:, 0] < (design.spokes.root_radius_mm + tip) / 2.0
    mine = {"plate": inward | ~inward, "root_radius_mm": inward, "rim_gap_mm": ~inward}
    return _least_gap(windows, steps[mine[key]])


def _steps(profile: Profile, windows: Sequence[Window]) -> FloatArray:
    """Corners (n, 2) of the section, (r, z), in the reach of the windows."""
    ends = np.array([curve.start for curve in profile.curves])
    low = min(window.inner for window in windows) - 2.0 * CLEAR
    high = max(window.outer for window in windows) + 2.0 * CLEAR
    return np.asarray(ends[(ends[:, 0] > low) & (ends[:, 0] < high)])


def _least_gap(windows: Sequence[Window], steps: FloatArray) -> float:
    """Smallest radial distance [mm] of a window's ends and joints from a step.

    Distances of joints count ``JOINT`` times.
    """
    gaps = [_gap(window, r, z) for window in windows for r, z in steps]
    return float(min(gaps, default=np.inf))


def _gap(window: Window, radius: float, z: float) -> float:
    """Distance [mm] of one window from a circle about the axle at height z."""
    curves = window.curves
    if window.draft:
        curves = offset_outline(curves, window.growth(z))
    joints = np.hypot(*np.array([curve.start for curve in curves]).T)
    fine = np.hypot(*outline_points(curves, 32).T)
    ends = np.array([fine.min(), fine.max()])
    off = np.abs(joints - radius)
    off = off[np.abs(joints[:, None] - ends).min(axis=1) > 1e-6]
    return float(min(np.abs(ends - radius).min(), JOINT * off.min(initial=np.inf)))
