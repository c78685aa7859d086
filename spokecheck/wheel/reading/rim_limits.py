"""Limits between keys of [rim].

References
----------
ISO 4000-2:2013 (JIS D 4218:2021 Table 3), rows of J rims of 4 1/2 J and wider: H at
least 17.3 mm (17.0 where M is at most 43) up to 21 inch and 22.0 from 22 inch on, L at
least 22, M at most 45, P at least 19.5.
H, L and M bound the least well for fitting the tyre.  M is read here to the near end of
the well bottom, as the ETRTO manual of 2017 has it in a secondary transcription
(unsure).
"""

from collections.abc import Iterator

import numpy as np

from spokecheck.errors import Fault
from spokecheck.wheel.reading.hub_limits import EXACT
from spokecheck.wheel.shape.hump import hump_of
from spokecheck.wheel.shape.rim import (
    FLANGE_HEIGHT,
    FLANGE_RADIUS,
    HEEL_RADIUS,
    SIDES,
    rim_contour,
)
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.rim_table import SEAT_TAPER, Rim
from spokecheck.wheel.tables.sizes import LARGE_CODE, RimSize, parse_rim_size

LEAST_WELL, LEAST_NEAR_WELL, LEAST_LARGE_WELL = 17.3, 17.0, 22.0
"""H [mm], at least: usual, for a well near the flange, from 22 inch on."""

NEAR = 43.0
"""M [mm] up to which a well counts as near."""

FURTHEST, NARROWEST = 45.0, 22.0
"""M [mm] at most, L [mm] at least."""

LEAST_LEG = 8.0
"""Leg [mm] between the well and the far seat."""

STEEPEST = 0.5
"""Change of a wall over the width it tapers in, at most: common practice, and a flat
corner at both ends."""

WELL_LEFT = 5.0
"""Even wall [mm] left of the well beside its thicker corner."""

BEARING = 3.0
"""Straight seat [mm] a bead needs between heel and hump."""


def rim_faults(design: Design) -> Iterator[Fault]:
    """Well, leg, inset, humps, flanges."""
    rim, size = design.rim, parse_rim_size(design.rim.size)
    yield from _well(rim, size)
    yield from _leg(rim, size)
    yield from _leg_taper(rim, size)
    yield from _well_corner(rim)
    yield from _inset(rim, size)
    if rim.humps != "none":
        yield from _hump(rim, size)
    for side in SIDES:
        yield from _flange(rim, side)
        yield from _lip(rim, side)


def _seat_drop(rim: Rim) -> float:
    """How far the seat's taper falls [mm]."""
    return float(np.tan(SEAT_TAPER) * rim.seat_width)


def _well(rim: Rim, size: RimSize) -> Iterator[Fault]:
    """Envelope of the standard, and room for the seat beside it."""
    edge = rim.well_position - rim.well_width_mm / 2.0
    least = LEAST_NEAR_WELL if edge <= NEAR else LEAST_WELL
    if size.diameter_code >= LARGE_CODE:
        least = LEAST_LARGE_WELL
    if rim.well_depth < least:
        yield Fault(
            "rim.well_depth_mm",
            f"{rim.well_depth:g} mm",
            f"a {size.diameter_code}-inch rim with its well from {edge:g} mm on needs "
            f"{least:g} mm (ISO 4000-2 H)",
            "make the well deeper, or leave the key out",
        )
    if edge > FURTHEST + EXACT:
        yield Fault(
            "rim.well_position_mm",
            f"{rim.well_position:g} mm",
            f"the well begins {edge:g} mm from the flange, {FURTHEST:g} mm at most "
            "(ISO 4000-2 M)",
            f"lower it to {FURTHEST + rim.well_width_mm / 2.0:g} mm, or make the well "
            "wider",
        )
    need = rim.nearest_well
    if edge < need - EXACT:
        yield Fault(
            "rim.well_position_mm",
            f"{rim.well_position:g} mm",
            f"the well's {rim.well_side} edge lies {edge:.1f} mm from the flange, "
            f"{need:.1f} mm are needed for the seat and the well's flank",
            f"raise it to {np.ceil(2.0 * need + rim.well_width_mm) / 2.0:g} mm, or "
            "make the well or the seat narrower",
        )


def _leg_width(rim: Rim, size: RimSize) -> float:
    """Width [mm] between the leg's foot at the well and the far seat."""
    return size.width - rim.seat_width - rim.flange_to_leg


def _leg(rim: Rim, size: RimSize) -> Iterator[Fault]:
    """The leg between the well and the far seat."""
    room = _leg_width(rim, size)
    if room < LEAST_LEG:
        yield Fault(
            "rim.well_width_mm",
            f"{rim.well_width_mm:g} mm",
            f"{room:.1f} mm are left for the leg beside the well, need "
            f"{LEAST_LEG:g} mm",
            "make the well narrower or less deep, or move it to its flange",
        )
    if rim.leg_drop_mm > rim.well_depth - 1.0:
        yield Fault(
            "rim.leg_drop_mm",
            f"{rim.leg_drop_mm:g} mm",
            f"the leg must lie above the well, {rim.well_depth - 1.0:g} mm at most",
            "make it smaller",
        )
    if rim.leg_drop_mm < _seat_drop(rim):
        yield Fault(
            "rim.leg_drop_mm",
            f"{rim.leg_drop_mm:g} mm",
            f"the seat's taper alone falls by {_seat_drop(rim):.2f} mm",
            "make it at least that",
        )


def _leg_taper(rim: Rim, size: RimSize) -> Iterator[Fault]:
    """Walls of the leg that taper: what they need, and how steep they may be."""
    thin, over = rim.leg_seat_wall_mm, rim.leg_taper_mm
    if thin is None:
        if over is not None:
            yield Fault(
                "rim.leg_taper_mm",
                f"{over:g} mm",
                "the leg tapers only where rim.leg_seat_wall_mm is given",
                "give rim.leg_seat_wall_mm, or leave it out",
            )
        return
    leg = _leg_width(rim, size)
    if over is not None and over > leg - LEAST_LEG:
        yield Fault(
            "rim.leg_taper_mm",
            f"{over:g} mm",
            f"the leg is {leg:.1f} mm wide, of which {LEAST_LEG:g} mm stay even: "
            f"{max(leg - LEAST_LEG, 0.0):.1f} mm at most",
            "make it smaller, or leave it out: the whole leg tapers then",
        )
    mount = 1 if rim.well_side == "outboard" else -1
    for change, run, to in (
        (rim.leg_wall_mm - thin, leg if over is None else over, "rim.leg_wall_mm"),
        (
            rim.seat_wall(-mount) - thin,
            rim.seat_width,
            rim.key_on(-mount, "seat_wall_mm"),
        ),
    ):
        if abs(change) > STEEPEST * run:
            yield Fault(
                "rim.leg_seat_wall_mm",
                f"{thin:g} mm",
                f"the wall changes by {abs(change):.1f} mm to {to} over {run:.1f} mm, "
                f"{STEEPEST * run:.1f} mm at most (common practice, 1 in 2)",
                "bring the two walls nearer to each other, or make the taper longer",
            )


def _well_corner(rim: Rim) -> Iterator[Fault]:
    """The thicker corner of the well: what it needs, and how steep it may be."""
    thick, run = rim.well_corner_wall_mm, rim.well_corner_run_mm
    if thick is None:
        if run is not None:
            yield Fault(
                "rim.well_corner_run_mm",
                f"{run:g} mm",
                "a corner runs out only where rim.well_corner_wall_mm is given",
                "give rim.well_corner_wall_mm, or leave it out",
            )
        return
    if run is not None and run > rim.well_width_mm - WELL_LEFT:
        yield Fault(
            "rim.well_corner_run_mm",
            f"{run:g} mm",
            f"the well is {rim.well_width_mm:g} mm wide, of which {WELL_LEFT:g} mm "
            f"stay even: {rim.well_width_mm - WELL_LEFT:g} mm at most",
            "make it smaller, or leave it out: the whole well tapers then",
        )
    most = rim.well_wall_mm + STEEPEST * (run or rim.well_width_mm)
    if not rim.well_wall_mm <= thick <= most + EXACT:
        yield Fault(
            "rim.well_corner_wall_mm",
            f"{thick:g} mm",
            f"from rim.well_wall_mm = {rim.well_wall_mm:g} mm to {most:.1f} mm is "
            "possible (common practice, 1 in 2)",
            "change it, or make rim.well_corner_run_mm longer",
        )


def _inset(rim: Rim, size: RimSize) -> Iterator[Fault]:
    half = size.width / 2.0
    inner = half - rim.well_position + rim.well_width_mm / 2.0
    if abs(rim.inset_mm) > inner + 60.0 or abs(rim.inset_mm) > half - 5.0:
        yield Fault(
            "rim.inset_mm",
            f"{rim.inset_mm:g} mm",
            f"the attachment face must lie inside the rim, within {half - 5.0:.1f} mm",
            "give the inset in mm, positive when the face lies outboard",
        )


def _hump(rim: Rim, size: RimSize) -> Iterator[Fault]:
    """The hump leaves the bead its seat, and ends before the seat does."""
    hump = hump_of(rim, size.diameter / 2.0, size.width / 2.0)
    bend = np.pi / 2.0 - SEAT_TAPER
    heel = HEEL_RADIUS * float(np.tan(bend / 2.0))
    if hump.start < heel + BEARING:
        yield Fault(
            "rim.hump_position_mm",
            f"{rim.hump_position_mm:g} mm",
            f"the hump begins {hump.start:.1f} mm from the flange, heel and bead need "
            f"{heel + BEARING:.1f} mm",
            "raise it, or make the hump lower or its radius smaller",
        )
    need = rim.humped_seat
    if rim.seat_width < need - EXACT:
        yield Fault(
            "rim.seat_width_mm",
            f"{rim.seat_width:g} mm",
            f"with its hump the seat needs {need:.1f} mm",
            f"raise it to {np.ceil(need * 2.0) / 2.0:g} mm, or make the hump lower",
        )


def _flange(rim: Rim, side: int) -> Iterator[Fault]:
    """Roundings of one flange, and its wall."""
    flange = rim_contour(rim).flanges[side]
    where = f"on the {SIDES[side]} side"
    most = min(flange.width - FLANGE_RADIUS, flange.lip / 2.0)
    if flange.edge > most + EXACT:
        yield Fault(
            rim.key_on(side, "edge_radius_mm"),
            f"{flange.edge:g} mm",
            f"{where} there is room for {most:.1f} mm beside the flange's "
            f"{FLANGE_RADIUS:g} mm radius",
            "make it smaller, or the flange wider or its edge higher",
        )
    wall = rim.on(side, "flange_wall_mm")
    if wall is None or (side > 0 and rim.outboard_flange == "run-out"):
        return
    size = parse_rim_size(rim.size)
    start = size.width / 2.0 - side * flange.under[1]
    reach = np.hypot(
        flange.width + HEEL_RADIUS, FLANGE_HEIGHT - flange.lip - HEEL_RADIUS
    )
    if not -flange.width + 1.0 < start < 12.0 or reach < HEEL_RADIUS + wall:
        yield Fault(
            rim.key_on(side, "flange_wall_mm"),
            f"{wall:g} mm",
            f"{where} its underside would leave the rim {start:.1f} mm inside the "
            "flange face, from 12 mm inside to its outer edge is possible",
            "change it, or leave it out",
        )


def _lip(rim: Rim, side: int) -> Iterator[Fault]:
    """A thicker lip: where it runs out, and how far it stands into the barrel."""
    if side > 0 and rim.outboard_flange == "run-out":
        return
    run, wall = rim.on(side, "lip_run_mm"), rim.on(side, "flange_wall_mm")
    contour = rim_contour(rim)
    flange = contour.flanges[side]
    where = f"on the {SIDES[side]} side"
    top = parse_rim_size(rim.size).diameter / 2.0 + FLANGE_HEIGHT
    if run is not None and wall is not None:
        yield Fault(
            rim.key_on(side, "lip_run_mm"),
            f"{run:g} mm",
            f"{where} flange_wall_mm settles already where the lip runs out",
            "leave one of the two out",
        )
    elif run is not None and run > rim.seat_width - BEARING:
        yield Fault(
            rim.key_on(side, "lip_run_mm"),
            f"{run:g} mm",
            f"{where} the lip runs out under the seat, within "
            f"{rim.seat_width - BEARING:g} mm",
            "make it smaller, or the seat wider",
        )
    elif run is not None and not flange.blend:
        yield Fault(
            rim.key_on(side, "lip_run_mm"),
            f"{run:g} mm",
            f"{where} a lip of {flange.lip:g} mm does not stand out into the barrel, "
            f"{top - flange.under[0]:.1f} mm and more do",
            "leave it out, or raise lip_height_mm",
        )
    across = abs(contour.lip_foot(side)[1] - flange.under[1])
    most = top - flange.under[0] + STEEPEST * across
    if flange.lip > most + EXACT:
        yield Fault(
            rim.key_on(side, "lip_height_mm"),
            f"{flange.lip:g} mm",
            f"{where} the lip may stand into the barrel by half of the {across:.1f} mm "
            f"over which it runs out, {most:.1f} mm high at most (common practice, "
            "1 in 2)",
            "make it lower, or lip_run_mm longer",
        )
