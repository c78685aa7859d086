"""Limits of the spokes: against hub and rim, and among themselves."""

from collections.abc import Iterator

import numpy as np
from shapely import LineString, Point, Polygon
from shapely.ops import unary_union

from spokecheck.errors import Fault
from spokecheck.plane.curves import offset_outline, outline_points, turned
from spokecheck.wheel.reading.edge_limits import edge_faults
from spokecheck.wheel.reading.hub_limits import EXACT, LEAST_WALL
from spokecheck.wheel.shape.drawing import CLEARANCE, Window
from spokecheck.wheel.shape.patterns import TABLE
from spokecheck.wheel.shape.profile import (
    Profile,
    draw_profile,
)
from spokecheck.wheel.shape.rim import RimContour, rim_contour
from spokecheck.wheel.shape.rim_joint import rim_joints
from spokecheck.wheel.shape.room import room_faults
from spokecheck.wheel.shape.spoke_lines import SpokeLines, spoke_lines
from spokecheck.wheel.shape.spoke_pockets import POCKETED, SPARE, draw_spoke_pockets
from spokecheck.wheel.shape.windows import draw_windows
from spokecheck.wheel.shape.zones import zone_faults
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.spokes_table import Spokes

LEAST_GAP = 6.0
"""Narrowest window [mm] at mid-length."""

LEAST_HEEL = 3.0
"""Thinnest metal [mm] under the heel of a flange, common practice for forged rims."""

LIP_LEFT = 4.0
"""Underside of the outboard flange [mm axially] left beside a face that meets it."""

BACK_LEFT = 10.0
"""The spokes' back meets the rim at least this far [mm] inside the outboard flange."""

WINDOW_ROOM = 30.0
"""Least radial length [mm] between the windows' hub end and the rim."""


def pattern_faults(design: Design) -> Iterator[Fault]:
    """Tables and keys that a pattern needs, and those it does not use."""
    spokes = design.spokes
    own = TABLE.get(spokes.pattern)
    for table in TABLE.values():
        given = getattr(spokes, table) is not None
        if given and table != own:
            yield Fault(
                f"spokes.{table}",
                "given",
                f"the pattern {spokes.pattern} does not use it",
                "remove the table, or choose its pattern",
            )
        if not given and table == own:
            yield Fault(
                f"spokes.{table}",
                "missing",
                f"the pattern {spokes.pattern} needs this table",
                "add it; 'spokecheck schema' lists its keys",
            )
    yield from _width_keys(spokes)
    if spokes.pattern == "swept" and spokes.sweep and spokes.count % 2:
        if spokes.sweep.hand == "alternate":
            yield Fault(
                "spokes.count",
                f"{spokes.count}",
                "spokes that bend by turns to either side come in pairs",
                "make it even",
            )
    if spokes.plate and spokes.plate.window == "slotted":
        length = spokes.plate.length_mm
        if length is None or length < spokes.plate.width_mm + 2.0:
            yield Fault(
                "spokes.plate.length_mm",
                "missing" if length is None else f"{length:g} mm",
                f"a slot of {spokes.plate.width_mm:g} mm width must be at least 2 mm "
                "longer than that",
                "give its length over both ends",
            )
    course = spokes.course
    if course and course.widths_mm is not None:
        if len(course.widths_mm) != len(course.points_mm):
            yield Fault(
                "spokes.course.widths_mm",
                f"{len(course.widths_mm)} values",
                f"{len(course.points_mm)} points need as many widths",
                "give one for each point, or none",
            )


def _width_keys(spokes: Spokes) -> Iterator[Fault]:
    """Widths: all patterns but plate need them; a course may bring its own."""
    own = spokes.course is not None and spokes.course.widths_mm is not None
    for key in ("root_width_mm", "tip_width_mm"):
        value = getattr(spokes, key)
        if value is None and spokes.pattern != "plate" and not own:
            yield Fault(
                f"spokes.{key}",
                "missing",
                f"the pattern {spokes.pattern} needs it",
                "add it",
            )
        if value is not None and spokes.pattern == "plate":
            yield Fault(
                f"spokes.{key}",
                f"{value:g} mm",
                "a plate has windows instead of spokes",
                "remove it",
            )


def spoke_faults(design: Design) -> Iterator[Fault]:
    """Spokes against hub, bolts and rim."""
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
    reach = design.bolts.pitch_circle_mm / 2.0 + design.bolts.reach
    if spokes.root_radius_mm < reach + LEAST_WALL:
        yield Fault(
            "spokes.root_radius_mm",
            f"{spokes.root_radius_mm:g} mm",
            f"the bolt seats reach {reach:.1f} mm, wall needs {LEAST_WALL:g} mm",
            f"raise it to {reach + LEAST_WALL:.1f} mm or more",
        )
    if tip - spokes.rim_gap_mm - spokes.root_radius_mm < WINDOW_ROOM:
        yield Fault(
            "spokes.root_radius_mm",
            f"{spokes.root_radius_mm:g} mm",
            f"the rim begins at {tip:.1f} mm, windows need {WINDOW_ROOM:g} mm of "
            "length",
            "lower it",
        )
        return
    yield from _widths(design, tip)
    yield from _heights(design, contour)


def _widths(design: Design, tip: float) -> Iterator[Fault]:
    """Straight spokes side by side, at hub and rim."""
    spokes = design.spokes
    if spokes.pattern != "straight" or not (
        spokes.root_width_mm and spokes.tip_width_mm
    ):
        return
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
        most = np.floor(10.0 * (spokes.root_depth_mm + low)) / 10.0
        yield Fault(
            "spokes.root_depth_mm",
            f"{spokes.root_depth_mm:g} mm",
            f"the spokes' back would stand {-low:.1f} mm inboard of that face",
            f"lower it to {most:g} mm, or raise spokes.root_face_mm",
        )
    radii = np.linspace(spokes.root_radius_mm, contour.well_inner_radius, 9)
    uncut = lines.uncut
    depths = [uncut.at("face", r) - uncut.at("back", r) for r in radii]
    if min(depths) < 2.0 * LEAST_WALL - 2.0:
        yield Fault(
            "spokes.face_bow_mm",
            f"{spokes.face_bow_mm:g} mm",
            f"face and back come within {min(depths):.1f} mm at radius "
            f"{radii[int(np.argmin(depths))]:.0f} mm",
            "bow face and back equally, or make the spokes deeper",
        )
    if design.rim.outboard_flange == "run-out":
        yield from _run_out(design, contour, lines)
    joints = rim_joints(contour, uncut)
    lip = contour.lip_foot(1)[1] - LIP_LEFT
    for which, outboard in (("face", lip), ("back", contour.half_width - BACK_LEFT)):
        joint = joints[which]
        key = "tip_face_mm" if which == "face" else "tip_depth_mm"
        if joint is None or joint[1][1] > outboard:
            yield Fault(
                f"spokes.{key}",
                f"{getattr(spokes, key):g} mm",
                f"the spokes' {which} misses the rim or meets it outboard of "
                f"z = {outboard:.1f} mm",
                "lower spokes.tip_face_mm; it counts from the attachment face"
                + (', or set rim.outboard_flange = "run-out"' * (which == "face")),
            )
    back = joints["back"]
    if back is not None and back[1][1] < -contour.half_width + 40.0:
        yield Fault(
            "spokes.tip_depth_mm",
            f"{spokes.tip_depth_mm:g} mm",
            "the spokes' back meets the inboard seat",
            "lower it",
        )


def _run_out(design: Design, contour: RimContour, lines: SpokeLines) -> Iterator[Fault]:
    """A face that runs out to the flange leaves seat, well and heel their walls."""
    tip = contour.well_inner_radius
    ring = LineString([(tip, lines.at("face", tip)), contour.lip_foot(1)])
    heel = contour.air[-1]
    middle = (contour.air[-2] + heel) / 2.0
    bed = LineString([*contour.air[contour.flank[0] : -1], middle])
    wall = min(design.rim.seat_wall(1), design.rim.well_wall_mm)
    for left, need, where in (
        (ring.distance(bed), wall, "seat and well"),
        (ring.distance(Point(*heel)), LEAST_HEEL, "the flange's heel"),
    ):
        if left < need - EXACT:
            yield Fault(
                "spokes.tip_face_mm",
                f"{design.spokes.tip_face_mm:g} mm",
                f"running out to the flange it leaves {left:.1f} mm under {where}, "
                f"{need:g} mm are needed",
                'raise it, or set rim.outboard_flange = "lip"',
            )


def drawing_faults(design: Design) -> Iterator[Fault]:
    """Faults that only drawing shows: fillets without room, windows that close."""
    try:
        profile = draw_profile(design)
    except ValueError as failure:
        yield Fault("spokes.tip_face_mm", "", str(failure), "move the spokes")
        return
    yield from room_faults(design, profile.reduced_radii)
    spokes, tip = design.spokes, profile.contour.well_inner_radius
    try:
        windows = draw_windows(spokes, tip, design.attachment)
    except ValueError as failure:
        yield Fault(
            "spokes.window_corner_mm",
            f"{spokes.window_corner_mm:g} mm",
            str(failure),
            "make it smaller, or the spokes narrower or fewer",
        )
        return
    yield from _metal_faults(design, windows, tip)
    yield from _draft_faults(design, windows, profile)
    yield from _pocket_faults(design, profile)
    yield from edge_faults(design, windows, profile)
    yield from zone_faults(design, profile, windows)


def _draft_faults(
    design: Design, windows: tuple[Window, ...], profile: Profile
) -> Iterator[Fault]:
    """Draft that closes a corner radius on its way up, or eats up the spokes."""
    if design.spokes.draft_deg == 0.0:
        return
    z = outline_points(profile.curves)[:, 1]
    try:
        for window in windows:
            for height in (z.min() - CLEARANCE, z.max() + CLEARANCE):
                offset_outline(window.curves, window.growth(height))
    except ValueError as failure:
        yield Fault(
            "spokes.draft_deg",
            f"{design.spokes.draft_deg:g} deg",
            f"over the wheel's height {failure}",
            "make it smaller, or the corner radii larger",
        )


def _pocket_faults(design: Design, profile: Profile) -> Iterator[Fault]:
    """Pockets where none can be, or without room."""
    table, pattern = design.spokes.pocket, design.spokes.pattern
    if table is None:
        return
    if pattern not in POCKETED:
        yield Fault(
            "spokes.pocket",
            "given",
            f"the pattern {pattern} has no separate spokes to hollow out",
            f"remove the table, or choose one of {', '.join(POCKETED)}",
        )
        return
    if table.corner_mm < table.floor_radius_mm + SPARE:
        yield Fault(
            "spokes.pocket.corner_mm",
            f"{table.corner_mm:g} mm",
            f"must exceed the floor radius of {table.floor_radius_mm:g} mm by "
            f"{SPARE:g} mm",
            "make it larger, or the floor radius smaller",
        )
        return
    try:
        draw_spoke_pockets(design, profile)
    except ValueError as failure:
        yield Fault(
            "spokes.pocket",
            f"wall {table.wall_mm:g} mm, floor {table.floor_mm:g} mm",
            str(failure),
            "make walls, floor or radii smaller, or the spokes larger",
        )


def _metal_faults(
    design: Design, windows: tuple[Window, ...], tip: float
) -> Iterator[Fault]:
    """Windows that leave the ring between hub and rim, or too little between them."""
    spokes = design.spokes
    inner, outer = spokes.root_radius_mm, tip - spokes.rim_gap_mm
    low, high = min(w.inner for w in windows), max(w.outer for w in windows)
    if low < inner - 1e-6 or high > outer + 1e-6:
        yield Fault(
            "spokes.plate.circle_mm" if spokes.plate else "spokes.root_radius_mm",
            f"{spokes.plate.circle_mm if spokes.plate else inner:g} mm",
            f"windows run from radius {low:.1f} to {high:.1f} mm, there is room from "
            f"{inner:.1f} to {outer:.1f} mm",
            "move them, or make them smaller",
        )
    holes = [_turned(w, angle) for w in windows for angle in w.angles]
    lines = spoke_lines(design, rim_contour(design.rim))
    low_back = min(lines.at("back", r) for r in (inner, outer))
    more = max(0.0, *(w.growth(low_back) for w in windows))
    grown = [hole.buffer(LEAST_WALL / 2.0 + more - 1e-3) for hole in holes]
    lost = sum(g.area for g in grown) - unary_union(grown).area
    if lost > 0.1:
        yield Fault(
            "spokes.count",
            f"{spokes.count}",
            f"less than {LEAST_WALL:g} mm of metal is left between windows",
            "make the spokes wider, the windows smaller or their corners rounder",
        )
    metal = Point(0, 0).buffer(outer + 1.0, quad_segs=64).difference(unary_union(holes))
    if metal.geom_type != "Polygon":
        yield Fault(
            "spokes.pattern",
            spokes.pattern,
            "the windows cut the wheel in two",
            "lay the spokes so that each reaches the rim",
        )


def _turned(window: Window, angle: float) -> Polygon:
    return Polygon(turned(outline_points(window.curves, 16), angle))
