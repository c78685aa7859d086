"""Dimensions of the face view: spokes, windows, bolts, and the cutting plane."""

from dataclasses import dataclass

import numpy as np

from spokecheck.report.board import ARROW, Board
from spokecheck.report.dimensions import Span, leader, linear
from spokecheck.report.planes import CutPlanes, cut_planes
from spokecheck.report.regions import ring, turned
from spokecheck.report.section_dimensions import (
    Placed,
    arc_middle,
    number,
    outer_radius,
)
from spokecheck.report.sheet import Words, polyline
from spokecheck.report.views import UP
from spokecheck.units import FloatArray
from spokecheck.wheel.curves import Arc
from spokecheck.wheel.polygons import sides
from spokecheck.wheel.shape import WheelShape

MOST_RADII = 8
"""Radii written at most for one kind of window."""


@dataclass(frozen=True)
class Bar:
    """Where a spoke's width is measured: middle, outward direction, width [mm]."""

    middle: FloatArray
    along: FloatArray
    width: float


def dimension_face(board: Board, shape: WheelShape, at: Placed) -> None:
    """Draw all dimensions of the face view; lettering waits for ``Board.settle``."""
    planes = cut_planes(shape)
    _cutting_plane(board, shape, planes, at)
    _bolt_circle(board, shape, at)
    for bar in measured_bars(shape):
        _width(board, bar, at)
    _bolt_call(board, shape, at)
    _window_radii(board, shape, at)


def measured_bars(shape: WheelShape) -> list[Bar]:
    """Spokes to measure, at root and tip: next to the one that is cut."""
    spokes = shape.design.spokes
    turn = 2.0 * np.pi / spokes.count * round(spokes.count / 4.0)
    along = turned(np.array([[1.0, 0.0]]), turn)[0]
    ends = (
        (spokes.root_radius_mm, spokes.root_width_mm),
        (shape.profile.contour.well_inner_radius, spokes.tip_width_mm),
    )
    return [Bar(r * along, along, width) for r, width in ends]


def _cutting_plane(
    board: Board, shape: WheelShape, planes: CutPlanes, at: Placed
) -> None:
    """Trace of the section: chained, wide where it ends or bends, with its letter."""
    outer = outer_radius(shape) + 16.0
    path = [_polar(outer, planes.spoke), np.zeros(2)]
    if abs(planes.bolt - planes.window) > 1e-6:
        bend = np.linspace(planes.bolt, planes.window, 24)
        path += [_polar(planes.bend, float(a)) for a in bend]
    path.append(_polar(outer, planes.window))
    line = np.array([at(*point) for point in turned(np.array(path), UP)])
    board.stroke("plane", polyline(line))
    for end, inner in ((line[0], line[1]), (line[-1], line[-2])):
        way = (inner - end) / np.linalg.norm(inner - end)
        board.stroke("plane end", polyline([end, end + 6.0 * way]))
        look = np.array([1.0, 0.0])
        foot = end - (ARROW + 5.0) * look
        board.stroke("edge", polyline([foot, end - 0.5 * look]))
        board.arrow(end - 0.4 * look, look)
        place = foot - np.array([1.5, 0.0])
        board.letter(
            Words("A", (float(place[0]), float(place[1])), 5.0, 0.0, "right", "center")
        )


def _polar(radius: float, angle: float) -> FloatArray:
    return np.array([radius * np.cos(angle), radius * np.sin(angle)])


def _bolt_circle(board: Board, shape: WheelShape, at: Placed) -> None:
    """Pitch circle, and the mark of each bolt's axis on it."""
    outer, circle = outer_radius(shape), shape.bolt_hole.foot[0]
    board.stroke("centre", polyline([at(-outer - 8, 0), at(outer + 8, 0)]))
    board.stroke("centre", polyline([at(0, -outer - 8), at(0, outer + 8)]))
    board.stroke("centre", at.pieces(sides(ring(circle))))
    reach = shape.bolt_hole.reach + 5.0
    for angle in shape.bolt_hole.angles:
        ends = [_polar(circle - reach, angle), _polar(circle + reach, angle)]
        line = [at(*p) for p in turned(np.array(ends), UP)]
        board.stroke("centre", polyline(line))


def _width(board: Board, bar: Bar, at: Placed) -> None:
    """Width of a spoke, measured square to its centre-line."""
    middle, along = turned(np.stack([bar.middle, bar.along]), UP)
    across = np.array([-along[1], along[0]])
    if across[0] < -1e-9 or (abs(across[0]) <= 1e-9 and across[1] < 0):
        across = -across
    ends = [at(*(middle + s * bar.width / 2.0 * across)) for s in (-1.0, 1.0)]
    left = np.array([-across[1], across[0]])
    linear(
        board,
        Span(ends[0], ends[1], across, float(ends[0] @ left)),
        number(bar.width),
    )


def _bolt_call(board: Board, shape: WheelShape, at: Placed) -> None:
    """Bolt holes, called out once from the edge of any of them."""
    bolts, hole = shape.design.bolts, shape.bolt_hole
    tips = []
    for angle in hole.angles:
        centre = turned(_polar(hole.foot[0], angle)[None], UP)[0]
        out = centre / np.linalg.norm(centre)
        tips.append((at(*(centre + hole.reach * out)), out))
    text = f"{bolts.count}x Ø{number(bolts.hole_mm)} / Ø{number(bolts.seat_mm)}, 60°"
    leader(board, tips, text)


def _window_radii(board: Board, shape: WheelShape, at: Placed) -> None:
    """Each radius of each kind of window once, in whichever copy has room."""
    told: set[str] = set()
    for window in shape.windows:
        for curve in window.curves:
            if not isinstance(curve, Arc):
                continue
            radius = number(curve.radius)
            if radius in told or len(told) >= MOST_RADII or curve.radius > 2000.0:
                continue
            told.add(radius)
            middle, way = arc_middle(curve)
            if np.hypot(*curve.centre) < 1e-6 and middle @ middle < np.hypot(*middle):
                way = -way
            tips = []
            for angle in window.angles:
                pair = turned(np.stack([middle, _into(window.curves, curve)]), angle)
                pair = turned(pair, UP)
                tips.append((at(*pair[0]), pair[1]))
            leader(board, tips, f"R{radius}")


def _into(curves: tuple[object, ...], arc: Arc) -> FloatArray:
    """Unit direction from the middle of an arc into its window."""
    middle, way = arc_middle(arc)
    start, end = np.array(arc.start) - middle, np.array(arc.end) - middle
    side = end - start
    left = np.array([-side[1], side[0]])
    return way if left @ way > 0 else -way
