"""Where on a wheel a point is, in the words a wheel engineer would use."""

import numpy as np

from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.design import Brief
from spokecheck.wheel.landmarks import Landmarks

RIM_SURFACES = (
    "bead seat inboard",
    "bead seat outboard",
    "flange inboard",
    "flange inboard, bead side",
    "flange outboard",
    "flange outboard, bead side",
    "flange edge inboard",
    "flange edge outboard",
    "hump inboard",
    "hump outboard",
    "rim face",
    "rim inner",
    "rim inner corner",
    "rim well",
    "rim well corner",
    "valve hole",
)
"""Surfaces that belong to the rim, and to its alloy where that differs."""

WORDS = {
    "attachment face": "attachment face",
    "bead seat inboard": "bead seat, inboard",
    "bead seat outboard": "bead seat, outboard",
    "bolt counterbore": "counterbore of a bolt hole",
    "bolt hole": "bolt hole",
    "bolt seat": "seat of a bolt hole",
    "bore chamfer": "chamfer of the centre bore",
    "cap recess": "cap recess",
    "cap recess fillet": "radius in the cap recess",
    "centre bore": "centre bore",
    "counterbore fillet": "radius in the counterbore of a bolt hole",
    "flange edge inboard": "edge of the rim flange, inboard",
    "flange edge outboard": "edge of the rim flange, outboard",
    "flange inboard": "rim flange, inboard",
    "flange inboard, bead side": "rim flange, inboard, bead side",
    "flange outboard": "rim flange, outboard",
    "flange outboard, bead side": "rim flange, outboard, bead side",
    "hub fillet, back": "fillet between hub and spoke, back side",
    "hub fillet, face": "fillet between hub and spoke, face side",
    "hub front": "front of the hub",
    "hub front side": "shoulder of the hub, face side",
    "hump inboard": "hump beside the bead seat, inboard",
    "hump outboard": "hump beside the bead seat, outboard",
    "pad side": "side of the hub pad, back side",
    "pocket fillet": "radius at the floor of a hub pocket",
    "pocket floor": "floor of a hub pocket",
    "pocket side": "side of a hub pocket",
    "relief": "relief of the attachment face",
    "relief fillet": "radius in the relief of the attachment face",
    "relief side": "step in the relief of the attachment face",
    "rim face": "face of the rim, between spokes and flange",
    "rim fillet, back": "fillet between spoke and rim, back side",
    "rim fillet, face": "fillet between spoke and rim, face side",
    "rim inner": "inner side of the rim",
    "rim inner corner": "corner of the rim well, inner side",
    "rim well": "rim well, tyre side",
    "rim well corner": "corner of the rim well, tyre side",
    "spoke back": "spoke, back side",
    "spoke face": "spoke, face side",
    "spoke pocket fillet": "floor radius of a back pocket",
    "spoke pocket floor": "floor of a back pocket",
    "spoke pocket wall": "wall of a back pocket",
    "spoke side": "side of a spoke",
    "valve hole": "valve hole",
    "window corner, hub": "window corner, hub end",
    "window corner, side": "window corner at mid-length",
    "window edge": "rounded edge of a window",
    "window corner, rim": "window corner, rim end",
    "window hub end": "window edge at the hub",
    "window rim end": "window edge at the rim",
    "window side": "straight side of a window",
}
"""Plain words of each drawn surface."""

THROUGH_DEPTH = ("window", "spoke side")
ALONG_SPOKE = ("spoke",)
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
        words += _beside(wheel.design, angle)
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


def _beside(design: Brief, angle: float) -> list[str]:
    """Under a spoke or between two, where it is known how the spokes lie."""
    if not design.aligned:
        return []
    spacing = 2.0 * np.pi / design.spokes.count
    off = abs((angle + spacing / 2.0) % spacing - spacing / 2.0)
    return ["at a spoke" if off < spacing / 4.0 else "between spokes"]
