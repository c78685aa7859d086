"""Bolt holes: one cutter of revolution with a cone or ball seat, many copies.

References
----------
60-degree cone and ball seats of passenger-car wheels: common practice; a vocabulary of
taper, spherical and flat seats was read in a secondary transcription of a Japanese
standard.
"""

import numpy as np

from spokecheck.plane.curves import (
    Arc,
    Corner,
    Curve,
    Line,
    round_corners,
)
from spokecheck.plane.joints import without_short_lines
from spokecheck.wheel.shape.drawing import CLEARANCE, RoundCutter
from spokecheck.wheel.tables.hub_table import Bolts
from spokecheck.wheel.tables.surface_names import BOLT_SEAT

CONE_HALF_ANGLE = np.deg2rad(30.0)
"""60-degree cone seat, common practice in passenger-car wheels."""

SHORTEST_ARC = 1.5
"""Rounding between ball and counterbore that can be meshed, at least [mm along it]."""

LARGEST_ROUNDING = 0.6
"""Rounding between ball and counterbore over the seat's radius, at most."""


def seat_height(bolts: Bolts) -> float:
    """Axial height of the seat [mm]; nan for a ball smaller than its seat."""
    hole, seat = bolts.hole_mm / 2.0, bolts.seat_mm / 2.0
    if bolts.seat == "cone":
        return float((seat - hole) / np.tan(CONE_HALF_ANGLE))
    ball = bolts.ball_radius_mm
    if ball < max(seat, hole):
        return float("nan")
    return float(np.sqrt(ball**2 - hole**2) - np.sqrt(ball**2 - seat**2))


def draw_bolt_hole(bolts: Bolts, face: float, top: float) -> RoundCutter:
    """Draw the bolt-hole cutter of a design.

    Parameters
    ----------
    bolts : Bolts
        Must have passed ``hub_limits``.
    face : float
        z of the attachment face [mm].
    top : float
        Highest z of the hub [mm].

    Returns
    -------
    RoundCutter
        Heights are z: the foot of its axis lies at z = 0.
    """
    draw = _cone_seated if bolts.seat == "cone" else _ball_seated
    low, foot = face - CLEARANCE, face + bolts.land_mm
    curves = draw(bolts, low, foot, foot + seat_height(bolts), top + CLEARANCE)
    first = np.deg2rad(bolts.angle_deg)
    angles = tuple(first + 2.0 * np.pi * k / bolts.count for k in range(bolts.count))
    return RoundCutter(curves, (bolts.pitch_circle_mm / 2.0, 0.0), angles, bolts.reach)


def seat_band(cutter: RoundCutter) -> float:
    """Radial width [mm] of the seat that its roundings leave; 0 if they leave none."""
    seats = (curve for curve in cutter.curves if curve.name == BOLT_SEAT)
    return sum(seat.end[0] - seat.start[0] for seat in seats)


def _above(bolts: Bolts, end: float, top: float) -> list[Corner]:
    """Counterbore above the seat, which ends at height ``end``."""
    seat, wide, radius = bolts.seat_mm / 2.0, bolts.reach, bolts.counterbore_radius
    name = "bolt counterbore"
    if wide > seat:
        corners = [
            Corner((seat, end), name=name),
            Corner((wide, end), radius, name, "counterbore fillet"),
        ]
    else:
        corners = [Corner((seat, end), radius, name, name)]
    return [
        *corners,
        Corner((wide, top), name="cutter"),
        Corner((0.0, top), name="cutter"),
    ]


def _cone_seated(
    bolts: Bolts, low: float, foot: float, end: float, top: float
) -> tuple[Curve, ...]:
    hole = bolts.hole_mm / 2.0
    corners = [
        Corner((0.0, low), name="cutter"),
        Corner((hole, low), name="bolt hole"),
        Corner((hole, foot), name=BOLT_SEAT),
        *_above(bolts, end, top),
    ]
    return without_short_lines(round_corners(corners)[0])


def _ball_seated(
    bolts: Bolts, low: float, foot: float, end: float, top: float
) -> tuple[Curve, ...]:
    """As the cone, with the chord from ``foot`` to ``end`` replaced by the ball."""
    hole, seat, ball = bolts.hole_mm / 2.0, bolts.seat_mm / 2.0, bolts.ball_radius_mm
    centre = (0.0, foot + float(np.sqrt(ball**2 - hole**2)))
    below: list[Curve] = [
        Line((0.0, low), (hole, low), "cutter"),
        Line((hole, low), (hole, foot), "bolt hole"),
    ]
    if bolts.reach > seat:
        chain = _cone_seated(bolts, low, foot, end, top)
        last = next(k for k, c in enumerate(chain) if c.name == BOLT_SEAT)
        above = chain[last + 1 :]
        return (*below, Arc((hole, foot), above[0].start, centre, BOLT_SEAT), *above)
    rounding = ball_rounding(bolts)
    # inner tangent circle of ball and counterbore
    off, apart = seat - rounding, ball - rounding
    middle = (off, centre[1] - float(np.sqrt(apart**2 - off**2)))
    touch = (
        ball * off / apart,
        centre[1] + ball * (middle[1] - centre[1]) / apart,
    )
    wall = (seat, middle[1])
    blend = [Arc(touch, wall, middle, "bolt counterbore")] if rounding else []
    return (
        *below,
        Arc((hole, foot), touch if rounding else wall, centre, BOLT_SEAT),
        *blend,
        Line(wall, (seat, top), "bolt counterbore"),
        Line((seat, top), (0.0, top), "cutter"),
        Line((0.0, top), (0.0, low), "cutter"),
    )


def ball_rounding(bolts: Bolts) -> float:
    """Radius [mm] between ball and counterbore; raised until its arc can be meshed.

    Where the ball ends almost upright there is nothing to round.
    """
    seat, ball = bolts.seat_mm / 2.0, bolts.ball_radius_mm
    turn = float(np.arccos(min(1.0, seat / ball)))
    if turn < np.deg2rad(5.0):
        return 0.0
    return min(
        max(bolts.counterbore_radius, SHORTEST_ARC / turn), LARGEST_ROUNDING * seat
    )
