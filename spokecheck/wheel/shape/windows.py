"""Windows: what remains of the face view when the spokes are drawn.

Windows lie between the bars of a pattern and between two circles about the axle, with
every corner rounded; a plate has round or slotted windows of its own.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import Point as ShapelyPoint
from shapely import Polygon
from shapely.ops import unary_union

from spokecheck.plane.boundary import SAGITTA, CurveSource, arc_pieces
from spokecheck.plane.curves import Arc, Curve, Line, as_point, outline_points
from spokecheck.plane.outline import Rounding, rounded_outlines
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Window
from spokecheck.wheel.shape.patterns import lay_bars
from spokecheck.wheel.shape.spoke_bars import Bar
from spokecheck.wheel.tables.spokes_table import Plate, Spokes

HUB_END, RIM_END = "window hub end", "window rim end"
KNEE = 5.0
"""Radius [mm] of corners of the metal that point into a window, as beside a fork."""

AHEAD = 1.0e-3
"""Windows up to this angle [rad] behind the first spoke's axis belong to it."""


def draw_windows(
    spokes: Spokes, rim_radius: float, attachment: float = 0.0
) -> tuple[Window, ...]:
    """Draw the windows of a pattern.

    Parameters
    ----------
    spokes : Spokes
        Table of the design file.
    rim_radius : float
        Smallest inner radius of the rim [mm].
    attachment : float
        z of the attachment face [mm]; the outlines hold at the mean face height.

    Returns
    -------
    tuple of Window
        One for each kind in a repeat of the pattern, with all its copies.

    Raises
    ------
    ValueError
        If no window is left, or roundings overlap; ``limits`` reports this beforehand.
    """
    if spokes.pattern == "plate":
        assert spokes.plate is not None
        plate = _plate_window(spokes.plate, spokes.count)
        return (_copied(plate, spokes, attachment),)
    n = spokes.repeats
    outlines = _between(spokes, rim_radius, n)
    own = [curves for curves in outlines if _is_first(curves, n)]
    if not own:
        raise ValueError("no room for a window between the spokes")
    return tuple(
        _copied(_with_named_corners(curves), spokes, attachment) for curves in own
    )


def all_bars(spokes: Spokes, rim_radius: float) -> list[Bar]:
    """Bars of all repeats; none for a plate."""
    n = spokes.repeats
    bars = lay_bars(spokes, rim_radius)
    return [bar.turned(2.0 * np.pi * k / n) for k in range(n) for bar in bars]


def _between(spokes: Spokes, rim_radius: float, n: int) -> list[tuple[Curve, ...]]:
    """Rounded outlines of all parts of the ring that no bar covers."""
    inner, outer = spokes.root_radius_mm, rim_radius - spokes.rim_gap_mm
    bars = all_bars(spokes, rim_radius)
    ring = disc(outer).difference(disc(inner))
    left = ring.difference(unary_union([bar.region() for bar in bars]))
    sources = [
        *circle_sources(inner, HUB_END, -1),
        *circle_sources(outer, RIM_END, -2),
        *(s for k, bar in enumerate(bars) for s in bar.sources(4 * k)),
    ]
    other = {} if spokes.rim_corner_mm is None else {RIM_END: spokes.rim_corner_mm}
    rounding = Rounding(spokes.window_corner_mm, other, KNEE)
    parts = [p for p in getattr(left, "geoms", [left]) if _may_be_first(p, n)]
    outlines: list[tuple[Curve, ...]] = []
    for part in parts:
        near = part.buffer(1.0)
        touching = [s for s in sources if near.intersects(_line_string(s.curve))]
        outlines += rounded_outlines(part, touching, rounding)
    return outlines


def _line_string(curve: Curve) -> shapely.LineString:
    return shapely.LineString(np.vstack([outline_points([curve], 16), [curve.end]]))


def disc(radius: float) -> Polygon:
    """Region within a circle about the axle."""
    segments = int(np.ceil(np.pi / 2.0 / np.sqrt(8.0 * SAGITTA / radius)))
    return ShapelyPoint(0.0, 0.0).buffer(radius, quad_segs=segments)


def circle_sources(radius: float, name: str, chain: int) -> list[CurveSource]:
    """A circle about the axle in four arcs."""
    t = np.arange(5) * np.pi / 2.0
    points = radius * np.column_stack([np.cos(t), np.sin(t)])
    return [
        CurveSource(Arc(as_point(a), as_point(b), (0.0, 0.0), name), chain)
        for a, b in pairwise(points)
    ]


def _middle_angle(points: FloatArray) -> float:
    """Angle of the middle of some points, from -``AHEAD`` to a full turn."""
    angle = float(np.arctan2(*points.mean(axis=0)[::-1]))
    return (angle + AHEAD) % (2.0 * np.pi) - AHEAD


def _is_first(curves: Sequence[Curve], n: int) -> bool:
    """Whether a window belongs to the first of n repeats."""
    return _middle_angle(outline_points(curves)) < 2.0 * np.pi / n - AHEAD


def _may_be_first(part: Polygon, n: int) -> bool:
    """Whether a region comes near the first of n repeats."""
    points = np.array(part.exterior.coords)
    angle = np.arctan2(points[:, 1], points[:, 0])
    return bool(((angle > -2.0 * AHEAD) & (angle < 2.0 * np.pi / n)).any())


def _with_named_corners(curves: tuple[Curve, ...]) -> tuple[Curve, ...]:
    """The same outline, its corners named by the end of the window they lie at."""
    n = len(curves)
    radii = np.hypot(*outline_points(curves).T)
    middle = (radii.min() + radii.max()) / 2.0
    named: list[Curve] = []
    for k, curve in enumerate(curves):
        if curve.name != "corner":
            named.append(curve)
            continue
        beside = {curves[k - 1].name, curves[(k + 1) % n].name}
        radius = float(np.hypot(*(np.add(curve.start, curve.end) / 2.0)))
        named.append(replace(curve, name=_corner_name(beside, radius, radii, middle)))
    return tuple(named)


def _corner_name(
    beside: set[str], radius: float, radii: FloatArray, middle: float
) -> str:
    if HUB_END in beside or radius < radii.min() + 0.15 * (middle - radii.min()):
        return "window corner, hub"
    if RIM_END in beside or radius > radii.max() - 0.15 * (radii.max() - middle):
        return "window corner, rim"
    return "window corner, side"


def _copied(curves: tuple[Curve, ...], spokes: Spokes, attachment: float) -> Window:
    n = spokes.repeats
    radii = np.hypot(*outline_points(curves, 32).T)
    return Window(
        curves,
        tuple(2.0 * np.pi * k / n for k in range(n)),
        float(radii.min()),
        float(radii.max()),
        float(np.deg2rad(spokes.draft_deg)),
        attachment + (spokes.root_face_mm + spokes.tip_face_mm) / 2.0,
    )


def _plate_window(plate: Plate, count: int) -> tuple[Curve, ...]:
    """Round or slotted window, half a pitch ahead of +x."""
    ahead = np.pi / count
    out = np.array([np.cos(ahead), np.sin(ahead)])
    left = np.array([-out[1], out[0]])
    radius, half = plate.circle_mm / 2.0, plate.width_mm / 2.0
    name = "window edge"
    if plate.window == "round":
        middle = radius * out
        ends = [half * v for v in (out, left, -out, -left)]
        return tuple(
            Arc(as_point(middle + a), as_point(middle + b), as_point(middle), name)
            for a, b in zip(ends, [*ends[1:], ends[0]], strict=True)
        )
    assert plate.length_mm is not None  # checked by limits
    straight = plate.length_mm - plate.width_mm
    if plate.along == "radius":
        inner, outer = (radius + s * straight / 2.0 for s in (-1.0, 1.0))
        return _slot(inner * out, outer * out, half * left, name)
    return _curved_slot(radius, half, ahead, straight / radius / 2.0, name)


def _slot(
    a: FloatArray, b: FloatArray, across: FloatArray, name: str
) -> tuple[Curve, ...]:
    """Straight slot between two centres, anticlockwise for ``across`` to the left."""
    along = (b - a) / np.linalg.norm(b - a) * np.linalg.norm(across)
    return (
        Line(as_point(a - across), as_point(b - across), "window side"),
        *arc_pieces(b - across, b + across, b, name, b + along),
        Line(as_point(b + across), as_point(a + across), "window side"),
        *arc_pieces(a + across, a - across, a, name, a - along),
    )


def _curved_slot(
    radius: float, half: float, middle: float, spread: float, name: str
) -> tuple[Curve, ...]:
    """Slot along a circle about the axle, ``spread`` [rad] to either side."""

    def point(r: float, angle: float) -> FloatArray:
        return r * np.array([np.cos(angle), np.sin(angle)])

    low, high, zero = middle - spread, middle + spread, np.zeros(2)
    outer, inner = radius + half, radius - half
    ahead, behind = point(radius, high), point(radius, low)
    tip = half * np.array([-np.sin(high), np.cos(high)])
    tail = half * np.array([np.sin(low), -np.cos(low)])
    return (
        *arc_pieces(
            point(outer, low), point(outer, high), zero, RIM_END, point(outer, middle)
        ),
        *arc_pieces(point(outer, high), point(inner, high), ahead, name, ahead + tip),
        *arc_pieces(
            point(inner, high), point(inner, low), zero, HUB_END, point(inner, middle)
        ),
        *arc_pieces(point(inner, low), point(outer, low), behind, name, behind + tail),
    )
