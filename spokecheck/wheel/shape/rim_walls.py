"""The rim's tyre side and the wall under it, station by station.

Between stations the wall tapers in a straight line.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from spokecheck.plane.curves import Point
from spokecheck.wheel.tables.rim_table import SEAT_TAPER, Rim

CONTOUR_RADIUS = 8.0
"""Roundings of well and ledges [mm], common practice."""

BLEND = 4.0
"""What the rounding at the end of a taper takes of both its sides [mm], common
practice: so flat a corner would stay sharp with ``CONTOUR_RADIUS``."""

STRAIGHT = ("taper", "bed")
"""Stations at which the tyre side runs on straight."""


@dataclass(frozen=True)
class Station:
    """A point of the tyre side with the wall under it.

    Attributes
    ----------
    name : str
        ``far heel``, ``far seat``, ``taper``, ``leg``, ``well``, ``bed``, ``corner``,
        ``near seat`` or ``near heel``, counted from the well's flange.
    at : tuple of float
        (r, z) [mm].
    wall : float
        Wall [mm], square to the tyre side.
    tapers : bool
        A taper ends there: the inner side is rounded over ``BLEND``, else with
        ``CONTOUR_RADIUS``.
    """

    name: str
    at: Point
    wall: float
    tapers: bool = False

    def rounding(self, turn: float) -> float:
        """Radius [mm] of the inner side's corner, which turns by an angle [rad]."""
        if not self.tapers:
            return CONTOUR_RADIUS
        return max(CONTOUR_RADIUS, BLEND / max(float(np.tan(abs(turn) / 2.0)), 1e-6))


def rim_stations(rim: Rim, r0: float, half: float) -> tuple[Station, ...]:
    """Stations of a rim from its inboard heel to the outboard one.

    Parameters
    ----------
    rim : Rim
        Table of the design file.
    r0, half : float
        Radius of the seats at the flange, half the rim width [mm].

    Returns
    -------
    tuple of Station
    """
    if rim.well_side == "outboard":
        return tuple(_outward(rim, r0, half, 1))
    return tuple(
        Station(s.name, (s.at[0], -s.at[1]), s.wall, s.tapers)
        for s in reversed(list(_outward(rim, r0, half, -1)))
    )


def _outward(rim: Rim, r0: float, half: float, mount: int) -> Iterator[Station]:
    """Stations towards the well's flange, which lies at the side ``mount``."""
    r_seat = r0 - float(np.tan(SEAT_TAPER)) * rim.seat_width
    r_leg, r_well = r0 - rim.leg_drop_mm, r0 - rim.well_depth
    well_out = half - rim.well_position + rim.well_width_mm / 2.0
    well_in = well_out - rim.well_width_mm
    far, near = rim.seat_wall(-mount), rim.seat_wall(mount)
    leg = (r_leg, half - rim.flange_to_leg)
    thin = rim.leg_seat_wall_mm
    seat = (r_seat, -half + rim.seat_width)
    yield Station("far heel", (r0, -half), far)
    if thin is None:
        yield Station("far seat", seat, (far + rim.leg_wall_mm) / 2.0)
        yield Station("leg", leg, rim.leg_wall_mm)
    else:
        yield Station("far seat", seat, thin, tapers=True)
        if rim.leg_taper_mm is not None:
            at = _between(leg, seat, rim.leg_taper_mm)
            yield Station("taper", at, thin, tapers=True)
        yield Station("leg", leg, rim.leg_wall_mm)
    well, corner = (r_well, well_in), (r_well, well_out)
    yield Station("well", well, rim.well_wall_mm)
    if rim.well_corner_run_mm is not None:
        at = _between(corner, well, rim.well_corner_run_mm)
        yield Station("bed", at, rim.well_wall_mm, tapers=True)
    yield Station("corner", corner, rim.well_corner_wall_mm or rim.well_wall_mm)
    yield Station("near seat", (r_seat, half - rim.seat_width), near)
    yield Station("near heel", (r0, half), near)


def _between(start: Point, end: Point, width: float) -> Point:
    """Point on a straight side, an axial width [mm] from its start."""
    reach = abs(end[1] - start[1])
    # limits refuse what reaches further, which still has to be drawn
    share = min(width / max(reach, 1e-3), 0.9)
    r, z = ((1.0 - share) * a + share * b for a, b in zip(start, end, strict=True))
    return r, z
