"""Error bars: from the moves of the hot spots to what a report may claim."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from spokecheck.screen.adapt import Convergence
from spokecheck.screen.hotspots import images_at_spokes
from spokecheck.screen.local_mesh import required_edge
from spokecheck.screen.results import HotSpot, Screening
from spokecheck.screen.tracked_spots import TrackedSpot, error_bar
from spokecheck.wheel.shape.surfaces import meridian
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.surface_names import RIM_SURFACES

HOT = 1.5
"""Spots within this factor of the least margin are hot: there the mesh is brought to
the contract; at the others the report says where it falls short."""


def tracked_spots(screening: Screening) -> tuple[int, list[TrackedSpot]]:
    """Degrees of freedom and hot spots of a screening, as the loop wants them."""
    hot = HOT * screening.spots[0].margin

    def allowed(spot: HotSpot) -> float:
        return required_edge(spot) if spot.margin <= hot else np.inf

    watched = [_watch(spot, allowed(spot)) for spot in screening.spots]
    return 3 * screening.wheel.mesh.n_points, watched


def _watch(spot: HotSpot, allowed: float = np.inf) -> TrackedSpot:
    return TrackedSpot(
        spot.requirement,
        spot.position,
        spot.equivalent,
        spot.edge,
        spot.stress_error,
        spot.surface in RIM_SURFACES,
        allowed,
        spot.margin,
    )


def gap_of(design: Brief) -> Callable[[TrackedSpot, TrackedSpot], float]:
    """Distance of two spots [mm], places alike at each spoke being one place.

    On the rim a hot spot is the top of a flat band that runs round the wheel, and
    wanders along it from mesh to mesh: there the distance in the section counts.
    """

    def gap(one: TrackedSpot, other: TrackedSpot) -> float:
        if one.band and other.band:
            both = meridian(np.array([one.position, other.position]))
            return float(np.linalg.norm(both[0] - both[1]))
        images = images_at_spokes(design, np.array(other.position))
        return float(np.linalg.norm(images - one.position, axis=1).min())

    return gap


def with_bars(
    screening: Screening, convergence: Convergence, seconds: dict[str, float]
) -> Screening:
    """Screening with an error bar for every hot spot, and how it was come by."""
    found = convergence.passes[-1].found
    moves = {(one.spot.label, one.spot.position): one.move for one in found}

    def barred(spot: HotSpot) -> HotSpot:
        move = moves[spot.requirement, spot.position]
        return replace(spot, stress_error=error_bar(move, spot.stress_error))

    tests = tuple(
        replace(test, spots=tuple(barred(spot) for spot in test.spots))
        for test in screening.tests
    )
    return replace(
        screening,
        tests=tests,
        spots=tuple(barred(spot) for spot in screening.spots),
        convergence=convergence,
        seconds=seconds,
    )
