"""From a meshed wheel to what is reported of it and of its mesh."""

from collections.abc import Sequence

from spokecheck.mesh.quality import LEAST_JACOBIAN, LEAST_SHAPE
from spokecheck.screen.findings import HotSpot
from spokecheck.screen.wheel_findings import (
    DepartureFindings,
    MeshFindings,
    MeshLimits,
    MeshRequirements,
    NamedArea,
    OriginFindings,
    RingFindings,
    WayFindings,
    WheelFindings,
    ZoneMass,
)
from spokecheck.units import KG_PER_TONNE, MM_PER_METRE
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing import mesh_check
from spokecheck.wheel.origin import Origin
from spokecheck.wheel.shape.fallbacks import drawing_number
from spokecheck.wheel.shape.way import Way

KG_M2 = KG_PER_TONNE / MM_PER_METRE**2
"""Multiply an inertia [t mm^2] by this to get [kg m^2]."""


def describe_wheel(wheel: Wheel) -> WheelFindings:
    """What is reported of a wheel: origin, mass, mesh and drawing."""
    weight = wheel.weight
    gap = weight.solid_gap
    return WheelFindings(
        symmetry_sectors=wheel.cyclic.count,
        way=_way(wheel.way),
        alloy=wheel.alloy.id,
        rim_alloy=wheel.rim_alloy.id,
        construction=wheel.construction,
        mass_kg=float(weight.mass * KG_PER_TONNE),
        zones=tuple(
            ZoneMass(
                zone=zone,
                alloy=wheel.alloy_of(zone).id,
                mass_kg=float(mass * KG_PER_TONNE),
                cells=len(wheel.zones[zone]),
            )
            for zone, mass in weight.zones.items()
        ),
        centre_of_mass_mm=float(weight.centre),
        polar_inertia_kg_m2=weight.polar * KG_M2,
        transverse_inertia_kg_m2=weight.transverse * KG_M2,
        mesh_volume_gap=None if gap is None else float(gap),
        origin=_origin(wheel.origin),
        runout_mm={name: float(gap) for name, gap in wheel.runout.items()},
        mesh=_mesh(wheel),
        drawing_remarks=wheel.remarks,
        drawing=drawing_number(wheel.fallback),
        departures=tuple(
            DepartureFindings(
                key=departure.key,
                asked_mm=float(departure.asked),
                drawn_mm=float(departure.drawn),
                because=departure.because,
            )
            for departure in wheel.departures
        ),
    )


def _way(way: Way) -> WayFindings:
    ring = way.ring
    return WayFindings(
        name=way.name,
        reason=way.reason,
        ring=None
        if ring is None
        else RingFindings(
            back_mm=ring.back.at,
            face_mm=ring.face.at,
            room_mm=ring.room,
            rounding=ring.rounding,
        ),
    )


def _origin(origin: Origin) -> OriginFindings:
    return OriginFindings(
        kind=origin.kind,
        words=origin.description,
        file=origin.file,
        sha256=origin.sha256,
        surfaces=tuple(
            NamedArea(
                name=surface.name,
                area_mm2=float(surface.area),
                expected_mm2=float(surface.expected),
                how=surface.how,
            )
            for surface in origin.surfaces
        ),
    )


def _mesh(wheel: Wheel) -> MeshFindings:
    quality = wheel.quality
    return MeshFindings(
        points=wheel.mesh.n_points,
        cells=wheel.mesh.n_cells,
        least_jacobian=float(quality.least_jacobian),
        least_shape=float(quality.least_shape),
        straightened_cells=int(quality.straightened),
        surface_moved_mm=float(quality.deviation),
        surface_cells_taken_off=int(quality.peeled),
    )


def describe_requirements(wheel: Wheel, spots: Sequence[HotSpot]) -> MeshRequirements:
    """What the mesh keeps, and where it falls short at the hot spots."""
    proof = wheel.proof
    # a place that leads several tests is reported once
    short = {
        (spot.node, what): f"{spot.place}: {what}"
        for spot in spots
        for what in spot.mesh.short
    }
    return MeshRequirements(
        limits=MeshLimits(
            least_jacobian=LEAST_JACOBIAN,
            least_shape=LEAST_SHAPE,
            cut_gap_mm=mesh_check.CUT_GAP,
            edges_per_quarter=mesh_check.FILLET_EDGES,
            layers=mesh_check.WALL_LAYERS,
        ),
        checked=proof is not None,
        cut_gap_mm=None if proof is None else float(proof.cut_gap),
        short=tuple(dict.fromkeys(short.values())),
    )
