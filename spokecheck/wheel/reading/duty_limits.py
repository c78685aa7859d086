"""Limits between keys of [duty] and [material]."""

from collections.abc import Iterator

from spokecheck.errors import FatigueError, Fault
from spokecheck.fatigue.alloys import Alloy, alloy
from spokecheck.fatigue.defects import UM_PER_MM
from spokecheck.fatigue.strength import Demand, Quality, strength
from spokecheck.wheel.tables.design import Brief, Design, Duty, MaterialTable
from spokecheck.wheel.tables.sizes import RimSize, parse_rim_size, parse_tyre_size

LARGEST_DEFECT = 1.0
"""Root of area [mm] up to which the square-root-area formula holds (Murakami 2002,
from memory)."""

QUALITY_KEYS = {
    "surface_rz_um": "surface_rz",
    "hardness_hb": "hardness_hb",
    "temperature_c": "temperature",
    "bake_temperature_c": "bake_temperature",
}
"""Keys of [material] whose range depends on the alloy's tables."""

PROBE_CYCLES = 1.0e6
"""Cycles inside every S-N line, to try a quality with."""


def duty_faults(design: Brief) -> Iterator[Fault]:
    """Tyre, radii and bolts."""
    duty = design.duty
    if duty.tyre is None and None in (duty.free_radius_mm, duty.dynamic_radius_mm):
        yield Fault(
            "duty.tyre",
            "missing",
            "need a tyre size, or both free_radius_mm and dynamic_radius_mm",
            'add tyre = "225/45R18" or the two radii',
        )
        return
    rim = parse_rim_size(design.rim.size)
    if duty.tyre is not None:
        code = parse_tyre_size(duty.tyre).rim_code
        if code != rim.diameter_code:
            yield Fault(
                "duty.tyre",
                duty.tyre,
                f"fits a {code}-inch rim, rim.size is {design.rim.size}",
                "make both diameters the same",
            )
    yield from _radii(duty, rim)
    if duty.bolt_torque_nm is not None and duty.bolt_thread_mm is None:
        yield Fault(
            "duty.bolt_thread_mm",
            "missing",
            "the clamp force of bolt_torque_nm needs the thread's diameter",
            "add bolt_thread_mm = 14, or take bolt_torque_nm away",
        )


def _radii(duty: Duty, rim: RimSize) -> Iterator[Fault]:
    """Radii of the tyre: beyond the flange, and in their order."""
    for key, radius in (
        ("free_radius_mm", duty.free_radius_mm),
        ("dynamic_radius_mm", duty.dynamic_radius_mm),
        ("loaded_radius_mm", duty.loaded_radius_mm),
    ):
        if radius is not None and radius <= rim.diameter / 2.0 + 20.0:
            yield Fault(
                f"duty.{key}",
                f"{radius:g} mm",
                f"the rim's flange alone reaches {rim.diameter / 2.0 + 17.5:.1f} mm",
                "give the tyre's radius in mm",
            )
    free, loaded = duty.free_radius_mm, duty.loaded_radius_mm
    if free is None and duty.tyre is not None:
        free = parse_tyre_size(duty.tyre).free_radius
    if free is not None and loaded is not None and loaded > free:
        yield Fault(
            "duty.loaded_radius_mm",
            f"{loaded:g} mm",
            f"a loaded tyre is not larger than the unloaded one of {free:g} mm",
            "give the distance from the axle to the ground under load",
        )


def material_faults(design: Brief) -> Iterator[Fault]:
    """Alloys, and qualities they do not admit."""
    material = design.material
    for key in ("alloy", "rim_alloy"):
        name = getattr(material, key)
        if name is None:
            continue
        try:
            metal = alloy(name)
        except FatigueError as unknown:
            yield Fault(
                f"material.{key}", name, str(unknown), "see 'spokecheck alloys'"
            )
        else:
            yield from _quality(material, metal)
    by_distance = material.support in ("point", "line")
    if by_distance and material.critical_distance_mm is None:
        yield Fault(
            "material.critical_distance_mm",
            "missing",
            f"support = {material.support} needs the alloy's critical distance, which "
            "no table here has",
            "give L = (dK_th / dS_0)^2 / pi from tests of the alloy",
        )
    if not by_distance and material.critical_distance_mm is not None:
        yield Fault(
            "material.critical_distance_mm",
            f"{material.critical_distance_mm:g} mm",
            f"has no meaning with support = {material.support}",
            'set support = "point" or "line", or remove it',
        )


def _quality(material: MaterialTable, metal: Alloy) -> Iterator[Fault]:
    """Qualities of the part outside the range of the alloy's strength."""
    for key, name in QUALITY_KEYS.items():
        value = getattr(material, key)
        if value is None:
            continue
        try:
            strength(metal, Quality(**{name: value}), Demand(PROBE_CYCLES, 0.5))
        except FatigueError as failure:
            yield Fault(
                f"material.{key}", f"{value:g}", str(failure), "correct the value"
            )


def defect_faults(design: Design) -> Iterator[Fault]:
    """A defect must fit into the wall, and into the formula."""
    size = design.material.defect_sqrt_area_um
    if size is None:
        return
    walls = {
        **{
            design.rim.key_on(side, "seat_wall_mm"): design.rim.seat_wall(side)
            for side in (-1, 1)
        },
        "rim.well_wall_mm": design.rim.well_wall_mm,
        "rim.leg_wall_mm": design.rim.leg_wall_mm,
        "spokes.tip_depth_mm": design.spokes.tip_depth_mm,
    }
    if design.rim.leg_seat_wall_mm is not None:
        walls["rim.leg_seat_wall_mm"] = design.rim.leg_seat_wall_mm
    key, wall = min(walls.items(), key=lambda item: item[1])
    shown = f"{size:g} um"
    if size / UM_PER_MM >= wall:
        yield Fault(
            "material.defect_sqrt_area_um",
            shown,
            f"the thinnest wall, {key}, has {wall:g} mm",
            "give it in micrometres; such a defect is a hole",
        )
    elif size / UM_PER_MM > LARGEST_DEFECT:
        yield Fault(
            "material.defect_sqrt_area_um",
            shown,
            f"the defect formula holds to about {LARGEST_DEFECT:g} mm",
            "lower the limit of the inspection, or assess it as a crack",
        )
