"""Error bars: from the changes of the hot spots to what a report may claim."""

from collections.abc import Callable

import numpy as np

from spokecheck.screen.adapt import Convergence
from spokecheck.screen.hotspots import images_at_spokes
from spokecheck.screen.local_mesh import required_edge
from spokecheck.screen.ranking import RankedSpot
from spokecheck.screen.tracked_spots import TrackedSpot, error_bar
from spokecheck.wheel.shape.surfaces import meridian
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.surface_names import RIM_SURFACES

HOT = 1.5
"""Spots within this factor of the least margin are hot: there the mesh is refined until
it meets the mesh requirements; at the others the report says where it falls short."""


def tracked_spots(spots: tuple[RankedSpot, ...]) -> list[TrackedSpot]:
    """Hot spots of one mesh, worst first, as the loop tracks them."""
    hot = HOT * spots[0].margin
    return [
        TrackedSpot(
            label=spot.test,
            position=spot.position,
            value=spot.equivalent,
            edge=spot.edge,
            jump=spot.jump,
            band=spot.surface in RIM_SURFACES,
            allowed=required_edge(spot.edge, spot.mesh)
            if spot.margin <= hot
            else np.inf,
            margin=spot.margin,
        )
        for spot in spots
    ]


def gap_of(design: Brief) -> Callable[[TrackedSpot, TrackedSpot], float]:
    """Distance of two spots [mm], symmetric copies at other spokes being one place.

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


def error_bars(
    convergence: Convergence,
) -> dict[tuple[str, tuple[float, float, float]], float]:
    """Relative error bar of every hot spot of the last mesh, by label and position."""
    return {
        (one.spot.label, one.spot.position): error_bar(one.move, one.spot.jump)
        for one in convergence.meshes[-1].histories
    }
