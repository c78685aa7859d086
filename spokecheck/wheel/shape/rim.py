"""Rim contour in the (r, z) plane: 5-degree drop centre with J flanges.

Points run from the inboard flange to the outboard one.

References
----------
ISO 4000-2:2013 (JIS D 4218:2021 Table 3): G = 17.5 +/- 1.0 mm flange height, R2 at
least 9.5 mm, P, H, L, M as minimum or maximum envelope; the figure that shows M was not
seen.
ETRTO Standards Manual 2017, pages R.8, R.9 and R.11, all read in a secondary
transcription: G = 17.3 mm, a heel of at most 6.5 mm, a taper of 5 degrees, a well flank
of at least 20 degrees, well radii of 4 to 10 mm (the 10 unsure), M to the near end of
the well bottom (unsure), and for code 21 a round hump of circumference 1693 mm at least
21 mm from the flange: its top lies 2.2 mm above the extended seat.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from spokecheck.plane.curves import (
    Corner,
    Point,
    angle_between,
    as_point,
    crossing,
    offset_line,
)
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.hump import hump_of
from spokecheck.wheel.shape.rim_walls import (
    CONTOUR_RADIUS,
    STRAIGHT,
    Station,
    rim_stations,
)
from spokecheck.wheel.tables.rim_table import SEAT_TAPER, Rim
from spokecheck.wheel.tables.sizes import parse_rim_size
from spokecheck.wheel.tables.surface_names import SEATS, WELL, WELL_CORNER

FLANGE_HEIGHT = 17.5
"""G [mm], JIS D 4218:2021 Table 3, +/- 1.0; the ETRTO manual has 17.3 (secondary)."""

FLANGE_RADIUS = 9.5
"""R2 [mm], at least this, JIS D 4218:2021 Table 3."""

HEEL_RADIUS = 6.5
"""Between bead seat and flange [mm], at most this by the ETRTO manual 2017 p. R.8 (read
in a secondary transcription)."""

LIP_RUN = 2.0
"""From the flange face to where its underside leaves the rim [mm] unless given, common
practice."""

SIDES = {-1: "inboard", 1: "outboard"}


@dataclass(frozen=True)
class Flange:
    """One flange of the rim.

    Attributes
    ----------
    width, lip, edge : float
        Width, height of the outer edge, and rounding of that edge (0: sharp) [mm].
    under : tuple of float
        Where its underside leaves the inner side of the rim, (r, z) [mm].
    blend : float
        Rounding there [mm]; 0 where the corner is convex.
    """

    width: float
    lip: float
    edge: float
    under: Point
    blend: float = 0.0


@dataclass(frozen=True)
class RimContour:
    """The rim's two sides, from inboard to outboard.

    Attributes
    ----------
    stations : tuple of Station
        Tyre side without humps, and the wall under each of its points.
    inner : ndarray (n, 2)
        The other side of the wall, point by point, (r, z) [mm].
    tyre_side : tuple of Corner
        Corners of the tyre side between the heels, humps included.
    flanges : mapping of int to Flange
        By side, -1 inboard and 1 outboard.
    seat_radius, half_width : float
        Radius of the seats at the flange, half the rim width [mm].
    """

    stations: tuple[Station, ...]
    inner: FloatArray
    tyre_side: tuple[Corner, ...]
    flanges: Mapping[int, Flange]
    seat_radius: float
    half_width: float

    @property
    def air(self) -> FloatArray:
        """Tyre side without humps (n, 2): seat, leg, well, seat; (r, z) [mm]."""
        return np.array([station.at for station in self.stations])

    @property
    def flank(self) -> tuple[int, int]:
        """Numbers of the points of ``air`` at the ends of the well's outboard flank."""
        names = [station.name for station in self.stations]
        end = max(names.index("well"), names.index("corner"))
        return end, end + 1

    def station(self, name: str) -> Station:
        """The station of a name."""
        return next(station for station in self.stations if station.name == name)

    @property
    def well_inner_radius(self) -> float:
        """Smallest radius of the inner side [mm]."""
        return float(self.inner[:, 0].min())

    @property
    def under_side(self) -> FloatArray:
        """Inner side (8, 2) with the underside of the outboard flange."""
        ends = [self.flanges[1].under, self.lip_foot(1)]
        return np.vstack([self.inner[:-1], ends])

    def lip_foot(self, side: int) -> Point:
        """Lower corner of a flange's outer edge, (r, z) [mm]."""
        flange = self.flanges[side]
        top = self.seat_radius + FLANGE_HEIGHT
        return top - flange.lip, side * (self.half_width + flange.width)


def rim_contour(rim: Rim) -> RimContour:
    """Contour of a rim.

    Parameters
    ----------
    rim : Rim
        Table of the design file.

    Returns
    -------
    RimContour
    """
    size = parse_rim_size(rim.size)
    r0, half = size.diameter / 2.0, size.width / 2.0
    stations = rim_stations(rim, r0, half)
    inner = _inner_side(stations)
    flanges = {side: _flange(rim, inner, side, r0, half) for side in SIDES}
    bends = np.array([s.at for s in stations if s.name not in STRAIGHT])
    corners = tuple(_tyre_side(rim, bends, r0, half))
    return RimContour(stations, inner, corners, flanges, r0, half)


def _inner_side(stations: Sequence[Station]) -> FloatArray:
    """Inner side (n, 2) of the wall, station by station [mm]."""
    return offset_line(
        np.array([station.at for station in stations]),
        np.array([station.wall for station in stations]),
    )


def _flange(rim: Rim, inner: FloatArray, side: int, r0: float, half: float) -> Flange:
    width = rim.on(side, "flange_width_mm") or rim.flange_width_mm
    lip = rim.on(side, "lip_height_mm") or rim.lip_height_mm
    edge = rim.on(side, "edge_radius_mm") or 0.0
    wall = rim.on(side, "flange_wall_mm")
    end, before = (inner[-1], inner[-2]) if side > 0 else (inner[0], inner[1])
    if wall is None:
        leaves = _lip_end(rim, side, end, before, half)
        stands_in = r0 + FLANGE_HEIGHT - lip < leaves[0]
        return Flange(width, lip, edge, leaves, CONTOUR_RADIUS if stands_in else 0.0)
    # tangent from the lip to a circle about the heel's centre, as s = side * z grows
    mirror = np.array([1.0, side])
    foot = np.array([r0 + FLANGE_HEIGHT - lip, half + width])
    heel = np.array(
        [
            r0 - np.tan(SEAT_TAPER) * HEEL_RADIUS + HEEL_RADIUS / np.cos(SEAT_TAPER),
            half - HEEL_RADIUS,
        ]
    )
    off = heel - foot
    reach = HEEL_RADIUS + wall
    swing = np.arcsin(min(1.0, reach / float(np.linalg.norm(off))))
    c, s = np.cos(swing), np.sin(swing)
    along = np.array([[c, s], [-s, c]]) @ off
    under = crossing(foot, along, end * mirror, (end - before) * mirror)
    return Flange(width, lip, edge, as_point(under * mirror))


def _lip_end(
    rim: Rim, side: int, end: FloatArray, before: FloatArray, half: float
) -> Point:
    """Where the underside of a flange without a wall of its own leaves the rim."""
    run = rim.on(side, "lip_run_mm")
    if run is None:
        return float(end[0]), side * (half - LIP_RUN)
    # limits refuse what runs beyond the seat, which still has to be drawn
    share = min((side * (half - run) - end[1]) / (before[1] - end[1]), 0.9)
    return as_point(end + share * (before - end))


def _tyre_side(rim: Rim, air: FloatArray, r0: float, half: float) -> list[Corner]:
    """Corners between the heels: hump, seat end, leg and well, seat end, hump."""
    well, key = WELL, "rim.well_radius_mm"
    inner = [
        Corner((float(r), float(z)), rim.well_radius_mm, well, WELL_CORNER, key)
        for r, z in air[1:-1]
    ]
    first, last = inner[0], inner[-1]
    seat = SEATS[1]
    if not rim.has_hump(1):
        inner[-1] = Corner(last.at, last.radius, seat, last.fillet, key)
    else:
        hump = hump_of(rim, r0, half)
        end = hump.seat_end(rim, np.array(air[-2]), np.array(air[-3]))
        inner[-1] = Corner(last.at, end, well)
        inner += hump.corners(1, seat)
    if rim.has_hump(-1):
        hump = hump_of(rim, r0, half)
        end = hump.seat_end(rim, air[1] * [1, -1], air[2] * [1, -1])
        inner[0] = Corner(first.at, end, well)
        inner = [*hump.corners(-1, well), *inner]
    return inner


def flange_corners(contour: RimContour, side: int) -> list[Corner]:
    """Corners of one flange, from the tyre side over its top to the inner side.

    Parameters
    ----------
    contour : RimContour
        Contour of the rim.
    side : {-1, 1}
        -1 for the inboard flange, 1 for the outboard one.
    """
    where, flange = SIDES[side], contour.flanges[side]
    r0, top = contour.seat_radius, contour.seat_radius + FLANGE_HEIGHT
    z, foot = side * contour.half_width, contour.lip_foot(side)
    bead, rim_edge = f"flange {where}, bead side", f"flange {where}"
    edge = f"flange edge {where}"
    return [
        Corner((r0, z), HEEL_RADIUS, bead, bead),
        Corner((top, z), FLANGE_RADIUS, rim_edge, rim_edge),
        Corner((top, foot[1]), flange.edge, rim_edge, edge),
        Corner(foot, flange.edge, rim_edge, edge),
        Corner(flange.under, flange.blend, "rim inner"),
    ]


def inner_corners(contour: RimContour) -> list[Corner]:
    """Rounded corners of the inner side, from inboard to outboard, ends included."""
    side = np.diff(contour.inner, axis=0)
    turns = [angle_between(a, b) for a, b in pairwise(side)]
    return [
        Corner(as_point(at), station.rounding(turn), "rim inner")
        for at, station, turn in zip(
            contour.inner, contour.stations, (0.0, *turns, 0.0), strict=True
        )
    ]


def inner_crossing(
    contour: RimContour, start: FloatArray, along: FloatArray
) -> tuple[int, FloatArray] | None:
    """First side that a ray meets: inner contour, or the outboard flange's underside.

    Parameters
    ----------
    contour : RimContour
        Contour of the rim.
    start, along : ndarray (2,)
        Start (r, z) and direction, both outward in r.

    Returns
    -------
    (side, point) or None
        Number of the side, the last for the underside, and the crossing; None if the
        ray passes the rim.
    """
    best = None
    for k, (a, b) in enumerate(pairwise(contour.under_side)):
        point = crossing(start, along, a, b - a)
        t = float((point - a) @ (b - a) / ((b - a) @ (b - a)))
        reach = float((point - start) @ along)
        if -1e-9 <= t <= 1.0 and reach > 0 and (best is None or reach < best[0]):
            best = (reach, k, point)
    return None if best is None else (best[1], best[2])
