"""Identify the surfaces the tests need on the boundary of a wheel from elsewhere.

Each is looked for where the rim designation and the sidecar's measures put it: by
radius, axial position and direction of the facets.
A surface that is missing, or far from its expected area, is a fault that says what was
looked for.

References
----------
ISO 4000-2:2013 (JIS D 4218:2021 Table 3) for the J contour; see ``rim``.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spokecheck.units import BoolArray
from spokecheck.wheel.elsewhere.facets import Facets
from spokecheck.wheel.shape.rim import FLANGE_HEIGHT, FLANGE_RADIUS, HEEL_RADIUS
from spokecheck.wheel.tables.rim_table import SEAT_TAPER
from spokecheck.wheel.tables.sidecar import Sidecar
from spokecheck.wheel.tables.sizes import parse_rim_size
from spokecheck.wheel.tables.surface_names import ATTACHMENT, BOLT_SEAT, WELL

SEAT_SLOPE = np.deg2rad(9.0)
"""A seat's facet may lean this much off the 5-degree taper."""

SEAT_OFF = 1.5
"""A seat's facet may lie this far off the taper [mm]."""

FLAT = 0.9995
"""Least axial part of the normal of a facet of the attachment face."""

FACE_OFF = 0.1
"""The attachment face may lie this far off the inset [mm]."""

LIP = 2.0
"""The flange begins this far inside the rim width on its inner side [mm]."""

FLANGE_DEPTH = 20.0
"""The flange's outer side is followed down to this far inside the nominal radius [mm],
common practice for the depth of a lip."""

RISING = 0.1
"""Least radial part of the normal of a facet of the well."""

RISE = {"cone": (0.4, 0.6), "ball": (0.15, 0.97)}
"""Axial part of the normals of a bolt seat; that of a 60-degree cone is 0.5."""

SIDES = {"inboard": -1.0, "outboard": 1.0}


@dataclass(frozen=True)
class Search:
    """Search for one surface.

    Attributes
    ----------
    name : str
    facets : ndarray (n,) of bool
        Those that match.
    expected : float
        Area by the rim designation and the sidecar's measures [mm^2].
    least, most : float
        Bounds of the matching over the expected area.
    where : str
        What was looked for, in words and numbers.
    """

    name: str
    facets: BoolArray
    expected: float
    least: float
    most: float
    where: str


def search_surface(facets: Facets, brief: Sidecar) -> list[Search]:
    """Look for every surface the tests of a brief need."""
    searches: list[Search] = []
    for side in SIDES:
        searches.append(_seat(facets, brief, side))
    for side in SIDES:
        searches.append(_bead_side(facets, brief, side))
    taken = np.any([s.facets for s in searches], axis=0)
    for side in SIDES:
        searches.append(_flange(facets, brief, side, taken))
    seats = searches[0].facets, searches[1].facets
    taken = np.any([s.facets for s in searches], axis=0)
    searches.append(_well(facets, brief, seats, taken))
    searches.append(_attachment(facets, brief))
    if brief.duty.bolt_torque_nm is not None:
        searches.append(_bolt_seats(facets, brief))
    return searches


def _rim(brief: Sidecar) -> tuple[float, float, float]:
    """Seat radius, half width and seat width [mm]."""
    size = parse_rim_size(brief.rim.size)
    return size.diameter / 2.0, size.width / 2.0, brief.rim.seat_width


def _seat(facets: Facets, brief: Sidecar, side: str) -> Search:
    radius, half, width = _rim(brief)
    z, toward = SIDES[side] * facets.z, SIDES[side] * facets.axial
    line = radius - np.tan(SEAT_TAPER) * (half - z)
    lean = np.arctan2(toward, facets.outward) + SEAT_TAPER
    members = (np.abs(lean) < SEAT_SLOPE) & (np.abs(facets.r - line) < SEAT_OFF)
    members &= (z > half - width - 1.0) & (z < half + 1.0)
    breadth = width - HEEL_RADIUS
    middle = radius - np.tan(SEAT_TAPER) * (half - width / 2.0)
    where = (
        f"facets within {np.rad2deg(SEAT_SLOPE):.0f} deg of the 5-degree taper and "
        f"{SEAT_OFF:g} mm of r = {radius:.1f} mm at the flange, z from "
        f"{SIDES[side] * (half - width):.1f} to {SIDES[side] * half:.1f} mm; expected "
        f"{breadth:.1f} mm of width round a circumference of {2 * np.pi * middle:.0f}"
    )
    area = 2.0 * np.pi * middle * breadth
    return Search(f"bead seat {side}", np.asarray(members), area, 0.45, 1.6, where)


def _bead_side(facets: Facets, brief: Sidecar, side: str) -> Search:
    radius, half, _ = _rim(brief)
    z, toward = SIDES[side] * facets.z, SIDES[side] * facets.axial
    top = radius + FLANGE_HEIGHT - FLANGE_RADIUS
    members = (toward < -np.sin(SEAT_TAPER + SEAT_SLOPE)) & (
        facets.r > radius - SEAT_OFF
    )
    members &= (
        (facets.r < top + 1.0) & (z > half - HEEL_RADIUS - 2.0) & (z < half + 3.0)
    )
    where = (
        f"facets that face the tyre between r = {radius:.1f} and {top:.1f} mm near "
        f"z = {SIDES[side] * half:.1f} mm"
    )
    length = np.pi / 2.0 * HEEL_RADIUS + top - radius - HEEL_RADIUS
    area = 2.0 * np.pi * (radius + 3.0) * length
    name = f"flange {side}, bead side"
    return Search(name, np.asarray(members), float(area), 0.4, 2.0, where)


def _flange(facets: Facets, brief: Sidecar, side: str, taken: BoolArray) -> Search:
    radius, half, _ = _rim(brief)
    z = SIDES[side] * facets.z
    lowest, top = radius - FLANGE_DEPTH, radius + FLANGE_HEIGHT
    members = (z > half - LIP) & (facets.r > lowest) & ~taken
    where = (
        f"facets at r > {lowest:.0f} mm beyond z = "
        f"{SIDES[side] * (half - LIP):.1f} mm that are no bead seat"
    )
    # outer side up to the rounding, a quarter turn of it, and the rest of the lip
    length = top - FLANGE_RADIUS - lowest + np.pi / 2.0 * FLANGE_RADIUS + LIP
    area = np.pi * (lowest + top) * length
    return Search(f"flange {side}", np.asarray(members), float(area), 0.3, 2.5, where)


def _well(
    facets: Facets,
    brief: Sidecar,
    seats: tuple[BoolArray, BoolArray],
    taken: BoolArray,
) -> Search:
    """All of the tyre side that connects the two seats."""
    radius, half, width = _rim(brief)
    inside = (facets.outward > RISING) & (np.abs(facets.z) < half) & ~taken
    patch = facets.patches(inside | seats[0] | seats[1])
    shared = np.intersect1d(patch[seats[0]], patch[seats[1]])
    members = inside & np.isin(patch, shared[shared >= 0])
    where = (
        "facets that face the tyre and join the inboard bead seat to the outboard one"
    )
    area = 2.0 * np.pi * (radius - 9.0) * 2.0 * (half - width)
    return Search(WELL, np.asarray(members), float(area), 0.5, 2.0, where)


def _attachment(facets: Facets, brief: Sidecar) -> Search:
    z0, hub, bolts = brief.attachment, brief.hub, brief.bolts
    pad, bore = hub.pad_diameter_mm / 2.0, hub.bore_mm / 2.0
    inner = facets.r < pad + 1.0
    members = inner & (facets.axial < -FLAT) & (np.abs(facets.z - z0) < FACE_OFF)
    area = np.pi * (pad**2 - bore**2 - bolts.count * (bolts.hole_mm / 2.0) ** 2)
    where = (
        f"flat facets that face inboard within {FACE_OFF:g} mm of z = {z0:g} mm "
        f"(rim.inset_mm) inside r = {pad:g} mm; {_flats(facets, inner, z0)}"
    )
    return Search(ATTACHMENT, members, float(area), 0.25, 1.3, where)


def _flats(facets: Facets, inner: BoolArray, z0: float) -> str:
    """Position of the largest flat rings of the hub, for the message."""
    sentences = []
    for sign, words in ((-1.0, "inboard"), (1.0, "outboard")):
        flat = inner & (sign * facets.axial > FLAT)
        if not flat.any():
            sentences.append(f"no flat facet there faces {words}")
            continue
        level, slot = np.unique(np.round(facets.z[flat], 1), return_inverse=True)
        area = np.bincount(slot.ravel(), facets.area[flat])
        largest = float(level[area.argmax()])
        sentences.append(
            f"the largest flat that faces {words} lies at z = {largest:g} mm"
        )
        if sign > 0.0 and abs(largest + z0) <= FACE_OFF:
            sentences.append("so mesh.direction may point inboard: turn it round")
    return ", ".join(sentences)


def _bolt_seats(facets: Facets, brief: Sidecar) -> Search:
    """Seats that face outboard round the bolts' axes, anywhere on the circle."""
    bolts, z0 = brief.bolts, brief.attachment
    circle, hole, seat = (
        bolts.pitch_circle_mm / 2.0,
        bolts.hole_mm / 2.0,
        bolts.seat_mm / 2.0,
    )
    ring = (np.abs(facets.r - circle) < seat + 1.0) & (facets.z > z0 + 1.0)
    low, high = RISE[bolts.seat]
    ring &= (facets.axial > low) & (facets.axial < high)
    turn = np.arctan2(facets.middle[:, 1], facets.middle[:, 0])
    # phase of the N-th harmonic of the area round the circle: angle of the first bolt
    wave = (facets.area * np.exp(1j * bolts.count * turn))[ring].sum()
    first = float(np.angle(wave)) / bolts.count
    spacing = 2.0 * np.pi / bolts.count
    nearest = first + spacing * np.round((turn - first) / spacing)
    axis = circle * np.column_stack([np.cos(nearest), np.sin(nearest)])
    off = axis - facets.middle[:, :2]
    distance = np.linalg.norm(off, axis=1)
    flat = np.linalg.norm(facets.normal[:, :2], axis=1) * np.maximum(distance, 1e-9)
    inward = np.einsum("fi,fi->f", off, facets.normal[:, :2]) > 0.8 * flat
    members = ring & inward & (distance > hole - 0.5) & (distance < seat + 0.5)
    slope = 2.0 if bolts.seat == "cone" else 1.4
    area = bolts.count * np.pi * (seat**2 - hole**2) * slope
    where = (
        f"facets that lean towards {bolts.count} axes on a circle of "
        f"{bolts.pitch_circle_mm:g} mm and face outboard, {hole:g} to {seat:g} mm off "
        "the axis"
    )
    return Search(BOLT_SEAT, np.asarray(members), float(area), 0.4, 1.6, where)


def rest_of(
    facets: Facets, brief: Sidecar, taken: BoolArray, well: float
) -> dict[str, BoolArray]:
    """Name all other facets by where they lie.

    Parameters
    ----------
    facets : Facets
        The boundary.
    brief : Sidecar
        For the pad's diameter.
    taken : ndarray (n,) of bool
        Facets that have a name.
    well : float
        Smallest radius of the well [mm].
    """
    pad = brief.hub.pad_diameter_mm / 2.0 + 1.0
    zones: list[tuple[str, BoolArray]] = [
        ("hub", facets.r < pad),
        ("rim inner", facets.r > well - WALL),
        ("disc", np.ones(len(taken), dtype=bool)),
    ]
    looks: list[tuple[str, Callable[[Facets], BoolArray]]] = [
        ("back", lambda f: np.asarray(f.axial < -SIDEWAYS)),
        ("face", lambda f: np.asarray(f.axial > SIDEWAYS)),
        ("side", lambda f: np.asarray(np.abs(f.axial) <= SIDEWAYS)),
    ]
    free, named = ~taken, {}
    for zone, inside in zones:
        mine = free & inside
        free = free & ~inside
        if zone == "rim inner":
            named[zone] = mine
            continue
        for words, look in looks:
            named[f"{zone}, {words}"] = mine & look(facets)
    return {name: some for name, some in named.items() if some.any()}


WALL = 12.0
"""Metal under the well counts to the rim down to this depth [mm], common practice."""

SIDEWAYS = 0.5
"""Axial part of the normal up to which a facet belongs to a side."""
