"""Where on a wheel a point is, in the words a wheel engineer would use."""

import numpy as np

from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.landmarks import Landmarks
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.surface_names import WORDS

THROUGH_DEPTH = ("window", "spoke side", "disc, side")
ALONG_SPOKE = ("spoke", "disc")
EDGE_SHARE = 0.2
"""Within this share of the depth from face or back a point counts as on that edge."""


def name_place(wheel: Wheel, surface: str, point: FloatArray) -> str:
    """Plain-language place of a surface point.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    surface : str
        Named surface the point lies on.
    point : ndarray (3,)
        Position [mm].

    Returns
    -------
    str
        Such as ``window corner, hub end, back edge``.
    """
    words = [WORDS[surface]]
    r = float(np.hypot(point[0], point[1]))
    if surface.startswith(ALONG_SPOKE):
        words.append(_along(wheel.landmarks, r))
    if surface.startswith(THROUGH_DEPTH):
        words.append(_through(wheel.landmarks, r, float(point[2])))
    angle = float(np.arctan2(point[1], point[0]))
    if surface.startswith(
        ("hub", "pad", "rim", "flange", "bead", "centre", "cap", "hump")
    ):
        words += _by_spoke(wheel.design, angle)
    if not wheel.design.aligned:
        words.append(f"r {r:.0f}, z {point[2]:.0f} mm")
    return ", ".join(words)


def _along(landmarks: Landmarks, r: float) -> str:
    """Third of the spoke's length."""
    inner, outer = landmarks.window_range
    share = (r - inner) / (outer - inner)
    if share < 1.0 / 3.0:
        return "hub end"
    return "rim end" if share > 2.0 / 3.0 else "mid-span"


def _through(landmarks: Landmarks, r: float, z: float) -> str:
    """Where in the axial depth of the spoke."""
    share = landmarks.through(r, z)
    if share < EDGE_SHARE:
        return "back edge"
    return "face edge" if share > 1.0 - EDGE_SHARE else "mid-depth"


def _by_spoke(design: Brief, angle: float) -> list[str]:
    """Under a spoke or between two, where it is known how the spokes lie."""
    if not design.aligned:
        return []
    spacing = 2.0 * np.pi / design.spokes.count
    off = abs((angle + spacing / 2.0) % spacing - spacing / 2.0)
    return ["at a spoke" if off < spacing / 4.0 else "between spokes"]
