"""What the keys of [hub] and [bolts] may not do together."""

from collections.abc import Iterator

import numpy as np

from spokecheck.errors import Fault
from spokecheck.wheel.bolts import seat_height
from spokecheck.wheel.design import Design

LEAST_WALL = 4.0
"""Thinnest metal [mm] left between two cuts, common practice for castings."""


def hub_faults(design: Design) -> Iterator[Fault]:
    """Bolt holes in the pad, around the bore, beside each other."""
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
