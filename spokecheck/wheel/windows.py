"""Windows between spokes: what remains of the face view when the spokes are drawn.

A window lies between two spokes, each given by its centre-line and a width that changes
linearly with radius, and between two circles about the axis.
Its corners are rounded by arcs that touch side and circle exactly.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.units import FloatArray
from spokecheck.wheel.curves import Arc, Curve, Line, Point, as_point
from spokecheck.wheel.design import Spokes
from spokecheck.wheel.drawing import Window


@dataclass(frozen=True)
class SpokeEdge:
    """Upper side of a window whose bisector is +x.

    Attributes
    ----------
    start, along, inward : ndarray (2,)
        A point [mm], the outward unit direction, and the unit normal into the window.
    """

    start: FloatArray
    along: FloatArray
    inward: FloatArray

    def centre_at(self, distance: float, rounding: float) -> FloatArray | None:
        """Centre of a rounding that touches the side, ``distance`` from the axis."""
        base = self.start + rounding * self.inward
        b = float(base @ self.along)
        root = b * b - float(base @ base) + distance * distance
        if root < 0.0:
            return None
        return np.asarray(base + (np.sqrt(root) - b) * self.along)

    def centre_on_bisector(self, rounding: float) -> FloatArray:
        """Centre of a rounding that touches both sides of the window."""
        base = self.start + rounding * self.inward
        return np.asarray(base - base[1] / self.along[1] * self.along)


def spoke_edge(spokes: Spokes, tip_radius: float) -> SpokeEdge:
    """Side of the spoke that bounds the window above its bisector."""
    beta = np.pi / spokes.count
    turn = np.array([[np.cos(beta), -np.sin(beta)], [np.sin(beta), np.cos(beta)]])
    root = turn @ np.array([spokes.root_radius_mm, -spokes.root_width_mm / 2.0])
    tip = turn @ np.array([tip_radius, -spokes.tip_width_mm / 2.0])
    along = (tip - root) / np.linalg.norm(tip - root)
    return SpokeEdge(root, along, np.array([along[1], -along[0]]))


def draw_window(spokes: Spokes, rim_radius: float) -> Window:
    """Draw the window between two straight spokes.

    Parameters
    ----------
    spokes : Spokes
        Table of the design file.
    rim_radius : float
        Smallest inner radius of the rim [mm].

    Returns
    -------
    Window

    Raises
    ------
    ValueError
        If no window is left; ``limits`` reports this beforehand.
    """
    inner, outer = spokes.root_radius_mm, rim_radius - spokes.rim_gap_mm
    r = spokes.window_corner_mm
    edge = spoke_edge(spokes, rim_radius)
    top = edge.centre_at(outer - r, r)
    if top is None or top[1] < 0.0:
        raise ValueError("no room for a window at the rim")
    low = edge.centre_at(inner + r, r)
    half: list[tuple[Point | None, FloatArray, str]] = []
    if low is None or low[1] <= 0.0:
        low = edge.centre_on_bisector(r)
        inner = float(low[0]) - r
        start = np.array([inner, 0.0])
    else:
        start = low * inner / (inner + r)
        half.append(((0.0, 0.0), np.array([inner, 0.0]), "window hub end"))
    if float((top - low) @ edge.along) <= 0.0:
        raise ValueError("the corner roundings of a window overlap")
    half.append((as_point(low), start, "window corner, hub"))
    half.append((None, low - r * edge.inward, "spoke side"))
    half.append((as_point(top), top - r * edge.inward, "window corner, rim"))
    half.append(((0.0, 0.0), top * outer / (outer - r), "window rim end"))
    curves = _mirrored(half, np.array([outer, 0.0]))
    spacing = 2.0 * np.pi / spokes.count
    angles = tuple(spacing * (k + 0.5) for k in range(spokes.count))
    return Window(curves, angles, inner, outer)


def _mirrored(
    half: list[tuple[Point | None, FloatArray, str]], last: FloatArray
) -> tuple[Curve, ...]:
    """Whole outline from its upper half, which runs from hub to rim.

    Each piece of ``half`` has its centre (None: straight), start, and name.
    The outline starts on the bisector at the rim and runs anticlockwise.
    """
    ends = [piece[1] for piece in half[1:]] + [last]
    upper: list[Curve] = []
    lower: list[Curve] = []
    for (centre, start, name), end in zip(half, ends, strict=True):
        flip = np.array([1.0, -1.0])
        if centre is None:
            upper.append(Line(as_point(end), as_point(start), name))
            lower.append(Line(as_point(start * flip), as_point(end * flip), name))
            continue
        mirror = (centre[0], -centre[1])
        upper.append(Arc(as_point(end), as_point(start), centre, name))
        lower.append(Arc(as_point(start * flip), as_point(end * flip), mirror, name))
    return (*upper[::-1], *lower)
