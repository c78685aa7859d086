"""Hot spots: local maxima on the surface, one for all their symmetric copies."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import scipy.sparse as sp
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from spokecheck.fem.cyclic import rotation
from spokecheck.screen.tracked_spots import REFINED
from spokecheck.units import BoolArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.drawing import DISC, RIM
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.surface_names import RIM_SURFACES

MERGE_RADIUS = 20.0
"""Maxima nearer to a higher one than this [mm] are part of it; own choice, about the
width of a fillet's highly stressed zone."""

VALLEY = 0.9
"""A maximum counts as its own place if every way to a higher one leads below this share
of it; else it is a ripple on the same band, such as along a rim flange; own choice."""

COPY_RADIUS = 10.0
"""Points nearer than this [mm] to a symmetric image of a place are copies of it."""

LEAST_SHARE = 0.4
"""Maxima below this share of the highest are not listed."""

EDGE_RADIUS = 5.0
"""Around held and coupled surfaces the model is fictitious; points nearer than this
[mm] are left out and reported. Own choice: half a cell edge beyond the default mesh's
first row."""

ROUNDINGS = ("hub fillet", "rim fillet", "rim well corner")
"""Drawn surfaces that claim the points they share with flat neighbours."""

PLACES = 10
"""Hot spots kept for each test."""


@dataclass(frozen=True)
class Surface:
    """The outer surface of a wheel's mesh, sector cuts excepted.

    Attributes
    ----------
    nodes : ndarray (n_nodes,)
        Points of the mesh that lie on it, sorted.
    faces : ndarray (n_faces, 6)
        TRI6 faces, numbered within ``nodes``.
    names : ndarray (n_nodes,) of int
        Number of the drawn surface each point is counted to, into ``labels``.
    labels : tuple of str
    """

    nodes: IntArray
    faces: IntArray
    names: IntArray
    labels: tuple[str, ...]

    def on(self, labels: tuple[str, ...]) -> BoolArray:
        """Whether each point is counted to one of these drawn surfaces."""
        numbers = [k for k, label in enumerate(self.labels) if label in labels]
        return np.isin(self.names, numbers)


def outer_surface(wheel: Wheel) -> Surface:
    """Outer surface of a wheel.

    A point shared by several drawn surfaces is counted to the first of them, roundings
    before flats, since that is where a crack would be reported.
    """
    labels = sorted(
        (name for name in wheel.mesh.surfaces if not name.startswith("cut ")),
        key=lambda name: (not name.startswith(ROUNDINGS), name),
    )
    all_faces = np.concatenate([wheel.mesh.surfaces[name] for name in labels])
    nodes = np.unique(all_faces)
    names = np.full(len(nodes), -1)
    for k, name in reversed(list(enumerate(labels))):
        names[np.searchsorted(nodes, np.unique(wheel.mesh.surfaces[name]))] = k
    return Surface(nodes, np.searchsorted(nodes, all_faces), names, tuple(labels))


def in_rim(wheel: Wheel, surface: Surface) -> BoolArray:
    """Whether each surface point (n_nodes,) is metal of the rim.

    By the zone of its cells; a point on the line between the zones is counted to the
    disc.  A mesh without zones goes by its drawn surfaces.
    """
    zones = wheel.mesh.zones
    if RIM not in zones:
        return surface.on(RIM_SURFACES)
    rim = np.zeros(wheel.mesh.n_points, dtype=bool)
    rim[wheel.mesh.cells[zones[RIM]]] = True
    rim[wheel.mesh.cells[zones[DISC]]] = False
    return np.asarray(rim[surface.nodes])


def is_peak(surface: Surface, values: FloatArray) -> BoolArray:
    """Whether a point's value is not below that of any point it shares a face with."""
    highest = np.zeros(len(values))
    on_face = values[surface.faces].max(axis=1)
    np.maximum.at(highest, surface.faces, on_face[:, None])
    return np.asarray((values >= highest) & (values > 0.0))


def edge_lengths(points: FloatArray, surface: Surface) -> FloatArray:
    """Mean edge length [mm] of the faces that meet at each surface point (n_nodes,)."""
    corners = points[surface.nodes[surface.faces[:, :3]]]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).mean(axis=1)
    members, n_nodes = surface.faces.ravel(), len(surface.nodes)
    total = np.bincount(members, np.repeat(sides, surface.faces.shape[1]), n_nodes)
    return np.asarray(total / np.bincount(members, minlength=n_nodes))


def images_at_spokes(design: Brief, point: FloatArray) -> FloatArray:
    """All places (n, 3) that lie to their spoke as ``point`` (3,) does to its own.

    Where the bolts share the spokes' symmetry they are equal; else nearly so.
    """
    count = design.copies_alike
    turns = np.stack([rotation(2.0 * np.pi * k / count) for k in range(count)])
    images = turns @ point
    if not design.mirrored:
        return np.asarray(images)
    return np.concatenate([images, images * np.array([1.0, -1.0, 1.0])])


@dataclass(frozen=True)
class Peak:
    """One distinct maximum.

    Attributes
    ----------
    index : int
        Point, numbered within ``Surface.nodes``.
    copies : int
        Places that lie to their spoke as this one does to its own; equal where the
        bolts share the spokes' symmetry, else nearly so, and this one is the worst, or
        was on meshes of equal size.
    """

    index: int
    copies: int


class FirstMeshValues(NamedTuple):
    """Values at the surface points (n_nodes,) on the first mesh.

    Attributes
    ----------
    values : ndarray (n_nodes,)
        Utilisation in one test, at points that came later that of the nearest.
    edges : ndarray (n_nodes,)
        Mean edge length [mm] of the faces there, likewise.
    """

    values: FloatArray
    edges: FloatArray


def distinct_peaks(
    wheel: Wheel,
    surface: Surface,
    values: FloatArray,
    excluded: BoolArray,
    most: int = PLACES,
    first_mesh: FirstMeshValues | None = None,
) -> list[Peak]:
    """Local maxima, highest first, one for all its symmetric copies.

    Parameters
    ----------
    wheel : Wheel
        For its symmetry.
    surface : Surface
        Outer surface.
    values : ndarray (n_nodes,)
        Utilisation at its points.
    excluded : ndarray (n_nodes,) of bool
        Points that must not be listed; they do not hide a maximum beside them.
    most : int
        How many to keep.
    first_mesh : FirstMeshValues, optional
        Of the first mesh.  Cells are halved about one of several copies of a place, at
        other spokes or along a flat band.  If that one was not lower than the others on
        the first mesh, it represents those whose mesh has not been refined.

    Returns
    -------
    list of Peak
    """
    points = wheel.mesh.points[surface.nodes]
    allowed = np.where(excluded, 0.0, values)
    graph = _graph(wheel, surface)
    if first_mesh is not None:
        highest_ever = np.where(excluded, 0.0, np.maximum(values, first_mesh.values))
        edges = edge_lengths(wheel.mesh.points, surface)
        refined = edges <= REFINED * first_mesh.edges
    # 1. candidates: points not below their neighbours, highest first, ties by number
    is_top = is_peak(surface, allowed)
    candidates = np.flatnonzero(is_top)
    six_digits = np.array([float(f"{v:.5e}") for v in allowed[candidates]])
    candidates = candidates[np.lexsort((candidates, -six_digits))]
    peaks: list[Peak] = []
    listed = np.zeros(len(points), dtype=bool)  # points that a listed peak represents
    places = np.empty((0, 3))  # all images of the listed peaks
    for index in candidates.tolist():
        if len(peaks) == most or allowed[index] < LEAST_SHARE * allowed[candidates[0]]:
            break
        # 2. part of a higher maximum, or of a copy of one, by distance
        gaps = np.linalg.norm(places - points[index], axis=1)
        if len(gaps) and gaps.min() < MERGE_RADIUS:
            continue
        # 3. ripple of a listed band: a path above the valley leads to it
        if _band(graph, allowed, index)[listed].any():
            continue
        # 4. its symmetric copies count as listed
        images = images_at_spokes(wheel.design, points[index])
        gap, _ = cKDTree(images).query(points)
        copies = (gap < COPY_RADIUS) & (surface.names == surface.names[index])
        listed |= copies & is_top & (allowed >= VALLEY * allowed[index])
        # 5. a refined copy, or refined part of the band, represents a coarse maximum
        chosen = index
        if first_mesh is not None and not refined[index]:
            alike = (copies | _band(graph, highest_ever, index)) & ~excluded & refined
            chosen = _representative(points, allowed, index, alike, first_mesh.values)
        listed[[index, chosen]] = True
        peaks.append(Peak(chosen, _distinct(images)))
        places = np.vstack([places, images])
    return peaks


def _representative(
    points: FloatArray,
    values: FloatArray,
    index: int,
    alike: BoolArray,
    first_values: FloatArray,
) -> int:
    """Of a coarse maximum and refined points like it, the one that is listed.

    The maximum itself if none of them was as high on the first mesh; else the highest
    point about the one that was the highest then.
    """
    as_high = alike & (first_values >= first_values[index])
    if not as_high.any():
        return index
    highest = int(np.where(as_high, first_values, -1.0).argmax())
    around = np.linalg.norm(points - points[highest], axis=1) < COPY_RADIUS
    return int(np.where(around & alike, values, -1.0).argmax())


def _graph(wheel: Wheel, surface: Surface) -> sp.csr_array:
    """Which surface points share a face, across the sector cuts too."""
    faces, n_nodes = surface.faces, len(surface.nodes)
    # corner to corner, and corner to the mid-side node after it
    ends = [faces[:, [k, (k + 1) % 3]] for k in range(3)]
    ends += [faces[:, [k, 3 + k]] for k in range(3)]
    # a point of one cut is its image on the other
    pairs = wheel.cyclic.pairs[np.isin(wheel.cyclic.pairs, surface.nodes).all(axis=1)]
    ends.append(np.searchsorted(surface.nodes, pairs))
    row, col = np.concatenate(ends).T
    shape = (n_nodes, n_nodes)
    return sp.csr_array((np.ones(len(row), dtype=np.int8), (row, col)), shape=shape)


def _band(graph: sp.csr_array, values: FloatArray, index: int) -> BoolArray:
    """Points (n_nodes,) that a path above the valley joins to a maximum."""
    above = np.flatnonzero(values >= VALLEY * values[index])
    _, label = connected_components(graph[above][:, above], directed=False)
    band = np.zeros(len(values), dtype=bool)
    band[above[label == label[np.searchsorted(above, index)]]] = True
    return band


def _distinct(images: FloatArray) -> int:
    """Number of images that lie apart; a close mirror pair is one."""
    kept: list[FloatArray] = []
    for image in images:
        if all(np.linalg.norm(image - other) > MERGE_RADIUS for other in kept):
            kept.append(image)
    return len(kept)


def near(points: FloatArray, others: FloatArray, radius: float) -> BoolArray:
    """Whether each of points (n, 3) lies within ``radius`` [mm] of the others."""
    distance, _ = cKDTree(others).query(points, distance_upper_bound=radius)
    return np.asarray(np.isfinite(distance))
