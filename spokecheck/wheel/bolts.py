"""Bolt holes: one cutter of revolution with a 60-degree cone seat, many copies."""

import numpy as np

from spokecheck.wheel.curves import Corner, round_corners
from spokecheck.wheel.design import Design
from spokecheck.wheel.drawing import RoundCutter

CONE_HALF_ANGLE = np.deg2rad(30.0)
"""60-degree cone seat, common practice in passenger-car wheels."""

SEAT_ROUNDING = 3.0
"""Radius [mm] between cone and counterbore, common practice."""

CLEARANCE = 5.0
"""How far [mm] a cutter sticks out of the part."""


def seat_height(design: Design) -> float:
    """Axial height of the cone seat [mm]."""
    bolts = design.bolts
    return float((bolts.seat_mm - bolts.hole_mm) / 2.0 / np.tan(CONE_HALF_ANGLE))


def draw_bolt_hole(design: Design, top: float) -> RoundCutter:
    """Draw the bolt-hole cutter of a design.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    top : float
        Highest z of the hub [mm].

    Returns
    -------
    RoundCutter
    """
    bolts, z0 = design.bolts, design.attachment
    hole, seat = bolts.hole_mm / 2.0, bolts.seat_mm / 2.0
    low, foot = z0 - CLEARANCE, z0 + bolts.land_mm
    corners = [
        Corner((0.0, low), name="cutter"),
        Corner((hole, low), name="bolt hole"),
        Corner((hole, foot), name="bolt seat"),
        Corner(
            (seat, foot + seat_height(design)),
            SEAT_ROUNDING,
            "bolt counterbore",
            "bolt counterbore",
        ),
        Corner((seat, top + CLEARANCE), name="cutter"),
        Corner((0.0, top + CLEARANCE), name="cutter"),
    ]
    curves, _ = round_corners(corners)
    first = np.deg2rad(bolts.angle_deg)
    angles = tuple(first + 2.0 * np.pi * k / bolts.count for k in range(bolts.count))
    return RoundCutter(curves, (bolts.pitch_circle_mm / 2.0, 0.0), angles, seat)
