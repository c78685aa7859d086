"""Limits between keys of [hub] and [bolts]."""

from collections.abc import Iterator

import numpy as np

from spokecheck.errors import Fault
from spokecheck.wheel.shape.bolts import draw_bolt_hole, seat_band, seat_height
from spokecheck.wheel.shape.hub_pockets import floor_radius, pocket_circle
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.hub_table import Hub

LEAST_WALL = 4.0
"""Thinnest metal [mm] left between two cuts, common practice for castings."""

LEAST_SEAT_WALL = 2.5
"""Thinnest metal [mm] left between a bolt's seat and the bore, common practice: 6 bolts
on 139.7 mm about a bore of 106 mm leave 3."""

LEAST_STEP = 1.0
"""Narrowest step [mm] between a seat and its counterbore, or a bore and its cap recess.
"""

LEAST_FLOOR = 5.0
"""Thinnest metal [mm] left under a recess or pocket of the hub, common practice."""

LEAST_RING = 2.0
"""Attachment face [mm] left beside bolt holes, pockets and edges, common practice."""

EXACT = 1.0e-6
"""Lengths [mm] that differ by less are equal."""

LEAST_BAND = 1.5
"""Narrowest seat [mm, radially] a bolt may bear on."""

LEAST_FLAT = 1.0
"""Flat [mm] that the rounding leaves of the floor of a pocket or counterbore."""


def hub_faults(design: Design) -> Iterator[Fault]:
    """Bolt holes, centre bore, attachment face and pockets."""
    yield from _bolt_holes(design)
    yield from _seats(design)
    yield from _cap(design)
    yield from _bore_edge(design)
    yield from _relief(design)
    if design.hub.pocket_side != "none":
        yield from _pockets(design)


def _bolt_holes(design: Design) -> Iterator[Fault]:
    """Bolt holes in the pad, around the bore, beside each other."""
    hub, bolts = design.hub, design.bolts
    circle, hole, reach = bolts.pitch_circle_mm / 2.0, bolts.hole_mm / 2.0, bolts.reach
    pad, bore = hub.pad_diameter_mm / 2.0, hub.bore_mm / 2.0
    if circle + hole + LEAST_WALL > pad:
        yield Fault(
            "bolts.pitch_circle_mm",
            f"{bolts.pitch_circle_mm:g} mm",
            f"the bolt holes reach {circle + hole:.1f} mm, outside the pad of radius "
            f"{pad:g} mm less {LEAST_WALL:g} mm of wall",
            "raise hub.pad_diameter_mm or lower the pitch circle",
        )
    if circle - reach - LEAST_SEAT_WALL < bore:
        yield Fault(
            "hub.bore_mm",
            f"{hub.bore_mm:g} mm",
            f"the bolt seats reach in to {circle - reach:.1f} mm, with "
            f"{LEAST_SEAT_WALL:g} mm of wall the bore may be "
            f"{2.0 * (circle - reach - LEAST_SEAT_WALL):.1f} mm",
            f"make the bore or {_widest(design)} smaller",
        )
    apart = 2.0 * circle * np.sin(np.pi / bolts.count)
    if apart < 2.0 * reach + LEAST_WALL:
        yield Fault(
            _widest(design),
            f"{2.0 * reach:g} mm",
            f"neighbouring bolts are {apart:.1f} mm apart, the seats may be "
            f"{apart - LEAST_WALL:.1f} mm",
            "make the seats smaller or the pitch circle larger",
        )


def _widest(design: Design) -> str:
    """Key that sets the largest radius of a bolt hole."""
    wide = design.bolts.counterbore_mm
    return "bolts.seat_mm" if wide is None else "bolts.counterbore_mm"


def _seats(design: Design) -> Iterator[Fault]:
    """Seat and counterbore."""
    hub, bolts = design.hub, design.bolts
    narrow = list(_narrow(design))
    yield from narrow
    if narrow:
        return
    height = seat_height(bolts)
    top = bolts.land_mm + height
    if top + 1.0 > hub.thickness_mm:
        yield Fault(
            "hub.thickness_mm",
            f"{hub.thickness_mm:g} mm",
            f"land and {bolts.seat} seat need {top + 1.0:.1f} mm",
            "make the hub thicker, or bolts.land_mm or the seat smaller",
        )
    band = seat_band(draw_bolt_hole(bolts, 0.0, top))
    if band < LEAST_BAND:
        yield Fault(
            "bolts.counterbore_radius_mm",
            f"{bolts.counterbore_radius:g} mm",
            f"the rounding leaves {band:.1f} mm of the seat, need {LEAST_BAND:g} mm",
            "make it smaller or bolts.seat_mm larger",
        )


def _narrow(design: Design) -> Iterator[Fault]:
    """Diameters of hole, seat, ball and counterbore, in their order."""
    bolts = design.bolts
    if bolts.seat_mm < bolts.hole_mm + 2.0:
        yield Fault(
            "bolts.seat_mm",
            f"{bolts.seat_mm:g} mm",
            f"must exceed the hole of {bolts.hole_mm:g} mm by 2 mm",
            "make the seat larger or the hole smaller",
        )
    widest = 2.0 * bolts.ball_radius_mm
    if bolts.seat == "ball" and bolts.seat_mm > widest:
        yield Fault(
            "bolts.seat_mm",
            f"{bolts.seat_mm:g} mm",
            f"a ball of radius {bolts.ball_radius_mm:g} mm has seats up to "
            f"{widest:.1f} mm",
            f"make the seat smaller, or bolts.ball_radius_mm {bolts.seat_mm / 2.0:g}",
        )
    wide = bolts.counterbore_mm
    if wide is None:
        return
    step = (wide - bolts.seat_mm) / 2.0
    need = max(bolts.counterbore_radius, LEAST_STEP)
    if step < 0.0 or 0.0 < step < need - EXACT:
        least = bolts.seat_mm + 2.0 * need
        yield Fault(
            "bolts.counterbore_mm",
            f"{wide:g} mm",
            f"must be the seat's {bolts.seat_mm:g} mm, or {least:g} mm at least for "
            "the radius at its foot",
            "leave it out, or make it wider or bolts.counterbore_radius_mm smaller",
        )


def _cap(design: Design) -> Iterator[Fault]:
    """Cap recess between bore and bolts, and the wall behind it."""
    hub, bolts = design.hub, design.bolts
    if hub.cap_mm is None:
        return
    least = hub.bore_mm + 2.0 * LEAST_STEP
    most = bolts.pitch_circle_mm - 2.0 * (bolts.reach + LEAST_SEAT_WALL)
    if not least - EXACT <= hub.cap_mm <= most + EXACT:
        yield Fault(
            "hub.cap_mm",
            f"{hub.cap_mm:g} mm",
            f"must lie between {least:.1f} mm, the bore and a step of "
            f"{LEAST_STEP:g} mm, and {most:.1f} mm, the bolt seats less "
            f"{LEAST_SEAT_WALL:g} mm of wall",
            f"give {least:.1f} to {most:.1f} mm"
            if least <= most
            else f"make the bore or {_widest(design)} smaller, or leave the recess out",
        )
    behind = hub.inner_step + hub.chamfer + LEAST_FLOOR
    deepest = hub.thickness_mm - behind
    if hub.cap_depth_mm > deepest or hub.cap_depth_mm < hub.cap_radius:
        yield Fault(
            "hub.cap_depth_mm",
            f"{hub.cap_depth_mm:g} mm",
            f"must lie between its radius of {hub.cap_radius:g} mm and "
            f"{deepest:.1f} mm, which leaves {LEAST_FLOOR:g} mm of metal",
            "change it, or make the hub thicker",
        )


def _bore_edge(design: Design) -> Iterator[Fault]:
    """The chamfer leaves metal above it and attachment face beside it."""
    hub = design.hub
    taken = hub.inner_step + hub.chamfer
    if hub.chamfer > 0.0 and taken + LEAST_FLOOR > hub.thickness_mm:
        yield Fault(
            "hub.bore_chamfer_mm",
            f"{hub.chamfer:g} mm",
            f"the hub is {hub.thickness_mm:g} mm thick, {taken + LEAST_FLOOR:g} mm are "
            "needed",
            "make it smaller or the hub thicker",
        )


def _relief(design: Design) -> Iterator[Fault]:
    """The attachment face stays a ring around the bolt holes."""
    hub, bolts = design.hub, design.bolts
    circle, hole = bolts.pitch_circle_mm, bolts.hole_mm + 2.0 * LEAST_RING
    step = 2.0 * hub.relief_depth_mm
    foot = 2.0 * hub.relief_radius_mm * np.tan(np.pi / 8.0) + 1.0
    if hub.relief_inner_mm is not None:
        least = hub.bore_mm + 2.0 * hub.chamfer + step + foot
        yield from _between(
            "hub.relief_inner_mm",
            hub.relief_inner_mm,
            (least, circle - hole),
            "the bore with the step's foot, and the bolt holes",
        )
    if hub.relief_outer_mm is not None:
        most = hub.pad_diameter_mm - step - foot
        yield from _between(
            "hub.relief_outer_mm",
            hub.relief_outer_mm,
            (circle + hole, most),
            "the bolt holes, and the pad's edge with the step's foot",
        )
    if (hub.relief_inner_mm, hub.relief_outer_mm) == (None, None):
        return
    if hub.relief_depth_mm + LEAST_FLOOR > hub.thickness_mm:
        yield Fault(
            "hub.relief_depth_mm",
            f"{hub.relief_depth_mm:g} mm",
            f"{LEAST_FLOOR:g} mm of metal must stay above it",
            "make it smaller or the hub thicker",
        )


def _between(
    key: str, value: float, ends: tuple[float, float], why: str
) -> Iterator[Fault]:
    low, high = ends
    if low <= value <= high:
        return
    room = (
        f"must lie between {low:.1f} and {high:.1f} mm: {why}"
        if low <= high
        else f"there is no room for it: {why} are {low:.1f} and {high:.1f} mm"
    )
    yield Fault(key, f"{value:g} mm", room, "change it, or leave it out")


def _pockets(design: Design) -> Iterator[Fault]:
    """Pockets beside bolts, bore, edge and each other, and the metal under them."""
    hub = design.hub
    radius = pocket_circle(hub, design.bolts)
    inner, outer = _pocket_room(design)
    low, high = inner + hub.pocket_mm / 2.0, outer - hub.pocket_mm / 2.0
    if not low <= radius <= high:
        yield Fault(
            "hub.pocket_circle_mm",
            f"{2.0 * radius:g} mm",
            f"pockets have room between the radii {inner:.1f} and {outer:.1f} mm",
            "move the circle, or make hub.pocket_mm smaller",
        )
    most = _largest_pocket(design, radius)
    if hub.pocket_mm > most:
        yield Fault(
            "hub.pocket_mm",
            f"{hub.pocket_mm:g} mm",
            f"between the bolts there is room for {most:.1f} mm",
            "make it smaller, or move hub.pocket_circle_mm",
        )
    yield from _pocket_floor(hub)


def _pocket_room(design: Design) -> tuple[float, float]:
    """Radii [mm] between which the mouths of the pockets may lie."""
    hub = design.hub
    inner = hub.bore_mm / 2.0 + hub.chamfer + LEAST_WALL
    outer = hub.pad_diameter_mm / 2.0 - LEAST_WALL
    if hub.pocket_side == "face":
        if hub.cap_mm is not None:
            inner = max(inner, hub.cap_mm / 2.0 + LEAST_WALL)
        return inner, outer
    if hub.cap_mm is not None:
        behind = hub.thickness_mm - hub.cap_depth_mm - LEAST_FLOOR
        if hub.pocket_depth_mm > behind:
            inner = max(inner, hub.cap_mm / 2.0 + LEAST_WALL)
    if hub.relief_inner_mm is not None:
        inner = max(inner, hub.relief_inner_mm / 2.0 + LEAST_RING)
    if hub.relief_outer_mm is not None:
        outer = min(outer, hub.relief_outer_mm / 2.0 - LEAST_RING)
    return inner, outer


def _largest_pocket(design: Design, radius: float) -> float:
    """Largest mouth [mm] beside bolt holes and other pockets."""
    hub, bolts = design.hub, design.bolts
    circle, half = bolts.pitch_circle_mm / 2.0, np.pi / bolts.count
    away = np.sqrt(radius**2 + circle**2 - 2.0 * radius * circle * np.cos(half))
    shallow = hub.pocket_side == "back" and (
        hub.pocket_depth_mm + LEAST_WALL <= bolts.land_mm
    )
    bolt = bolts.hole_mm / 2.0 if shallow else bolts.reach
    beside_bolt = 2.0 * (away - bolt - LEAST_WALL)
    return float(min(beside_bolt, 2.0 * radius * np.sin(half) - LEAST_WALL))


def _pocket_floor(hub: Hub) -> Iterator[Fault]:
    """Depth against the wall left, and the radius at the floor."""
    steps = max(hub.inner_step, hub.outer_step) if hub.pocket_side == "face" else 0.0
    deepest = hub.thickness_mm - steps - LEAST_FLOOR
    if hub.pocket_depth_mm > deepest:
        yield Fault(
            "hub.pocket_depth_mm",
            f"{hub.pocket_depth_mm:g} mm",
            f"with {LEAST_FLOOR:g} mm of metal left it may be {deepest:.1f} mm",
            "make it smaller or the hub thicker",
        )
    flat = floor_radius(hub)
    slope = np.tan(np.pi / 4.0 - np.deg2rad(hub.pocket_draft_deg) / 2.0)
    room = min((flat - LEAST_FLAT) / slope, 0.9 * hub.pocket_depth_mm)
    if hub.pocket_radius_mm > room:
        yield Fault(
            "hub.pocket_radius_mm",
            f"{hub.pocket_radius_mm:g} mm",
            f"depth and floor leave room for {max(room, 0.0):.1f} mm",
            "make it smaller, or the pocket wider or deeper",
        )
