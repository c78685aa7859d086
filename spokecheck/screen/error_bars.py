"""Error bars: from the histories of the hot spots to what a report may claim."""

from collections.abc import Sequence

import numpy as np

from spokecheck.screen.adapt import Convergence
from spokecheck.screen.hotspots import (
    MERGE_RADIUS,
    equal_images,
    images_at_spokes,
)
from spokecheck.screen.local_mesh import required_edge
from spokecheck.screen.ranking import RankedSpot
from spokecheck.screen.tracked_spots import SpotHistory, TrackedSpot
from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.surfaces import meridian
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.surface_names import RIM_SURFACES

WANDER = 0.05
"""Of two spots on one band of the rim this share of their distance counts: a hot spot
wanders along its band from mesh to mesh, but the nearer one is the same."""

OPPOSITE = -0.5
"""Two spots whose normals have a product below this lie on two sides of a wall."""


def tracked_spots(
    wheel: Wheel, spots: tuple[RankedSpot, ...], local: bool
) -> list[TrackedSpot]:
    """Hot spots of one mesh, worst first, as the loop tracks them."""
    places = place_numbers(wheel.design, spots)
    return [
        TrackedSpot(
            label=spot.test,
            position=spot.position,
            value=spot.equivalent,
            parts=(spot.amplitude, spot.mean),
            edge=spot.edge,
            error=spot.jump,
            band=spot.surface in RIM_SURFACES,
            allowed=required_edge(spot.edge, spot.mesh),
            margin=spot.margin,
            images=tuple(map(tuple, equal_images(wheel, np.array(spot.position)))),
            place=place,
            local=local,
            facing=_facing(spot),
        )
        for spot, place in zip(spots, places, strict=True)
    ]


def _facing(spot: RankedSpot) -> tuple[float, float]:
    """Outward normal of the surface at a spot, radial and axial."""
    (x, y, _), (nx, ny, nz) = spot.position, spot.mesh.normal
    return (x * nx + y * ny) / float(np.hypot(x, y)), nz


def place_numbers(design: Brief, spots: Sequence[RankedSpot]) -> list[int]:
    """Number of each spot's place; similar spots, whatever their test, share one.

    Two spots are similar if they lie on one drawn surface and one of them lies to its
    spoke as the other does to its own, within the merging radius.
    """
    heads: list[tuple[str, FloatArray]] = []
    numbers = []
    for spot in spots:
        point = np.array(spot.position)
        for number, (surface, images) in enumerate(heads):
            gaps = np.linalg.norm(images - point, axis=1)
            if surface == spot.surface and gaps.min() < MERGE_RADIUS:
                numbers.append(number)
                break
        else:
            numbers.append(len(heads))
            heads.append((spot.surface, images_at_spokes(design, point)))
    return numbers


def gap_between(one: TrackedSpot, other: TrackedSpot) -> float:
    """Distance of two spots [mm], places that are equal by symmetry being one.

    The two sides of a thin wall are no one place, however near.
    On the rim a hot spot is the top of a flat band that runs round the wheel, and
    wanders along it from mesh to mesh: there the distance in the section counts.
    """
    if np.dot(one.facing, other.facing) < OPPOSITE:
        return float("inf")
    gaps = np.linalg.norm(np.array(other.images) - one.position, axis=1)
    apart = float(gaps.min())
    if one.band and other.band:
        both = meridian(np.array([one.position, other.position]))
        across = float(np.linalg.norm(both[0] - both[1]))
        return float(np.hypot(across, WANDER * apart))
    return apart


def histories_of(
    convergence: Convergence,
) -> dict[tuple[str, tuple[float, float, float]], SpotHistory]:
    """History of every hot spot of the last mesh, by label and position."""
    return {
        (one.spot.label, one.spot.position): one
        for one in convergence.meshes[-1].histories
    }
