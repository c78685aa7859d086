"""Hot spots: local maxima on the surface, each listed once for all that equal it."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import scipy.sparse as sp
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from spokecheck.fem.cyclic import reflection, rotation
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
"""Maxima below this share of the highest are not listed, unless they are high."""

HIGH = 0.75
"""Utilisation from which every place is listed: a margin of 1.33, which a generous
error bar takes below what clears."""

EDGE_RADIUS = 5.0
"""Around held and coupled surfaces the model is fictitious; points nearer than this
[mm] are left out and reported. Own choice: half a cell edge beyond the default mesh's
first row."""

ROUNDINGS = ("hub fillet", "rim fillet", "rim well corner")
"""Drawn surfaces that claim the points they share with flat neighbours."""

PLACES = 10
"""Families of similar places kept for each test, besides all that are high."""

MOST_PEAKS = 60
"""No more maxima than these are kept for a test, however high."""


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

    They are similar; where bolts and spokes share a symmetry some are equal.
    """
    images = _turned(point, design.copies_alike)
    # a drawn spoke is mirrored at +x, whatever the bolts; a solid where it was found
    return _with_mirrored(images, 0.0 if design.mirrored else design.mirror_plane)


def equal_images(wheel: Wheel, point: FloatArray) -> FloatArray:
    """All places (n, 3) that a symmetry of the wheel maps ``point`` (3,) onto.

    The turns by one sector, and the mirror planes that drawing and bolts share, or that
    a solid from elsewhere has.
    """
    images = _turned(point, wheel.cyclic.count)
    return _with_mirrored(images, wheel.design.mirror_plane)


def _with_mirrored(images: FloatArray, plane: float | None) -> FloatArray:
    """Places (n, 3), and their images at a plane through the axle [rad] if any."""
    if plane is None:
        return images
    return np.concatenate([images, images @ reflection(plane).T])


def _turned(point: FloatArray, count: int) -> FloatArray:
    """Copies (count, 3) of a point (3,) about the axle."""
    turns = np.stack([rotation(2.0 * np.pi * k / count) for k in range(count)])
    return np.asarray(turns @ point)


@dataclass(frozen=True)
class Peak:
    """One distinct maximum.

    Attributes
    ----------
    index : int
        Point, numbered within ``Surface.nodes``.
    copies : int
        Places equal to this one by a symmetry of the wheel, itself included.
    family : int
        The same for places that lie to their spokes alike without being equal: of one
        name, at other spokes of the sector or on the other side of a spoke.
    """

    index: int
    copies: int
    family: int = 0


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
    first_mesh: FirstMeshValues | None = None,
) -> list[Peak]:
    """Local maxima, highest first; places that are equal by symmetry are one.

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
    first_mesh : FirstMeshValues, optional
        Of the first mesh.  Cells are halved about one point of a flat band; where that
        one was no cooler at first, it stands for those whose mesh is as it was.

    Returns
    -------
    list of Peak
        Of the first ``PLACES`` families, and all of high utilisation.
    """
    values = np.where(excluded, 0.0, values)
    graph, tops = _graph(wheel, surface), is_peak(surface, values)
    points = wheel.mesh.points[surface.nodes]
    tree = cKDTree(points)
    if first_mesh is not None:
        hottest = np.where(excluded, 0.0, np.maximum(values, first_mesh.values))
        edges = edge_lengths(wheel.mesh.points, surface)
        refined = edges <= REFINED * first_mesh.edges
    peaks: list[Peak] = []
    families = _Families(wheel.design)
    listed = np.zeros(len(points), dtype=bool)
    taken = np.empty((0, 3))
    candidates = _by_height(np.flatnonzero(tops), values)
    for index in candidates.tolist():
        if _is_low(values[index], values[candidates[0]], len(families.heads)):
            break
        # a shoulder of a higher maximum, or of an equal image of one
        if len(taken) and np.linalg.norm(taken - points[index], axis=1).min() < (
            MERGE_RADIUS
        ):
            continue
        # a ripple on the band of a higher one
        if _band(graph, values, index)[listed].any():
            continue
        images = equal_images(wheel, points[index])
        imaged = _within(tree, images) & (surface.names == surface.names[index])
        listed |= imaged & tops & (values >= VALLEY * values[index])
        top = index
        if first_mesh is not None and not refined[index]:
            same = (imaged | _band(graph, hottest, index)) & ~excluded & refined
            top = _representative(points, values, index, same, first_mesh.values)
        listed[[index, top]] = True
        family = families.of(int(surface.names[index]), points[index])
        peaks.append(Peak(top, _distinct(images), family))
        taken = np.vstack([taken, images])
        if len(peaks) == MOST_PEAKS:
            break
    return peaks


def _within(tree: cKDTree, images: FloatArray) -> BoolArray:
    """Points (n_nodes,) of a tree that are copies of a place, by its images (n, 3)."""
    near = np.zeros(tree.n, dtype=bool)
    for members in tree.query_ball_point(images, COPY_RADIUS):
        near[members] = True
    return near


def _by_height(candidates: IntArray, values: FloatArray) -> IntArray:
    """Points by falling value, to six digits; then by number."""
    rounded = np.array([float(f"{value:.5e}") for value in values[candidates]])
    return np.asarray(candidates[np.lexsort((candidates, -rounded))])


def _is_low(value: float, highest: float, families: int) -> bool:
    """Whether a maximum and all below it are left out of the list."""
    if value >= HIGH:
        return False
    return families >= PLACES or value < LEAST_SHARE * highest


class _Families:
    """Places of one name that lie to their spokes alike, numbered as they come."""

    def __init__(self, design: Brief) -> None:
        self.design = design
        self.heads: list[tuple[int, FloatArray]] = []

    def of(self, name: int, point: FloatArray) -> int:
        """Number of a place's family, a new one if it is the first of its kind."""
        for number, (other, images) in enumerate(self.heads):
            gaps = np.linalg.norm(images - point, axis=1)
            if other == name and gaps.min() < COPY_RADIUS:
                return number
        self.heads.append((name, images_at_spokes(self.design, point)))
        return len(self.heads) - 1


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
