"""What the keys of [rim] may not do together."""

from collections.abc import Iterator

import numpy as np

from spokecheck.errors import Fault
from spokecheck.wheel.design import Design
from spokecheck.wheel.sizes import parse_rim_size


def rim_faults(design: Design) -> Iterator[Fault]:
    """Well, leg and inset."""
    rim, size = design.rim, parse_rim_size(design.rim.size)
    half = size.width / 2.0
    seat_drop = np.tan(np.deg2rad(5.0)) * rim.seat_width_mm
    well_out = rim.well_position_mm - rim.well_width_mm / 2.0
    need = rim.seat_width_mm + 0.35 * (rim.well_depth_mm - seat_drop)
    if well_out < need:
        yield Fault(
            "rim.well_position_mm",
            f"{rim.well_position_mm:g} mm",
            f"the well's outboard edge lies {well_out:.1f} mm from the flange, "
            f"{need:.1f} mm are needed for the seat and the well's flank",
            "raise it, or make the well or the seat narrower",
        )
    rise = 2.0 * (rim.well_depth_mm - rim.leg_drop_mm)
    inboard = half - rim.well_position_mm + rim.well_width_mm / 2.0
    room = half - rim.seat_width_mm + half - rim.well_position_mm
    room -= rim.well_width_mm / 2.0 + max(rise, 1.0)
    if room < 8.0:
        yield Fault(
            "rim.well_width_mm",
            f"{rim.well_width_mm:g} mm",
            f"{room:.1f} mm are left for the leg inboard of the well, need 8 mm",
            "make the well narrower or less deep, or move it outboard",
        )
    if rim.leg_drop_mm > rim.well_depth_mm - 1.0:
        yield Fault(
            "rim.leg_drop_mm",
            f"{rim.leg_drop_mm:g} mm",
            f"the leg must lie above the well, {rim.well_depth_mm - 1.0:g} mm at most",
            "make it smaller",
        )
    if rim.leg_drop_mm < seat_drop:
        yield Fault(
            "rim.leg_drop_mm",
            f"{rim.leg_drop_mm:g} mm",
            f"the seat's taper alone falls by {seat_drop:.2f} mm",
            "make it at least that",
        )
    if abs(rim.inset_mm) > inboard + 60.0 or abs(rim.inset_mm) > half - 5.0:
        yield Fault(
            "rim.inset_mm",
            f"{rim.inset_mm:g} mm",
            f"the attachment face must lie inside the rim, within {half - 5.0:.1f} mm",
            "give the inset in mm, positive when the face lies outboard",
        )
