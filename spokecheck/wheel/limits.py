"""What two fields of a design may not do together, each said with value and remedy.

``find_faults`` looks at everything it can, so that one reading reports all faults.
It draws the section and the window as well: a design it passes is a design that can be
drawn.
"""

from collections.abc import Callable, Iterator

import numpy as np

from spokecheck.errors import Fault
from spokecheck.wheel.design import Design
from spokecheck.wheel.duties import defect_faults, duty_faults, material_faults
from spokecheck.wheel.hub_limits import LEAST_WALL, hub_faults
from spokecheck.wheel.profile import (
    draw_profile,
    rim_joints,
    spoke_lines,
    squeezed_faults,
)
from spokecheck.wheel.rim import RimContour, rim_contour
from spokecheck.wheel.rim_limits import rim_faults
from spokecheck.wheel.windows import draw_window

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
    (rim_faults, ("rim",)),
    (hub_faults, ("hub", "bolts")),
    (_spokes, ("spokes", "hub", "bolts", "rim")),
)
"""Checks and the tables of the design they look at."""

TABLES = ("rim", "hub", "bolts", "spokes", "duty", "material")
