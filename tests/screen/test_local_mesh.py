"""The mesh at the hot spots is measured, demanded where it may be, and told."""

from dataclasses import replace

import numpy as np
import pytest

from spokecheck.report.findings.json_report import screening_to_dict
from spokecheck.screen.adapt import RefinementLimits, converge, demand
from spokecheck.screen.error_bars import HOT, tracked_spots
from spokecheck.screen.local_mesh import SPARE, required_edge, shortfalls
from spokecheck.screen.tracked_spots import TrackedSpot
from spokecheck.wheel.meshing.mesh_check import FILLET_EDGES, LocalMesh


@pytest.fixture(scope="module")
def document(small_screening):
    """The JSON of a screening in one pass."""
    return screening_to_dict(small_screening)


def test_every_hot_spot_tells_its_mesh(small_screening, document):
    """Edge, edges on the quarter arc, wall and layers stand beside each hot spot."""
    assert all(spot.local is not None for spot in small_screening.spots)
    for told, spot in zip(document["hot_spots"], small_screening.spots, strict=True):
        assert told["mesh"]["layers"] == spot.local.layers
        assert told["mesh"]["short"] == list(spot.local.short)
    assert document["mesh_contract"]["checked"] is True
    assert document["mesh_contract"]["short"] == list(shortfalls(small_screening))


def test_a_coarse_mesh_is_told_to_fall_short(small_screening):
    """At half the default fineness some hot spot has fewer edges than wanted."""
    assert shortfalls(small_screening)


def test_the_edge_demanded_is_the_one_that_gives_the_count(small_screening):
    """Twice too coarse an arc is asked for half the edge, less the spare; so a wall."""
    spot = replace(small_screening.worst, edge=8.0)
    arc = replace(spot, local=LocalMesh(FILLET_EDGES / 2.0, 30.0, 4))
    assert required_edge(arc) == pytest.approx(SPARE * 4.0)
    wall = replace(spot, local=LocalMesh(None, 6.0, 1))
    assert required_edge(wall) == pytest.approx(SPARE * 3.0)
    assert np.isinf(required_edge(replace(spot, local=LocalMesh(3.0, 6.0, 2))))
    assert np.isinf(required_edge(replace(spot, local=None)))


def test_only_hot_places_are_refined_for_it(small_screening):
    """Places far above the least margin are only reported."""
    coarse = LocalMesh(1.0, 10.0, 1)
    spots = [
        replace(small_screening.worst, local=coarse, margin=margin)
        for margin in (1.0, HOT + 0.01)
    ]
    _, watched = tracked_spots(replace(small_screening, spots=tuple(spots)))
    assert [np.isfinite(spot.allowed) for spot in watched] == [True, False]


def test_a_demand_is_met_whatever_the_error_says():
    """A spot without error is refined to what the contract allows, then left alone."""
    asked = []

    def trial(before, spheres):
        asked.append(spheres)
        return min([ball.size for ball in spheres], default=before or 8.0)

    def watch(edge):
        allowed = 4.0 if edge > 4.0 else np.inf
        return 1000, [
            TrackedSpot("t", (0.0, 0.0, 0.0), 50.0, edge, 0.0, False, allowed)
        ]

    _, found = converge(trial, watch, lambda a, b: 0.0, RefinementLimits(meshes=4), 1.0)
    assert found.settled
    assert asked[0] == ()
    assert 4.0 in {ball.size for ball in asked[1]}
    assert all(ball.size < 4.0 for ball in asked[2])
    assert demand(watch(8.0)[1][0]).radius == 8.0
