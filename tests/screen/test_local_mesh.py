"""The mesh at the hot spots is measured, demanded where it may be, and told."""

import numpy as np
import pytest

from spokecheck.screen.adapt import RefinementLimits, converge, demand
from spokecheck.screen.local_mesh import SPARE, SpotGauge, required_edge
from spokecheck.screen.tracked_spots import TrackedSpot
from spokecheck.wheel.meshing.mesh_check import FILLET_EDGES, LocalMesh


def test_every_hot_spot_reports_its_mesh(small_screening):
    """Edges on the quarter arc, wall and layers are those measured on the mesh."""
    gauge = SpotGauge(small_screening.wheel)
    for spot in small_screening.findings.hot_spots:
        local = gauge.at(spot.node)
        assert spot.mesh.edges_per_quarter == local.edges_per_quarter
        assert spot.mesh.wall_mm == local.wall
        assert spot.mesh.layers == local.layers
        assert spot.mesh.short == local.short
        assert spot.mesh.edge_mm > 0.0


def test_a_coarse_mesh_is_reported_to_fall_short(small_screening):
    """On the first mesh some hot spot has fewer edges or layers than required."""
    found = small_screening.findings
    requirements = found.mesh_requirements
    assert requirements.checked
    assert requirements.short
    every = {f"{s.place}: {what}" for s in found.hot_spots for what in s.mesh.short}
    assert set(requirements.short) == every


def test_the_edge_demanded_is_the_one_that_gives_the_count():
    """Twice too coarse an arc is asked for half the edge, less the spare; so a wall."""
    arc = LocalMesh(FILLET_EDGES / 2.0, 30.0, 4)
    assert required_edge(8.0, arc) == pytest.approx(SPARE * 4.0)
    wall = LocalMesh(None, 6.0, 1)
    assert required_edge(8.0, wall) == pytest.approx(SPARE * 4.0)
    assert np.isinf(required_edge(8.0, LocalMesh(3.0, 6.0, 2)))
    assert np.isinf(required_edge(8.0, LocalMesh(None, None, None)))


def test_only_places_in_question_are_refined_for_it():
    """A place far above the least margin is only reported."""
    asked = []

    def trial(before, spheres):
        asked.append({sphere.centre[0] for sphere in spheres})
        return len(asked)

    def watch(mesh):
        return 1000 + mesh, [
            TrackedSpot(
                label="t",
                position=(100.0 * place, 0.0, 0.0),
                value=50.0,
                edge=8.0 / mesh,
                error=0.001,
                allowed=1.0,
                margin=1.0 + place,
                place=place,
            )
            for place in range(6)
        ]

    limits = RefinementLimits(meshes=2, places=1)
    converge(trial, watch, lambda a, b: abs(a.place - b.place), limits, 0.5)
    assert asked[0] == set()
    assert 0.0 in asked[1]
    assert 500.0 not in asked[1]


def test_a_demand_is_met_whatever_the_error_says():
    """A spot without error is refined to what the contract allows, then left alone."""
    asked = []

    def trial(before, spheres):
        asked.append(spheres)
        return min([sphere.size for sphere in spheres], default=before or 8.0)

    def watch(edge):
        allowed = 3.0 if edge > 3.0 else np.inf
        return 1000, [
            TrackedSpot(
                label="t",
                position=(0.0, 0.0, 0.0),
                value=50.0,
                edge=edge,
                error=0.0,
                allowed=allowed,
            )
        ]

    _, found = converge(trial, watch, lambda a, b: 0.0, RefinementLimits(meshes=4), 1.0)
    assert found.settled
    # the error alone would ask for half the edge at most: 4 mm
    sizes = [{sphere.size for sphere in spheres} for spheres in asked]
    assert sizes == [set(), {3.0, 4.0}]
    assert demand(watch(8.0)[1][0]).radius == 8.0
