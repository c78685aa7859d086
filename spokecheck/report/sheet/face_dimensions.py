"""Dimensions of the face view: spokes, windows, bolts, and the cutting plane."""

from dataclasses import dataclass

import numpy as np

from spokecheck.plane.curves import Arc, Line, turned
from spokecheck.plane.polygons import sides
from spokecheck.report.sheet.board import ARROW, Board
from spokecheck.report.sheet.dimensions import Span, leader, linear
from spokecheck.report.sheet.regions import ring
from spokecheck.report.sheet.section_dimensions import (
    Placed,
    arc_middle,
    number,
    outer_radius,
)
from spokecheck.report.sheet.section_planes import CutPlanes, cut_planes
from spokecheck.report.sheet.sheet import Words, polyline
from spokecheck.report.sheet.views import UP
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.edge_strips import along_outline
from spokecheck.wheel.shape.patterns import lay_bars
from spokecheck.wheel.shape.wheel_shape import WheelShape

MOST_RADII = 8
"""Radii written at most for one kind of window."""


@dataclass(frozen=True)
class Girth:
    """Where a spoke's width is measured: middle, outward direction, width [mm]."""

    middle: FloatArray
    along: FloatArray
    width: float


def dimension_face(board: Board, shape: WheelShape, place: Placed) -> None:
    """Draw all dimensions of the face view; lettering waits for ``Board.settle``."""
    planes = cut_planes(shape)
    _cutting_plane(board, shape, planes, place)
    _bolt_circle(board, shape, place)
    for girth in measured_girths(shape):
        _width(board, girth, place)
    _bolt_call(board, shape, place)
    _pocket_call(board, shape, place)
    _window_radii(board, shape, place)
    _window_edges(board, shape, place)


def measured_girths(shape: WheelShape) -> list[Girth]:
    """Ends of the bars of one repeat of the pattern, a quarter turn from the section.

    Bars that are equal, mirrored or of even width are measured once.
    """
    spokes = shape.design.spokes
    n = spokes.repeats
    turn = 2.0 * np.pi / n * round(n / 4.0)
    girths: list[Girth] = []
    measured: set[tuple[str, int]] = set()
    for bar in lay_bars(spokes, shape.profile.contour.well_inner_radius):
        placed = bar.turned(turn)
        widths = [number(float(width)) for width in bar.widths]
        ends = [len(widths) - 1] if widths[0] == widths[-1] else [0, len(widths) - 1]
        if bar.after == 0.0:  # it goes on in others
            ends = [0]
        for k in ends:
            mark = (widths[k], round(float(np.hypot(*placed.points[k]))))
            if mark not in measured:
                measured.add(mark)
                width = float(placed.widths[k])
                girths.append(Girth(placed.points[k], placed.along[k], width))
    return girths


def _cutting_plane(
    board: Board, shape: WheelShape, planes: CutPlanes, place: Placed
) -> None:
    """Trace of the section: chained, wide where it ends or bends, with its letter."""
    outer = outer_radius(shape) + 16.0
    path = [_polar(outer, planes.spoke), np.zeros(2)]
    if abs(planes.bolt - planes.window) > 1e-6:
        bend = np.linspace(planes.bolt, planes.window, 24)
        path += [_polar(planes.bend, float(a)) for a in bend]
    path.append(_polar(outer, planes.window))
    line = np.array([place(*point) for point in turned(np.array(path), UP)])
    board.stroke("plane", polyline(line))
    for end, inner in ((line[0], line[1]), (line[-1], line[-2])):
        way = (inner - end) / np.linalg.norm(inner - end)
        board.stroke("plane end", polyline([end, end + 6.0 * way]))
        look = np.array([1.0, 0.0])
        foot = end - (ARROW + 5.0) * look
        board.stroke("edge", polyline([foot, end - 0.5 * look]))
        board.arrow(end - 0.4 * look, look)
        letter_at = foot - np.array([1.5, 0.0])
        board.letter(
            Words(
                "A",
                (float(letter_at[0]), float(letter_at[1])),
                5.0,
                0.0,
                "right",
                "center",
            )
        )


def _polar(radius: float, angle: float) -> FloatArray:
    return np.array([radius * np.cos(angle), radius * np.sin(angle)])


def _bolt_circle(board: Board, shape: WheelShape, place: Placed) -> None:
    """Pitch circle, and the mark of each bolt's axis on it."""
    outer, circle = outer_radius(shape), shape.bolt_hole.foot[0]
    board.stroke("centre", polyline([place(-outer - 8, 0), place(outer + 8, 0)]))
    board.stroke("centre", polyline([place(0, -outer - 8), place(0, outer + 8)]))
    board.stroke("centre", place.pieces(sides(ring(circle))))
    reach = shape.bolt_hole.reach + 5.0
    for angle in shape.bolt_hole.angles:
        ends = [_polar(circle - reach, angle), _polar(circle + reach, angle)]
        line = [place(*p) for p in turned(np.array(ends), UP)]
        board.stroke("centre", polyline(line))


def _width(board: Board, bar: Girth, place: Placed) -> None:
    """Width of a spoke, measured square to its centre-line."""
    middle, along = turned(np.stack([bar.middle, bar.along]), UP)
    across = np.array([-along[1], along[0]])
    if across[0] < -1e-9 or (abs(across[0]) <= 1e-9 and across[1] < 0):
        across = -across
    ends = [place(*(middle + s * bar.width / 2.0 * across)) for s in (-1.0, 1.0)]
    left = np.array([-across[1], across[0]])
    linear(
        board,
        Span(ends[0], ends[1], across, float(ends[0] @ left)),
        number(bar.width),
    )


def _bolt_call(board: Board, shape: WheelShape, place: Placed) -> None:
    """Bolt holes, called out once from the edge of any of them."""
    bolts, hole = shape.design.bolts, shape.bolt_hole
    tips = []
    for angle in hole.angles:
        centre = turned(_polar(hole.foot[0], angle)[None], UP)[0]
        out = centre / np.linalg.norm(centre)
        tips.append((place(*(centre + hole.reach * out)), out))
    seat = "60°" if bolts.seat == "cone" else f"SR{number(bolts.ball_radius_mm)}"
    text = f"{bolts.count}x Ø{number(bolts.hole_mm)} / Ø{number(bolts.seat_mm)}, {seat}"
    if bolts.counterbore_mm is not None:
        text += f" / Ø{number(bolts.counterbore_mm)}"
    leader(board, tips, text)


def _pocket_call(board: Board, shape: WheelShape, place: Placed) -> None:
    """Pockets of the hub and the valve hole, called out once."""
    hub = shape.design.hub
    for cutter in shape.drawing.cutters:
        if cutter is shape.bolt_hole:
            continue
        is_valve = any(curve.name == "valve hole" for curve in cutter.curves)
        tips = []
        for angle in cutter.angles:
            centre = turned(_polar(cutter.foot[0], angle)[None], UP)[0]
            out = centre / np.linalg.norm(centre)
            tips.append((place(*(centre + cutter.reach * out)), out))
        if is_valve:
            leader(board, tips, f"valve Ø{number(shape.design.rim.valve_mm)}")
            continue
        text = f"{len(cutter.angles)}x Ø{number(hub.pocket_mm)}"
        leader(board, tips, f"{text}, {number(hub.pocket_depth_mm)} deep")


def _window_radii(board: Board, shape: WheelShape, place: Placed) -> None:
    """Each radius of each kind of window once, in whichever copy has room."""
    written: set[str] = set()
    for window in shape.windows:
        for curve in window.curves:
            if not isinstance(curve, Arc) or curve.name == "spoke side":
                continue
            radius = number(curve.radius)
            if radius in written or len(written) >= MOST_RADII or curve.radius > 2000.0:
                continue
            written.add(radius)
            middle, way = arc_middle(curve)
            if np.hypot(*curve.centre) < 1e-6 and middle @ middle < np.hypot(*middle):
                way = -way
            tips = []
            for angle in window.angles:
                pair = turned(np.stack([middle, _into(window.curves, curve)]), angle)
                pair = turned(pair, UP)
                tips.append((place(*pair[0]), pair[1]))
            leader(board, tips, f"R{radius}")


def _window_edges(board: Board, shape: WheelShape, place: Placed) -> None:
    """Rounded edges of the windows, called out once from the middle of any side."""
    radii = {strip.name: strip.radius for strip in shape.drawing.edges}
    if not radii:
        return
    words = [f"{name.split(', ')[1]} R{number(r)}" for name, r in radii.items()]
    tips = []
    for strip in shape.drawing.edges:
        if not isinstance(strip.curve, Line):
            continue
        middle, away = along_outline(strip.curve, np.array([0.5]))
        for angle in strip.angles:
            at, way = turned(turned(np.vstack([middle, -away]), angle), UP)
            tips.append((place(*at), way))
    if tips:
        leader(board, tips, f"edge: {', '.join(words)}")


def _into(curves: tuple[object, ...], arc: Arc) -> FloatArray:
    """Unit direction from the middle of an arc into its window."""
    middle, way = arc_middle(arc)
    start, end = np.array(arc.start) - middle, np.array(arc.end) - middle
    side = end - start
    left = np.array([-side[1], side[0]])
    return way if left @ way > 0 else -way
