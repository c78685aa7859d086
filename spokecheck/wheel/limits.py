"""What two fields of a design may not do together, each said with value and remedy.

``find_faults`` looks at everything it can, so that one reading reports all faults.
It draws the section and the window as well: a design it passes is a design that can be
drawn.
"""

from collections.abc import Callable, Iterator

import numpy as np

from spokecheck.errors import Fault
from spokecheck.wheel.bolts import seat_height
from spokecheck.wheel.design import Design
from spokecheck.wheel.duties import defect_faults, duty_faults, material_faults
from spokecheck.wheel.profile import (
    draw_profile,
    rim_joints,
    spoke_lines,
    squeezed_faults,
)
from spokecheck.wheel.rim import RimContour, rim_contour
from spokecheck.wheel.sizes import parse_rim_size
from spokecheck.wheel.windows import draw_window

LEAST_WALL = 4.0
"""Thinnest metal [mm] left between two cuts, common practice for castings."""

LEAST_GAP = 6.0
"""Narrowest window [mm] at mid-length."""


def find_faults(design: Design) -> list[Fault]:
    """All faults of a design whose single fields are in range.

    Parameters
    ----------
    design : Design
        Parsed design.  Tables that could not be parsed may be missing; what needs
        them is not looked at.

    Returns
    -------
    list of Fault
        Empty if all tables are there and the wheel can be drawn.
    """
    there = design.model_fields_set
    faults = [
        fault
        for check, tables in CHECKS
        if there.issuperset(tables)
        for fault in check(design)
    ]
    if faults or not there.issuperset(TABLES):
        return faults
    return list(_drawing(design))


def _rim(design: Design) -> Iterator[Fault]:
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


def _hub(design: Design) -> Iterator[Fault]:
    hub, bolts = design.hub, design.bolts
    circle, seat, hole = (
        bolts.pitch_circle_mm / 2.0,
        bolts.seat_mm / 2.0,
        bolts.hole_mm / 2.0,
    )
    pad, bore = hub.pad_diameter_mm / 2.0, hub.bore_mm / 2.0
    if circle + hole + LEAST_WALL > pad:
        yield Fault(
            "bolts.pitch_circle_mm",
            f"{bolts.pitch_circle_mm:g} mm",
            f"the bolt holes reach {circle + hole:.1f} mm, outside the pad of radius "
            f"{pad:g} mm less {LEAST_WALL:g} mm of wall",
            "raise hub.pad_diameter_mm or lower the pitch circle",
        )
    if circle - seat - LEAST_WALL < bore:
        yield Fault(
            "hub.bore_mm",
            f"{hub.bore_mm:g} mm",
            f"the bolt seats reach in to {circle - seat:.1f} mm, with "
            f"{LEAST_WALL:g} mm of wall the bore may be "
            f"{2.0 * (circle - seat - LEAST_WALL):.1f} mm",
            "make the bore or bolts.seat_mm smaller",
        )
    apart = 2.0 * circle * np.sin(np.pi / bolts.count)
    if apart < bolts.seat_mm + LEAST_WALL:
        yield Fault(
            "bolts.seat_mm",
            f"{bolts.seat_mm:g} mm",
            f"neighbouring bolts are {apart:.1f} mm apart, the seats may be "
            f"{apart - LEAST_WALL:.1f} mm",
            "make the seats smaller or the pitch circle larger",
        )
    if bolts.seat_mm < bolts.hole_mm + 2.0:
        yield Fault(
            "bolts.seat_mm",
            f"{bolts.seat_mm:g} mm",
            f"must exceed the hole of {bolts.hole_mm:g} mm by 2 mm",
            "make the seat larger or the hole smaller",
        )
    top = bolts.land_mm + seat_height(design)
    if top + 1.0 > hub.thickness_mm:
        yield Fault(
            "hub.thickness_mm",
            f"{hub.thickness_mm:g} mm",
            f"land and cone seat need {top + 1.0:.1f} mm",
            "make the hub thicker, or bolts.land_mm or the seat smaller",
        )


def _spokes(design: Design) -> Iterator[Fault]:
    spokes, hub = design.spokes, design.hub
    contour = rim_contour(design.rim)
    tip = contour.well_inner_radius
    if spokes.root_radius_mm < hub.pad_diameter_mm / 2.0 + 1.0:
        yield Fault(
            "spokes.root_radius_mm",
            f"{spokes.root_radius_mm:g} mm",
            f"the windows would cut the pad of radius {hub.pad_diameter_mm / 2.0:g} mm",
            f"raise it to {hub.pad_diameter_mm / 2.0 + 1.0:g} mm or more",
        )
    reach = design.bolts.pitch_circle_mm / 2.0 + design.bolts.seat_mm / 2.0
    if spokes.root_radius_mm < reach + LEAST_WALL:
        yield Fault(
            "spokes.root_radius_mm",
            f"{spokes.root_radius_mm:g} mm",
            f"the bolt seats reach {reach:.1f} mm, wall needs {LEAST_WALL:g} mm",
            f"raise it to {reach + LEAST_WALL:.1f} mm or more",
        )
    if tip - spokes.rim_gap_mm - spokes.root_radius_mm < 30.0:
        yield Fault(
            "spokes.root_radius_mm",
            f"{spokes.root_radius_mm:g} mm",
            f"the rim begins at {tip:.1f} mm, windows need 30 mm of length",
            "lower it",
        )
        return
    yield from _widths(design, tip)
    yield from _heights(design, contour)


def _widths(design: Design, tip: float) -> Iterator[Fault]:
    """Spokes side by side, at hub and rim."""
    spokes = design.spokes
    ends = (
        ("root_width_mm", spokes.root_width_mm, spokes.root_radius_mm, "hub"),
        ("tip_width_mm", spokes.tip_width_mm, tip, "rim"),
    )
    for key, width, radius, where in ends:
        pitch = 2.0 * radius * np.sin(np.pi / spokes.count)
        room = pitch * np.cos(np.pi / spokes.count)
        if where == "rim":
            room -= LEAST_GAP
        if width > room:
            yield Fault(
                f"spokes.{key}",
                f"{width:g} mm",
                f"{spokes.count} spokes overlap at the {where}, radius "
                f"{radius:.0f} mm; the width may be {room:.1f} mm",
                "make the spokes narrower or fewer",
            )


def _heights(design: Design, contour: RimContour) -> Iterator[Fault]:
    """Spokes in section: above the attachment face, and onto the rim."""
    spokes = design.spokes
    lines = spoke_lines(design, contour)
    low = lines.at("back", design.hub.pad_diameter_mm / 2.0) - design.attachment
    if low < 0.0:
        yield Fault(
            "spokes.root_depth_mm",
            f"{spokes.root_depth_mm:g} mm",
            f"the spokes' back would stand {-low:.1f} mm inboard of that face",
            "lower it or raise spokes.root_face_mm",
        )
    joints = rim_joints(contour, lines)
    outboard = contour.half_width - 10.0
    for which, joint in joints.items():
        point = None if joint is None else joint[1]
        key = "tip_face_mm" if which == "face" else "tip_depth_mm"
        if point is None or point[1] > outboard:
            yield Fault(
                f"spokes.{key}",
                f"{getattr(spokes, key):g} mm",
                f"the spokes' {which} misses the rim or meets it outboard of "
                f"z = {outboard:.1f} mm",
                "lower spokes.tip_face_mm; it counts from the attachment face",
            )
    back = joints["back"]
    if back is not None and back[1][1] < -contour.half_width + 40.0:
        yield Fault(
            "spokes.tip_depth_mm",
            f"{spokes.tip_depth_mm:g} mm",
            "the spokes' back meets the inboard seat",
            "lower it",
        )


def _drawing(design: Design) -> Iterator[Fault]:
    """Faults found only by drawing: fillets without room, windows that close."""
    try:
        profile = draw_profile(design)
    except ValueError as failure:
        yield Fault("spokes.tip_face_mm", "", str(failure), "move the spokes")
        return
    yield from squeezed_faults(profile)
    spokes = design.spokes
    try:
        draw_window(spokes, profile.contour.well_inner_radius)
    except ValueError as failure:
        yield Fault(
            "spokes.window_corner_mm",
            f"{spokes.window_corner_mm:g} mm",
            str(failure),
            "make it smaller, or the spokes narrower or fewer",
        )


CHECKS: tuple[tuple[Callable[[Design], Iterator[Fault]], tuple[str, ...]], ...] = (
    (duty_faults, ("duty", "rim")),
    (material_faults, ("material",)),
    (defect_faults, ("material", "rim", "spokes")),
    (_rim, ("rim",)),
    (_hub, ("hub", "bolts")),
    (_spokes, ("spokes", "hub", "bolts", "rim")),
)
"""Checks and the tables of the design they look at."""

TABLES = ("rim", "hub", "bolts", "spokes", "duty", "material")
