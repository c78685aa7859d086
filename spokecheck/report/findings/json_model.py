"""What the JSON says of the model: wheel, mesh, options, and its refinement."""

from math import isfinite
from typing import TYPE_CHECKING, Any

from spokecheck.report.findings.numbers import rounded
from spokecheck.units import KG_PER_TONNE, MM_PER_METRE

if TYPE_CHECKING:  # records are only read here: the command line stays fast
    from spokecheck.screen.results import HotSpot, Screening
    from spokecheck.wheel.build import Wheel
from spokecheck.wheel.origin import Origin

STRESS_NOISE = 1.0e-6
"""Stress [MPa] below which only rounding of the solver is seen."""

SHARE_NOISE = 1.0e-9
"""The same for misfits and other shares."""

LENGTH_NOISE = 1.0e-6
"""The same for lengths [mm]."""

Json = dict[str, Any]


def wheel_json(wheel: "Wheel") -> Json:
    """The wheel: origin, mass, mesh and drawing."""
    weight, quality = wheel.weight, wheel.quality
    per_metre = KG_PER_TONNE / MM_PER_METRE**2
    return {
        "symmetry_sectors": wheel.cyclic.count,
        "alloy": wheel.alloy.id,
        "rim_alloy": wheel.rim_alloy.id,
        "construction": wheel.construction,
        "mass_kg": rounded(weight.mass * KG_PER_TONNE),
        "zones": [
            {
                "zone": zone,
                "alloy": wheel.alloy_of(zone).id,
                "mass_kg": rounded(mass * KG_PER_TONNE),
                "cells": len(wheel.zones[zone]),
            }
            for zone, mass in weight.zones.items()
        ],
        "centre_of_mass_mm": rounded(weight.centre, LENGTH_NOISE),
        "polar_inertia_kg_m2": rounded(weight.polar * per_metre),
        "transverse_inertia_kg_m2": rounded(weight.transverse * per_metre),
        "mesh_volume_gap": None
        if weight.solid_gap is None
        else rounded(weight.solid_gap, SHARE_NOISE),
        "origin": _origin(wheel.origin),
        "runout_mm": {k: rounded(v, LENGTH_NOISE) for k, v in wheel.runout.items()},
        "mesh": {
            "points": wheel.mesh.n_points,
            "cells": wheel.mesh.n_cells,
            "least_jacobian": rounded(quality.least_jacobian),
            "least_shape": rounded(quality.least_shape),
            "straightened_cells": quality.straightened,
            "surface_moved_mm": rounded(quality.deviation, LENGTH_NOISE),
            "surface_cells_taken_off": quality.peeled,
        },
        "drawing_remarks": list(wheel.remarks),
        "drawing_moves_mm": {k: rounded(by) for k, by in wheel.moves.items()},
        "squeezed_fillets": [
            {
                "where": reduced_radius.where,
                "key": reduced_radius.key,
                "wanted_mm": rounded(reduced_radius.wanted),
                "got_mm": rounded(reduced_radius.got),
            }
            for reduced_radius in wheel.landmarks.reduced_radii
        ],
    }


def _origin(origin: Origin) -> Json:
    if origin.kind == "drawn":
        return {"kind": origin.kind}
    return {
        "kind": origin.kind,
        "file": origin.file,
        "sha256": origin.sha256,
        "surfaces": [
            {
                "name": found.name,
                "area_mm2": rounded(found.area),
                "expected_mm2": rounded(found.expected),
                "how": found.how,
            }
            for found in origin.surfaces
        ],
    }


def options_json(screening: "Screening") -> Json:
    """How it was screened."""
    options = screening.options
    return {
        "fineness": rounded(options.fineness.factor),
        "tolerance": rounded(options.limits.tolerance),
        "most_passes": options.limits.passes,
        "finer_meshes": "made anew" if options.remesh else "cells halved in place",
        "most_unknowns": options.limits.unknowns,
        "procedures": list(options.procedures),
        "half_angle_deg": options.half_angle,
        "clamped": options.clamped,
    }


def convergence_json(screening: "Screening") -> Json:
    """The first hot spots on every mesh."""
    found = screening.convergence
    return {
        "settled": found.settled,
        "reason": found.reason,
        "passes": [
            {
                "unknowns": one.unknowns,
                "hot_spots": [
                    {
                        "label": spot.label,
                        "equivalent_mpa": rounded(spot.value, STRESS_NOISE),
                        "edge_mm": rounded(spot.edge, LENGTH_NOISE),
                        "move": rounded(move) if isfinite(move) else None,
                    }
                    for spot, move in zip(one.spots, one.moves, strict=True)
                ],
            }
            for one in found.passes
        ],
    }


def mesh_requirements_json(screening: "Screening") -> Json:
    """What the mesh keeps, and where it falls short."""
    # imported here, where they are loaded already: the command line stays fast
    from spokecheck.mesh.quality import LEAST_JACOBIAN, LEAST_SHAPE
    from spokecheck.screen.local_mesh import shortfalls
    from spokecheck.wheel.meshing import mesh_check

    kept = screening.wheel.kept
    return {
        "limits": {
            "least_jacobian": LEAST_JACOBIAN,
            "least_shape": LEAST_SHAPE,
            "cut_gap_mm": mesh_check.CUT_GAP,
            "edges_per_quarter": mesh_check.FILLET_EDGES,
            "layers": mesh_check.WALL_LAYERS,
        },
        "checked": kept is not None,
        "cut_gap_mm": None if kept is None else rounded(kept.cut_gap, SHARE_NOISE),
        "short": list(shortfalls(screening)),
    }


def local_mesh_json(spot: "HotSpot") -> Json | None:
    """The mesh at a hot spot."""
    local = spot.local
    if local is None:
        return None
    quarter, wall = local.edges_per_quarter, local.wall
    return {
        "edge_mm": rounded(spot.edge, LENGTH_NOISE),
        "edges_per_quarter": None if quarter is None else rounded(quarter),
        "wall_mm": None if wall is None else rounded(wall),
        "layers": local.layers,
        "short": list(local.short),
    }
