"""The mesh at each hot spot, and how much finer the mesh requirements would have it."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

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

DENT_REACH = 1.0
"""A dent is felt up to so many lengths of its edge."""


@dataclass(frozen=True)
class SpotGauge:
    """Measures the mesh of a wheel at its hot spots.

    Attributes
    ----------
    wheel : Wheel
        Meshed wheel.
    """

    wheel: Wheel

    def at(self, node: int) -> LocalMesh:
        """Mesh at a point of the surface, with the deepest dent beside it."""
        point, local = self.wheel.mesh.points[node], self._gauge.at(node)
        depths = [
            dent.depth
            for dent in self.wheel.quality.dents
            if np.linalg.norm(point - dent.place) < DENT_REACH * dent.edge
        ]
        return replace(local, dent=max(depths)) if depths else local

    @cached_property
    def _gauge(self) -> Gauge:
        return Gauge(self.wheel.mesh)


def required_edge(edge: float, local: LocalMesh) -> float:
    """Largest edge [mm] the requirements allow at a hot spot; infinite if they are met.

    Parameters
    ----------
    edge : float
        Edge there now [mm].
    local : LocalMesh
        How fine the mesh is there.
    """
    allowed = float("inf")
    quarter, layers = local.edges_per_quarter, local.layers
    if quarter is not None and quarter < FILLET_EDGES:
        allowed = SPARE * edge * quarter / FILLET_EDGES
    if layers is not None and layers < WALL_LAYERS:
        # halving a cell halves its layer, however long it is beside the wall
        allowed = min(allowed, SPARE * edge * layers / WALL_LAYERS)
    return allowed
