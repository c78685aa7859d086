"""Plane regions of a drawing: metal as a shapely geometry, its edges and its hatching.

Lines are arrays of straight pieces (n, 2, 2); shapely cuts them where they cross the
outline of a region.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry
from shapely.geometry import Polygon

from spokecheck.plane.curves import turned
from spokecheck.units import BoolArray, FloatArray

CHORDS = 144
"""Pieces of a full circle; 0.06 mm from the true one at a radius of 250 mm."""

SHORT = 1.0e-6
"""Pieces shorter than this [mm] are dropped."""


def ring(radius: float, chords: int = CHORDS) -> FloatArray:
    """Points (chords, 2) of a circle about the origin, without the doubled last."""
    turn = 2.0 * np.pi * np.arange(chords) / chords
    return np.asarray(radius * np.column_stack([np.cos(turn), np.sin(turn)]))


def metal(body: FloatArray, holes: Sequence[FloatArray]) -> Geometry:
    """What lies in a body and in none of its holes.

    Parameters
    ----------
    body : ndarray (n, 2)
        Closed outline [mm].
    holes : sequence of ndarray (n, 2)
        Closed outlines; they may overlap and reach out of the body.
    """
    cut = shapely.union_all([shapely.make_valid(Polygon(hole)) for hole in holes])
    return shapely.difference(Polygon(body), cut)


def holds(region: Geometry, points: FloatArray) -> BoolArray:
    """Whether points (n, 2) lie in a region."""
    return np.asarray(shapely.contains_xy(region, points))


def edges(region: Geometry) -> FloatArray:
    """Outlines of a region as pieces (n, 2, 2)."""
    return _pieces(shapely.boundary(region))


def part(region: Geometry, pieces: FloatArray, *, within: bool) -> FloatArray:
    """Parts of pieces that lie within a region, or outside it, in the same order."""
    lines = shapely.linestrings(pieces)
    cut = shapely.intersection if within else shapely.difference
    return _pieces(cut(lines, region))


def hatching(
    region: Geometry, spacing: float, angle: float = np.pi / 4.0
) -> FloatArray:
    """Parallel lines (n, 2, 2) over a region, ``spacing`` [mm] apart.

    The lines of two regions in one plane continue each other.
    """
    level = turned(shapely.get_coordinates(region), -angle)
    (left, low), (right, high) = level.min(axis=0), level.max(axis=0)
    steps = np.arange(np.ceil(low / spacing), np.floor(high / spacing) + 1)
    y = steps * spacing
    ends = np.stack(
        [
            np.column_stack([np.full_like(y, left - 1.0), y]),
            np.column_stack([np.full_like(y, right + 1.0), y]),
        ],
        axis=1,
    )
    lines = turned(ends.reshape(-1, 2), angle).reshape(-1, 2, 2)
    return part(region, lines, within=True)


def _pieces(geometries: object) -> FloatArray:
    """Pieces (n, 2, 2) of lines; single points, where a line only touches, are none."""
    parts = shapely.get_parts(shapely.get_parts(np.asarray(geometries, dtype=object)))
    lines = parts[shapely.get_type_id(parts) != shapely.GeometryType.POINT]
    points, line = shapely.get_coordinates(lines, return_index=True)
    pieces = np.stack([points[:-1], points[1:]], axis=1)[line[1:] == line[:-1]]
    length = np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1)
    return np.asarray(pieces[length > SHORT])
