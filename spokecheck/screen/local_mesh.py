"""The mesh at each hot spot, and how much finer the contract would have it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from spokecheck.screen.results import HotSpot, Screening, TestResult
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.mesh_check import (
    FILLET_EDGES,
    WALL_LAYERS,
    Gauge,
    LocalMesh,
)

SPARE = 0.85
"""Share of the largest admissible edge that is asked for: the mesher keeps a size on
average, and the widest face counts."""


BESIDE = 1.0
"""A dent is felt up to so many lengths of its edge."""


def gauged(wheel: Wheel, tests: Sequence[TestResult]) -> tuple[TestResult, ...]:
    """Test results with the mesh measured at each of their hot spots."""
    gauge = Gauge(wheel.mesh)
    nodes = {spot.node for test in tests for spot in test.spots}
    found = {node: _dented(wheel, node, gauge.at(node)) for node in sorted(nodes)}
    return tuple(
        replace(
            test,
            spots=tuple(replace(spot, local=found[spot.node]) for spot in test.spots),
        )
        for test in tests
    )


def _dented(wheel: Wheel, node: int, local: LocalMesh) -> LocalMesh:
    """The mesh at a point, with the deepest dent beside it."""
    at = wheel.mesh.points[node]
    depths = [
        dent.depth
        for dent in wheel.quality.dents
        if np.linalg.norm(at - dent.place) < BESIDE * dent.edge
    ]
    return replace(local, dent=max(depths)) if depths else local


def required_edge(spot: HotSpot) -> float:
    """Largest edge [mm] the contract allows at a hot spot; infinite if it is kept."""
    local, edge = spot.local, float("inf")
    if local is None:
        return edge
    quarter, wall, layers = local.edges_per_quarter, local.wall, local.layers
    if quarter is not None and quarter < FILLET_EDGES:
        edge = SPARE * spot.edge * quarter / FILLET_EDGES
    if wall is not None and layers is not None and layers < WALL_LAYERS:
        edge = min(edge, SPARE * wall / WALL_LAYERS)
    return edge


def shortfalls(screening: Screening) -> tuple[str, ...]:
    """Where the final mesh falls short of the contract, and by how much."""
    told = {
        (spot.node, what): f"{spot.place}: {what}"
        for spot in screening.spots
        if spot.local is not None
        for what in spot.local.short
    }
    return tuple(dict.fromkeys(told.values()))
