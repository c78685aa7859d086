"""Windows moved by about a millimetre where they all but meet a step of the section.

Where the end of a window, or a joint of its outline, lies a few hundredths of a
millimetre beside the circle at which a rounding of the section begins, the solid has
edges of that length, and slivers stand on them.
Windows are then drawn with their hub end a little further out, or their rim end a
little further in, so that metal is only ever added.
"""

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from spokecheck.units import FloatArray
from spokecheck.wheel.curves import offset_outline, outline_points
from spokecheck.wheel.design import Design
from spokecheck.wheel.drawing import Window
from spokecheck.wheel.profile import Profile
from spokecheck.wheel.spokes_table import Spokes
from spokecheck.wheel.windows import draw_windows

CLEAR = 0.35
"""Distance [mm] from a step at which a window is left where it was asked for."""

STEPS = (0.0, 0.3, 0.6, 0.9, 1.2)
"""Moves tried [mm]."""

FARTHEST = 1.5
"""Sum of both moves [mm] at which no more are tried: the clearest so far is taken."""


def draw_clear_windows(
    design: Design, profile: Profile
) -> tuple[tuple[Window, ...], dict[str, float]]:
    """Windows of a design, moved where they would all but meet a step of the section.

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
        Design keys and by how much [mm] they were exceeded; empty as a rule.
    """
    tip = profile.contour.well_inner_radius
    best: tuple[float, tuple[Window, ...], dict[str, float]] | None = None
    for spokes, moves in _trials(design.spokes):
        try:
            windows = draw_windows(spokes, tip, design.attachment)
        except ValueError:
            continue
        room = _least_gap(windows, _steps(profile, windows))
        if best is None or room > best[0]:
            best = room, windows, moves
        if room >= CLEAR:
            break
    if best is None:
        raise ValueError("no room for a window between the spokes")
    return best[1], best[2]


def _trials(spokes: Spokes) -> Iterator[tuple[Spokes, dict[str, float]]]:
    """The spokes as asked for, then with small moves, the smallest first."""
    for rim, hub in sorted(product(STEPS, STEPS), key=sum):
        if rim + hub > FARTHEST:
            return
        moves = {"root_radius_mm": hub, "rim_gap_mm": rim}
        wanted = {key: getattr(spokes, key) + move for key, move in moves.items()}
        told = {f"spokes.{key}": move for key, move in moves.items() if move}
        yield spokes.model_copy(update=wanted), told
        if spokes.pattern == "plate":
            return


def _steps(profile: Profile, windows: Sequence[Window]) -> FloatArray:
    """Corners (n, 2) of the section, (r, z), in the reach of the windows."""
    ends = np.array([curve.start for curve in profile.curves])
    low = min(window.inner for window in windows) - 2.0 * CLEAR
    high = max(window.outer for window in windows) + 2.0 * CLEAR
    return np.asarray(ends[(ends[:, 0] > low) & (ends[:, 0] < high)])


def _least_gap(windows: Sequence[Window], steps: FloatArray) -> float:
    """Smallest radial distance [mm] of a window's ends and joints from a step."""
    gaps = [np.abs(_radii(window, z) - r).min() for window in windows for r, z in steps]
    return float(min(gaps, default=np.inf))


def _radii(window: Window, z: float) -> FloatArray:
    """Radii of a window's joints and of its ends at height z."""
    curves = window.curves
    if window.draft:
        curves = offset_outline(curves, window.growth(z))
    joints = np.hypot(*np.array([curve.start for curve in curves]).T)
    fine = np.hypot(*outline_points(curves, 32).T)
    return np.asarray([*joints, fine.min(), fine.max()])
