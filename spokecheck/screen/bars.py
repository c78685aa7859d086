"""Error bars: from the moves of the hot spots to what a report may claim."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from spokecheck.screen.adapt import Convergence, Watched
from spokecheck.screen.gauge import wanted_edge
from spokecheck.screen.hotspots import MERGE_RADIUS, images_at_spokes
from spokecheck.screen.results import HotSpot, Screening
from spokecheck.wheel.design import Brief
from spokecheck.wheel.names import RIM_SURFACES
from spokecheck.wheel.surfaces import meridian

LEAST_BAR = 0.02
"""No error bar is smaller: geometry and integration have errors of their own, and where
cells are halved in place the rest of the wheel stays as coarse as it was.  That cost
1.1 % on a shoulder fillet whose first mesh had one cell to 22 degrees, the worst case
tried, and 0.2 to 0.5 % on wheels (``tests/screen/test_closer.py``)."""

HOT = 1.5
"""Spots within this factor of the least margin are hot: there the mesh is brought to
the contract; at the others the report says where it falls short."""

UNREFINED = 4.5
"""Jump estimates of coarse meshes are too small: by 4.2 on the lip of a flange one cell
thick, by 2.9 at a window's corner (first meshes of the examples, against their settled
values), by 2.3 on a shoulder fillet (D 60, d 40, r 5) with edges longer than its
radius."""


def watched_spots(screening: Screening) -> tuple[int, list[Watched]]:
    """Degrees of freedom and hot spots of a screening, as the loop wants them."""
    hot = HOT * screening.spots[0].margin

    def allowed(spot: HotSpot) -> float:
        return wanted_edge(spot) if spot.margin <= hot else np.inf

    watched = [_watch(spot, allowed(spot)) for spot in screening.spots]
    return 3 * screening.wheel.mesh.n_points, watched


def _watch(spot: HotSpot, allowed: float = np.inf) -> Watched:
    return Watched(
        spot.requirement,
        spot.position,
        spot.equivalent,
        spot.edge,
        spot.stress_error,
        spot.surface in RIM_SURFACES,
        allowed,
    )


def gap_of(design: Brief) -> Callable[[Watched, Watched], float]:
    """Distance of two spots [mm], places alike at each spoke being one place.

    On the rim a hot spot is the top of a flat band that runs round the wheel, and
    wanders along it from mesh to mesh: there the distance in the section counts.
    """

    def gap(one: Watched, other: Watched) -> float:
        if one.band and other.band:
            both = meridian(np.array([one.position, other.position]))
            return float(np.linalg.norm(both[0] - both[1]))
        images = images_at_spokes(design, np.array(other.position))
        return float(np.linalg.norm(images - one.position, axis=1).min())

    return gap


def error_bar(move: float, jump: float) -> float:
    """Relative error bar of a stress.

    Parameters
    ----------
    move : float
        Relative change in the last refinement; infinite if there was none.
    jump : float
        Estimate from the jumps between cells.

    Returns
    -------
    float
        The move where the spot was refined: if the error falls with the square of the
        edge length and edges shrank to 0.7 or less, what is left is at most 0.96 of it.
        The jump estimate if that is larger, as where the mesh was fine enough at once.
        Without a refinement, the jump estimate times ``UNREFINED``.
    """
    if not np.isfinite(move):
        return max(UNREFINED * jump, LEAST_BAR)
    return max(move, jump, LEAST_BAR)


def with_bars(
    screening: Screening, convergence: Convergence, seconds: dict[str, float]
) -> Screening:
    """Screening with an error bar for every hot spot, and how it was come by."""
    gap = gap_of(screening.wheel.design)
    last = convergence.passes[-1]

    def barred(spot: HotSpot) -> HotSpot:
        here, move = _watch(spot), float("inf")
        for seen, moved in zip(last.spots, last.moves, strict=True):
            if seen.label == here.label and gap(seen, here) < MERGE_RADIUS:
                move = moved
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
