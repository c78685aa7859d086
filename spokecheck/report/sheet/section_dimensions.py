"""Dimensions of the section: diameters, widths, depths, walls, heights, fillets."""

from dataclasses import dataclass

import numpy as np

from spokecheck.plane.curves import Arc, Curve
from spokecheck.report.sheet.board import Board
from spokecheck.report.sheet.dimensions import horizontal, leader, linear, vertical
from spokecheck.report.sheet.sheet import polyline
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.departures import NOTED
from spokecheck.wheel.shape.rim import RimContour
from spokecheck.wheel.shape.rim_walls import Station
from spokecheck.wheel.shape.spoke_lines import spoke_lines
from spokecheck.wheel.shape.wheel_shape import WheelShape
from spokecheck.wheel.tables.rim_table import Rim

ROW = 7.5
"""Distance [mm] of dimension lines from each other."""

LIP_OFF = 4.0
"""Distance [mm] of the height of a lip from it."""

FILLETS = (
    "hub fillet, back",
    "hub fillet, face",
    "rim fillet, back",
    "rim fillet, face",
    "undercut fillet",
    "rim well corner",
    "cap recess fillet",
)
"""Roundings of the section that get a leader."""


@dataclass(frozen=True)
class Placed:
    """A view on the sheet: origin [mm of paper] and scale, paper over wheel."""

    origin: tuple[float, float]
    scale: float

    def __call__(self, x: float, y: float) -> FloatArray:
        """Point of the sheet."""
        return np.array(
            [self.origin[0] + self.scale * x, self.origin[1] + self.scale * y]
        )

    def pieces(self, pieces: FloatArray) -> FloatArray:
        """Pieces (n, 2, 2) on the sheet."""
        return np.asarray(self.scale * pieces + np.array(self.origin))


def number(value: float) -> str:
    """A size [mm] as it is written on a drawing: one decimal at most, none if whole.

    Examples
    --------
    >>> number(462.0), number(16.25), number(-0.01)
    ('462', '16.2', '0')
    """
    text = f"{value:.1f}"
    return {"-0.0": "0"}.get(text, text.removesuffix(".0"))


def dimension_section(board: Board, shape: WheelShape, place: Placed) -> None:
    """Draw all dimensions of the section; lettering waits for ``Board.settle``."""
    _centre_lines(board, shape, place)
    _diameters(board, shape, place)
    _rim_rows(board, shape, place)
    _heights(board, shape, place)
    _cap(board, shape, place)
    _spokes(board, shape, place)
    _undercut(board, shape, place)
    _walls(board, shape, place)
    _lips(board, shape, place)
    _fillets(board, shape, place)


def outer_radius(shape: WheelShape) -> float:
    """Largest radius of the wheel [mm]."""
    return shape.profile.contour.seat_radius + 17.5


def _centre_lines(board: Board, shape: WheelShape, place: Placed) -> None:
    """Axle, rim centre plane, and the axes of the bolts."""
    low, high = shape.drawing.z_range
    outer = outer_radius(shape)
    board.stroke("centre", polyline([place(low - 12, 0), place(high + 12, 0)]))
    board.stroke("centre", polyline([place(0, outer + 10), place(0, -outer - 10)]))
    face, front = shape.design.attachment, shape.design.hub.thickness_mm
    for sense in (1.0, -1.0):
        r = sense * shape.bolt_hole.foot[0]
        line = [place(face - 10, r), place(face + front + 10, r)]
        board.stroke("centre", polyline(line))


def _diameters(board: Board, shape: WheelShape, place: Placed) -> None:
    """Diameters, to the left: through the open barrel, small ones first."""
    design, contour = shape.design, shape.profile.contour
    face, left = design.attachment, shape.drawing.z_range[0]
    half = contour.half_width
    sizes = [
        (design.hub.bore_mm, face),
        (design.bolts.pitch_circle_mm, face),
        (design.hub.pad_diameter_mm, face),
        (2.0 * contour.seat_radius, -half),
        (2.0 * outer_radius(shape), left),
    ]
    for k, (size, z) in enumerate(sizes):
        x = float(place(left, 0)[0]) - ROW * (k + 1.0)
        ends = place(z, -size / 2.0), place(z, size / 2.0)
        linear(board, vertical(*ends, x), f"Ø{number(size)}")


def _rim_rows(board: Board, shape: WheelShape, place: Placed) -> None:
    """Widths of the rim, above it: seats and well, then rim width, then over all."""
    rim, contour = shape.design.rim, shape.profile.contour
    half, (low, high) = contour.half_width, shape.drawing.z_range
    top = float(place(0, outer_radius(shape))[1])
    air = contour.air
    (r_in, z_in), (r_out, z_out) = air[1], air[-2]
    well_in, well_out = _well(contour)
    rows = [
        (place(-half, contour.seat_radius), place(z_in, r_in), 1, rim.seat_width),
        (place(well_in[1], well_in[0]), place(well_out[1], well_out[0]), 1, None),
        (place(z_out, r_out), place(half, contour.seat_radius), 1, rim.seat_width),
    ]
    for a, b, row, size in rows:
        shown = float(b[0] - a[0]) / place.scale if size is None else size
        linear(board, horizontal(a, b, top + ROW * row), number(shown))
    middle = place((well_in[1] + well_out[1]) / 2.0, well_in[0])
    tick = np.array([0.0, 4.0])
    board.stroke("centre", polyline([middle - tick, middle + tick]))
    middle[1] = top + 1.0 * ROW + 5.0  # clear of the figure in the first row
    flange = place(half, contour.seat_radius)
    linear(
        board,
        horizontal(middle, flange, top + 2 * ROW),
        number(float(flange[0] - middle[0]) / place.scale),
    )
    ends = place(-half, contour.seat_radius), flange
    linear(board, horizontal(*ends, top + 3 * ROW), f"{number(2 * half)} ({rim.size})")
    edge = contour.seat_radius + 10.0
    ends = place(low, edge), place(high, edge)
    linear(board, horizontal(*ends, top + 4 * ROW), number(high - low))


def _well(contour: RimContour) -> tuple[FloatArray, FloatArray]:
    """Corners (r, z) of the well's bottom."""
    lowest = contour.air[:, 0].min()
    bottom = contour.air[contour.air[:, 0] < lowest + 0.5]
    return bottom[0], bottom[-1]


def _heights(board: Board, shape: WheelShape, place: Placed) -> None:
    """Inset, hub thickness and flange offsets, below, from the attachment face."""
    design = shape.design
    face, front = design.attachment, design.attachment + design.hub.thickness_mm
    low, high = shape.drawing.z_range
    foot = float(place(0, -outer_radius(shape))[1])
    pad, bore = design.hub.pad_diameter_mm / 2.0, design.hub.bore_mm / 2.0
    lip = outer_radius(shape) - 9.0
    datum = place(face, -pad)
    centre = place(0, -outer_radius(shape) - 10.0)
    side = (
        "middle" if abs(face) * place.scale > 12.0 else "start" if face > 0 else "end"
    )
    row = 1.0 if face > 0 else 3.0  # an outset lies over the hub's thickness
    linear(board, horizontal(centre, datum, foot - row * ROW), number(abs(face)), side)
    hub = place(front, -bore)
    linear(board, horizontal(datum, hub, foot - ROW), number(front - face))
    for z in (low, high):
        ends = horizontal(datum, place(z, -lip), foot - 2.0 * ROW)
        linear(board, ends, number(abs(z - face)))


def _cap(board: Board, shape: WheelShape, place: Placed) -> None:
    """Cap recess, to the right of the hub."""
    hub = shape.design.hub
    if hub.cap_mm is None:
        return
    front = shape.design.attachment + hub.thickness_mm
    floor, r = front - hub.cap_depth_mm, hub.cap_mm / 2.0
    x = float(place(shape.drawing.z_range[1], 0)[0]) + ROW
    linear(
        board, vertical(place(front, -r), place(front, r), x), f"Ø{number(hub.cap_mm)}"
    )
    y = float(place(0, 0)[1]) + 5.0
    ends = place(floor, 12.0), place(front, 12.0)
    linear(board, horizontal(*ends, y), number(hub.cap_depth_mm), "end")


def _spokes(board: Board, shape: WheelShape, place: Placed) -> None:
    """Depth of the spokes and height of their face, at root and tip, to the right."""
    design = shape.design
    lines = spoke_lines(design, shape.profile.contour).uncut
    face = design.attachment
    root, tip = float(lines.face[0, 0]), float(lines.face[-1, 0])
    datum = [place(face, design.hub.pad_diameter_mm / 2 + 3), place(face, tip - 3.0)]
    board.stroke("thin", polyline(datum))
    for name, r, step in (("root", root, 1.0), ("tip", tip, -1.0)):
        back, front = lines.at("back", r), lines.at("face", r)
        y = float(place(0, r)[1])
        depth = getattr(design.spokes, f"{name}_depth_mm")
        height = getattr(design.spokes, f"{name}_face_mm")
        span = horizontal(place(back, r), place(front, r), y)
        linear(board, span, number(depth), "end")
        level = y + step * ROW
        other = r + step * ROW / place.scale
        ends = place(face, other), place(lines.at("face", other), other)
        linear(board, horizontal(*ends, level), number(height), "end")


def _undercut(board: Board, shape: WheelShape, place: Placed) -> None:
    """Width of the undercut to the left of the spokes, its depth below its edge."""
    lines = spoke_lines(shape.design, shape.profile.contour)
    depth = shape.design.spokes.undercut_mm
    if lines.cut is None or depth is None:
        return
    (edge, z), (foot, floor) = lines.cut
    tip = shape.profile.contour.well_inner_radius
    x = float(place(z, 0)[0]) - ROW
    rim = lines.uncut.at("back", tip)
    ends = place(z, edge), place(rim, tip)
    linear(board, vertical(*ends, x), number(tip - edge), "start")
    y = float(place(0, edge)[1]) - ROW
    ends = place(z, edge), place(floor - lines.uncut.at("back", foot) + z, edge)
    linear(board, horizontal(*ends, y), number(depth), "start")


def _walls(board: Board, shape: WheelShape, place: Placed) -> None:
    """Walls of inboard seat, leg and well, below the axle, and where they taper."""
    rim, contour = shape.design.rim, shape.profile.contour
    air = contour.air
    well, corner = (contour.station(name) for name in ("well", "corner"))
    share = 0.75 if rim.well_corner_wall_mm is None else 0.25
    bed = (1.0 - share) * np.array(well.at) + share * np.array(corner.at)
    places = [
        ((air[0] + 2.0 * air[1]) / 3.0, rim.seat_wall(-1)),
        (bed, rim.well_wall_mm),
        *_leg_walls(rim, contour),
    ]
    if rim.well_corner_wall_mm is not None:
        places.append((np.array(corner.at), corner.wall))
    for (r, z), wall in places:
        x = float(place(z, 0)[0])
        ends = place(z, -r), place(z, -r + wall)
        linear(board, vertical(*ends, x), number(wall), "end")
    if rim.leg_taper_mm is not None:
        _run(board, place, contour.station("leg"), contour.station("taper"))
    if rim.well_corner_run_mm is not None:
        _run(board, place, corner, contour.station("bed"))


def _leg_walls(rim: Rim, contour: RimContour) -> list[tuple[FloatArray, float]]:
    """Where the leg's walls are shown, (r, z), and the walls [mm]."""
    seat, leg = (contour.station(name) for name in ("far seat", "leg"))
    if rim.leg_seat_wall_mm is None:
        middle = (np.array(seat.at) + np.array(leg.at)) / 2.0
        return [(middle, rim.leg_wall_mm)]
    return [(np.array(s.at), s.wall) for s in (seat, leg)]


def _run(board: Board, place: Placed, one: Station, other: Station) -> None:
    """Width a wall tapers in, inside the barrel."""
    level = min(s.at[0] - s.wall for s in (one, other))
    y = float(place(0, -level)[1]) + ROW
    a, b = (place(s.at[1], -s.at[0] + s.wall) for s in (one, other))
    linear(board, horizontal(a, b, y), number(abs(one.at[1] - other.at[1])))


def _lips(board: Board, shape: WheelShape, place: Placed) -> None:
    """Lips that differ from the usual: their height, and where they run out."""
    rim, contour = shape.design.rim, shape.profile.contour
    for side, flange in contour.flanges.items():
        r, z = contour.lip_foot(side)
        x = float(place(z, 0)[0]) + side * LIP_OFF
        if flange.lip != Rim.model_fields["lip_height_mm"].default:
            ends = place(z, -outer_radius(shape)), place(z, -r)
            linear(board, vertical(*ends, x), number(flange.lip), "end")
        run = rim.on(side, "lip_run_mm")
        if run is not None and rim.on(side, "flange_wall_mm") is None:
            level = -flange.under[0]
            under, face = (
                place(flange.under[1], level),
                place(z - side * flange.width, level),
            )
            y = float(under[1]) + ROW
            linear(board, horizontal(under, face, y), number(run))


def _fillets(board: Board, shape: WheelShape, place: Placed) -> None:
    """Fillets of spoke and rim, with the drawn radius of those that had to shrink."""
    shrunk = {
        (s.where, number(s.drawn))
        for s in shape.profile.reduced_radii
        if s.asked - s.drawn > NOTED
    }
    for name in FILLETS:
        arcs = [
            c
            for c in shape.profile.curves
            if c.name == name and isinstance(c, Arc) and c.radius > 0.5
        ]
        if not arcs:
            continue
        radii = sorted({number(arc.radius) for arc in arcs}, key=float)
        for radius in radii[:2]:
            own = [arc for arc in arcs if number(arc.radius) == radius]
            word = "drawn R" if (name, radius) in shrunk else "R"
            leader(board, [_tip(arc, place) for arc in own], word + radius)


def _tip(arc: Arc, place: Placed) -> tuple[FloatArray, FloatArray]:
    """Middle of an arc of the section, upper half, and the way to its centre."""
    (r, z), way = arc_middle(arc)
    return place(z, r), way[::-1]


def arc_middle(arc: Curve) -> tuple[FloatArray, FloatArray]:
    """Middle of an arc and the unit direction from there to its centre."""
    assert isinstance(arc, Arc)
    centre = np.array(arc.centre)
    out = (np.array(arc.start) + np.array(arc.end)) / 2.0 - centre
    out = out / np.linalg.norm(out)
    return centre + arc.radius * out, -out
