"""The wheel as a drawing shows it: face view and section, as lines in mm of the wheel.

Both show the drawing that the CAD kernel gets: all windows, all cutters.
"""

from itertools import pairwise

import numpy as np
from shapely import Geometry

from spokecheck.plane.curves import Arc, Curve, Line, outline_points, turned
from spokecheck.plane.polygons import extent, sides
from spokecheck.report.sheet.regions import (
    edges,
    hatching,
    metal,
    part,
    ring,
)
from spokecheck.report.sheet.section_planes import (
    CHORDS,
    CutPlanes,
    copies,
    cut_planes,
    outlines_at,
    window_cuts,
    window_outlines,
)
from spokecheck.report.sheet.sheet import Stroke, polyline
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import PocketCutter, RoundCutter
from spokecheck.wheel.shape.wheel_shape import WheelShape

SHARP = np.deg2rad(15.0)
"""A corner of the section that turns by more than this is an edge of the wheel."""

SOFT = ("hub fillet, face", "hub front", "rim fillet, face")
"""Roundings whose ends are shown in the face view, as narrow lines."""

ALIKE = 1.0e-6
"""Angles [rad] that differ by less are equal."""

UP = np.pi / 2.0
"""Turn [rad] of the face view: the first spoke, along +x, points up."""


def cutter_outline(cutter: RoundCutter) -> FloatArray:
    """Outline (n, 2) of a cutter in a plane (r, z) through axle and its own axis."""
    half = outline_points(cutter.curves, CHORDS)
    both = np.vstack([half, (half * [-1.0, 1.0])[::-1]])
    foot, axis, across = cutter.frame(0.0)
    placed = foot + both[:, :1] * across + both[:, 1:] * axis
    return np.asarray(placed[:, [0, 2]])


def _cutters_at(shape: WheelShape, angle: float) -> list[RoundCutter]:
    """Cutters whose axis lies in the half plane at an angle."""
    cut = []
    for cutter in shape.drawing.cutters:
        off = np.mod(np.array(cutter.angles) - angle + np.pi, 2.0 * np.pi) - np.pi
        if np.abs(off).min() < ALIKE:
            cut.append(cutter)
    return cut


def _hole_edges(shape: WheelShape, angle: float) -> FloatArray:
    """Edges (n, 2, 2) in (r, z) seen inside holes that are cut along their axis."""
    pieces = [np.empty((0, 2, 2))]
    for cutter in _cutters_at(shape, angle):
        foot, axis, across = cutter.frame(0.0)
        for curve in cutter.curves:
            rho, h = curve.start
            if rho > 0.0:
                ends = [foot + s * rho * across + h * axis for s in (-1.0, 1.0)]
                pieces.append(np.array([ends])[..., [0, 2]])
    body = metal(outline_points(shape.drawing.section, CHORDS), ())
    return part(body, np.concatenate(pieces), within=True)


def spoke_half(shape: WheelShape, planes: CutPlanes) -> Geometry:
    """Upper half of the section (r, z): along a spoke, with no window."""
    body = outline_points(shape.drawing.section, CHORDS)
    holes = [cutter_outline(cutter) for cutter in _cutters_at(shape, planes.spoke)]
    holes += _pockets_along(shape)
    return metal(body, holes)


def _pockets_along(shape: WheelShape) -> list[FloatArray]:
    """Outlines (r, z) of back pockets cut along their middle, turned into the plane."""
    outlines = []
    for pocket in shape.drawing.pockets[:1]:
        (low, high), *_ = window_cuts([_shifted(pocket)], 0.0)
        low, high = low - FAR, high - FAR
        r, deep = pocket.floor_radius, -pocket.height
        foot = np.deg2rad(np.linspace(90.0, 0.0, CHORDS))
        bend = r * np.column_stack([np.cos(foot), np.sin(foot)]) - [r, r]
        uv = np.vstack(
            [
                [[low, deep]],
                bend[::-1] * [-1.0, 1.0] + np.array([low, 0.0]),
                bend + np.array([high, 0.0]),
                [[high, deep]],
            ]
        )
        origin, (out, _, up) = pocket.frame(0.0)
        placed = origin + uv[:, :1] * out + uv[:, 1:] * up
        outlines.append(np.asarray(placed[:, [0, 2]]))
    return outlines


FAR = 1000.0
"""Shift [mm] that brings an outline about its own middle wholly to +x."""


def _shifted(pocket: PocketCutter) -> FloatArray:
    return np.asarray(outline_points(pocket.curves, CHORDS) + np.array([FAR, 0.0]))


def window_half(shape: WheelShape, planes: CutPlanes) -> Geometry:
    """Lower half of the section (r, z): through a bolt hole and a window."""
    body = outline_points(shape.drawing.section, CHORDS)
    low, high = shape.drawing.z_range
    holes = [cutter_outline(cutter) for cutter in _cutters_at(shape, planes.bolt)]
    z = np.array([low - 5.0, high + 5.0])
    for window in shape.windows:
        wider = np.array([window.growth(level) for level in z])
        for start, end in window_cuts(copies(window), planes.window):
            r = np.concatenate([start - wider, (end + wider)[::-1]])
            holes.append(np.column_stack([r, np.concatenate([z, z[::-1]])]))
    return metal(body, holes)


def section_view(shape: WheelShape, hatch: float) -> list[Stroke]:
    """Section A-A in (z, r): spoke above the axle, window and bolt below it.

    Parameters
    ----------
    shape : WheelShape
        Wheel as drawn.
    hatch : float
        Spacing of the hatching [mm].

    Returns
    -------
    list of Stroke
        In mm of the wheel; z runs to the right, outboard.
    """
    planes = cut_planes(shape)
    strokes = []
    halves = (
        (spoke_half(shape, planes), planes.spoke, 1.0),
        (window_half(shape, planes), planes.bolt, -1.0),
    )
    for region, angle, sense in halves:
        lines = hatching(region, hatch, sense * np.pi / 4.0)
        strokes.append(Stroke("hatch", _zr(lines, sense)))
        strokes.append(Stroke("outline", _zr(edges(region), sense)))
        circles = [np.array([[[r, z], [0.0, z]]]) for r, z in sharp_corners(shape)]
        beyond = part(region, np.concatenate(circles), within=False)
        strokes.append(Stroke("thin", _zr(beyond, sense)))
        divide = shape.drawing.divide
        if divide is not None:
            line = polyline(open_points(divide.curves))
            strokes.append(Stroke("edge", _zr(part(region, line, within=True), sense)))
        strokes.append(Stroke("thin", _zr(_hole_edges(shape, angle), sense)))
    strokes.append(Stroke("thin", _zr(_far_walls(shape, planes), -1.0)))
    return strokes


def open_points(curves: tuple[Curve, ...]) -> FloatArray:
    """Points (n, 2) along an open line of curves, its end included."""
    return np.vstack([outline_points(curves, CHORDS), [curves[-1].end]])


def _zr(pieces: FloatArray, sense: float) -> FloatArray:
    """Pieces (n, 2, 2) from (r, z) to (z, r), r up or down."""
    return np.asarray(pieces[..., ::-1] * [1.0, sense])


def sharp_corners(shape: WheelShape) -> list[tuple[float, float]]:
    """Convex corners (r, z) of the section that are edges of the wheel."""
    curves = shape.drawing.section
    corners = []
    for before, after in pairwise((*curves, curves[0])):
        a, b = _direction(before, at_end=True), _direction(after, at_end=False)
        turn = np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)
        if turn > SHARP:
            corners.append(after.start)
    return corners


def _direction(curve: Curve, at_end: bool) -> FloatArray:
    start, end = np.array(curve.start), np.array(curve.end)
    if isinstance(curve, Line):
        return np.asarray(end - start)
    centre = np.array(curve.centre)
    a, b = start - centre, end - centre
    sense = np.sign(a[0] * b[1] - a[1] * b[0])
    radius = b if at_end else a
    return np.asarray(sense * np.array([-radius[1], radius[0]]))


def _far_walls(shape: WheelShape, planes: CutPlanes) -> FloatArray:
    """Edges (n, 2, 2) in (r, z) of the wall behind the windows that are cut."""
    walls = []
    for outline in outlines_at(window_outlines(shape), planes.window):
        order = _chain(outline)
        if len(order) < 2:
            continue
        r = np.hypot(*order.T)
        for top in (False, True):
            z = heights(shape, r, top)
            line = np.column_stack([order[:, 0], z])
            pieces = polyline(line)
            walls.append(pieces[np.isfinite(pieces).all(axis=(1, 2))])
    return np.concatenate(walls) if walls else np.empty((0, 2, 2))


def _chain(outline: FloatArray) -> FloatArray:
    """The part of a closed outline with y > 0, as one open line, finely divided."""
    is_up = outline[:, 1] > 0.0
    starts = np.flatnonzero(is_up & ~np.roll(is_up, 1))
    if not len(starts):
        return outline[:0]
    turned_up = np.roll(outline, -starts[0], axis=0)
    count = int(np.argmin(np.roll(is_up, -starts[0])))
    line = turned_up[:count]
    share = np.linspace(0.0, 1.0, 9)[:-1, None, None]
    fine = line[:-1] + share * (line[1:] - line[:-1])
    return np.vstack([fine.transpose(1, 0, 2).reshape(-1, 2), line[-1:]])


def heights(shape: WheelShape, radii: FloatArray, top: bool) -> FloatArray:
    """Height z [mm] of the section's front (top) or back at radii (n,); NaN outside."""
    low, high = extent(outline_points(shape.drawing.section, CHORDS), radii)
    height = high if top else low
    return np.where(np.isfinite(height), height, np.nan)


def face_region(shape: WheelShape) -> Geometry:
    """Metal of the face view (x, y) [mm], not yet turned."""
    outer = float(outline_points(shape.drawing.section)[:, 0].max())
    bore = float(outline_points(shape.drawing.section)[:, 0].min())
    return metal(ring(outer), (ring(bore), *window_outlines(shape)))


def face_view(shape: WheelShape) -> list[Stroke]:
    """Face view in (x, y), seen from outboard, with the first spoke up.

    Returns
    -------
    list of Stroke
        In mm of the wheel.
    """
    region = face_region(shape)
    strokes = [Stroke("outline", edges(region)), _hidden_pockets(shape)]
    for radius, pen in _circles(shape):
        parts = part(region, sides(ring(radius)), within=True)
        strokes.append(Stroke(pen, parts))
    for cutter in shape.drawing.cutters:
        strokes += _cutter_circles(shape, cutter)
    return [Stroke(s.pen, turned_pieces(s.pieces, UP)) for s in strokes]


def _hidden_pockets(shape: WheelShape) -> Stroke:
    """Outlines of the back pockets' floors, hidden behind the spokes."""
    floors = [np.empty((0, 2, 2))]
    for pocket in shape.drawing.pockets:
        uv = outline_points(pocket.curves, CHORDS)
        for angle in pocket.angles:
            origin, (out, left, _) = pocket.frame(angle)
            placed = origin + uv[:, :1] * out + uv[:, 1:] * left
            floors.append(sides(placed[:, :2]))
    return Stroke("hidden", np.concatenate(floors))


def turned_pieces(pieces: FloatArray, angle: float) -> FloatArray:
    """Pieces (n, 2, 2) turned about the origin by an angle [rad]."""
    return turned(pieces.reshape(-1, 2), angle).reshape(-1, 2, 2)


def _circles(shape: WheelShape) -> list[tuple[float, str]]:
    """Radii [mm] and pens of the circles a revolved section shows from outboard."""
    circles = []
    for r, z in sharp_corners(shape):
        beside = heights(shape, np.array([r - 0.2, r + 0.2]), top=True)
        if not (beside > z + 0.5).any():
            circles.append((r, "outline"))
        elif r < shape.window_range[0]:
            circles.append((r, "hidden"))
    for curve in shape.drawing.section:
        if isinstance(curve, Arc) and curve.name in SOFT:
            circles += [(curve.start[0], "thin"), (curve.end[0], "thin")]
    return circles


def _cutter_circles(shape: WheelShape, cutter: RoundCutter) -> list[Stroke]:
    """Edges that a cutter of revolution leaves, seen along the axle."""
    low, high = shape.drawing.z_range
    rho = {cutter.reach}
    for curve in cutter.curves:
        if 0.0 < curve.start[0] and low < cutter.foot[1] + curve.start[1] < high:
            rho.add(round(curve.start[0], 3))
    radii = {min(rho), max(rho)}
    pieces = []
    for angle in cutter.angles:
        foot, _, across = cutter.frame(angle)
        round_ = np.array([-np.sin(angle), np.cos(angle), 0.0])
        for radius in radii:
            circle = ring(radius, 48)
            points = foot + circle[:, :1] * across + circle[:, 1:] * round_
            pieces.append(sides(points[:, :2]))
    top = cutter.foot[1] + max(curve.start[1] for curve in cutter.curves)
    front = heights(shape, np.array([cutter.foot[0]]), top=True)[0]
    return [Stroke("outline" if top > front else "hidden", np.concatenate(pieces))]
