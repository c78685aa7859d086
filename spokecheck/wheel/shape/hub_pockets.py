"""Lightening pockets between the bolts: round, blind, with a radius at the floor."""

import numpy as np

from spokecheck.plane.curves import Corner, round_corners
from spokecheck.plane.joints import without_short_lines
from spokecheck.wheel.shape.drawing import CLEARANCE, RoundCutter
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.hub_table import Bolts, Hub


def pocket_circle(hub: Hub, bolts: Bolts) -> float:
    """Radius [mm] of the circle of the pockets' axes."""
    wide = hub.pocket_circle_mm
    return (bolts.pitch_circle_mm if wide is None else wide) / 2.0


def floor_radius(hub: Hub) -> float:
    """Radius [mm] of a pocket at its floor, before rounding."""
    drop = hub.pocket_depth_mm * np.tan(np.deg2rad(hub.pocket_draft_deg))
    return float(hub.pocket_mm / 2.0 - drop)


def draw_pockets(design: Design, top: float) -> tuple[RoundCutter, ...]:
    """Draw the cutter of the pockets, if the design has any.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    top : float
        Highest z of the hub [mm].

    Returns
    -------
    tuple of RoundCutter
        None or one; heights are z.
    """
    hub, bolts = design.hub, design.bolts
    if hub.pocket_side == "none":
        return ()
    back = design.attachment
    if hub.pocket_side == "back":
        mouth, floor, end = back, back + hub.pocket_depth_mm, back - CLEARANCE
    else:
        mouth = back + hub.thickness_mm
        floor, end = mouth - hub.pocket_depth_mm, top + CLEARANCE
    foot, side = floor_radius(hub), "pocket side"
    # the sides run on beyond the mouth at their draft
    rate = (hub.pocket_mm / 2.0 - foot) / (mouth - floor)
    wide = foot + rate * (end - floor)
    key, fillet = "hub.pocket_radius_mm", "pocket fillet"
    corners = [
        Corner((0.0, floor), name="pocket floor"),
        Corner((foot, floor), hub.pocket_radius_mm, side, fillet, key),
        Corner((wide, end), name="cutter"),
        Corner((0.0, end), name="cutter"),
    ]
    curves = without_short_lines(round_corners(corners)[0])
    first = np.deg2rad(bolts.angle_deg) + np.pi / bolts.count
    angles = tuple(first + 2.0 * np.pi * k / bolts.count for k in range(bolts.count))
    return (RoundCutter(curves, (pocket_circle(hub, bolts), 0.0), angles, wide),)
