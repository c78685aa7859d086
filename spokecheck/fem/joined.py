"""Two sectors of unlike symmetry that meet on a ring: the body made of their copies.

An outer part of n_o equal sectors and an inner part of n_i, such as seven spokes on
five bolts, meet on a surface of revolution.
It is divided into the least common multiple L of strips, equal up to a turn by
2 pi / L, so that the meshes of both parts conform on it however either is turned.
The body has g = gcd(n_o, n_i) sectors: ``join`` makes the mesh of one of them, the
whole body where g is 1, of n_o / g outer and n_i / g inner copies.

Strips are counted from the outer part's low cut; the inner part's low cut lies on the
border of strip ``first``.
Where g is above 1 and ``first`` is not 0, the cut of the joined mesh has a step along
the ring: a point of the ring that only the outer part has at the low end is the image
of one that only the inner part has at the high end.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import gcd

import numpy as np
import scipy.sparse as sp
from scipy.sparse.csgraph import connected_components

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.mesh.record import Mesh, boundary_faces, face_keys
from spokecheck.units import FloatArray, IntArray

RING = "cut ring"
"""Surface on which a sector meets the other part."""

RING_GAP = 1.0e-9
"""Largest distance [mm] of points of the two parts that are one on the ring."""


@dataclass(frozen=True)
class RingSector:
    """One sector of one of the two parts.

    Attributes
    ----------
    mesh : Mesh
        Its cells; surfaces whose name starts with ``cut`` are cuts and ring.
    cyclic : Cyclic
        Number of sectors of the part, and the point pairs of its cuts.
    ring : ndarray (n_strips, n_each)
        Points of each strip from the low cut on, in the same order in all strips; the
        border to the next strip is left out.
    """

    mesh: Mesh
    cyclic: Cyclic
    ring: IntArray

    @property
    def ring_middles(self) -> IntArray:
        """Mid-side points of all edges on the ring, both borders included."""
        faces = self.mesh.surfaces[RING]
        return np.unique(faces[:, 3:])

    @property
    def strips(self) -> int:
        """Strips of the whole ring, L."""
        return len(self.ring) * self.cyclic.count


@dataclass(frozen=True)
class JoinedPart:
    """A sector, and where its copies are in the joined mesh.

    Attributes
    ----------
    sector : RingSector
    first : int
        Strip that begins at its low cut.
    number : ndarray (n_copies, n_points)
        Number in the joined mesh of every copy of a sector's point; copy j is turned by
        j sectors.
    cells : slice
        Cells of the first copy in the joined mesh.
    """

    sector: RingSector
    first: int
    number: IntArray
    cells: slice


@dataclass(frozen=True)
class Joined:
    """The body made of two parts, or one of its sectors.

    Attributes
    ----------
    mesh : Mesh
        All copies, joined at their cuts and on the ring.
    cyclic : Cyclic
        The symmetry that both parts share, and the pairs of the joined mesh's cuts.
    parts : tuple of JoinedPart
        The outer part, then the inner.
    """

    mesh: Mesh
    cyclic: Cyclic
    parts: tuple[JoinedPart, JoinedPart]

    @property
    def strips(self) -> int:
        """Strips of the ring in the joined mesh, L / g."""
        return self.parts[0].sector.strips // self.cyclic.count


def join(outer: RingSector, inner: RingSector, first: int = 0) -> Joined:
    """Join copies of two sectors on their ring.

    Parameters
    ----------
    outer, inner : RingSector
        One sector of each part, where it lies in the body.
    first : int
        Strip of the ring at the inner part's low cut, from 0 to L / g - 1.

    Returns
    -------
    Joined

    Raises
    ------
    MeshError
        If the two parts do not conform on the ring.
    """
    if outer.ring.shape[1] != inner.ring.shape[1] or outer.strips != inner.strips:
        raise MeshError(
            f"the ring has {outer.strips} strips of {outer.ring.shape[1]} points on "
            f"the outer part, {inner.strips} of {inner.ring.shape[1]} on the inner"
        )
    g = gcd(outer.cyclic.count, inner.cyclic.count)
    sectors, firsts = (outer, inner), (0, first)
    copies = [sector.cyclic.count // g for sector in sectors]
    spans = [n * s.mesh.n_points for n, s in zip(copies, sectors, strict=True)]
    # 1. all points of all copies in a row, and which of them are one
    starts = (0, spans[0])
    entries = [
        start + np.arange(span).reshape(n, -1)
        for start, span, n in zip(starts, spans, copies, strict=True)
    ]
    tied = [_tied_cuts(s, e, g == 1) for s, e in zip(sectors, entries, strict=True)]
    keys = [
        _ring_keys(s, e, f, g) for s, e, f in zip(sectors, entries, firsts, strict=True)
    ]
    _, here, there = np.intersect1d(keys[0][0], keys[1][0], return_indices=True)
    on_ring = np.column_stack([keys[0][1][here], keys[1][1][there]])
    points = np.vstack([_turned(s, n) for s, n in zip(sectors, copies, strict=True)])
    _check_ring(points, on_ring)
    number, chosen = _merged(sum(spans), np.vstack([*tied, on_ring]))
    numbers = [number[entry] for entry in entries]
    # 2. cuts of what is joined: those of the parts, and the step along the ring
    pairs = [np.empty((0, 2), dtype=np.int64)]
    if g > 1:
        pairs += [
            np.column_stack([n[0][s.cyclic.pairs[:, 0]], n[-1][s.cyclic.pairs[:, 1]]])
            for s, n in zip(sectors, numbers, strict=True)
        ]
        pairs.append(_ring_step(keys, number, outer.strips // g * _WIDE))
    cyclic = Cyclic(g, np.unique(np.vstack(pairs), axis=0))
    points = _on_images(points[chosen], cyclic)
    mesh, slices = _union(points, sectors, numbers)
    if g > 1:
        mesh = _with_cuts(mesh, cyclic)
    parts = [
        JoinedPart(*each) for each in zip(sectors, firsts, numbers, slices, strict=True)
    ]
    return Joined(mesh, cyclic, (parts[0], parts[1]))


_WIDE = 1 << 20
"""Ring points are keyed by strip times this, plus their place in the strip."""


def _turned(sector: RingSector, copies: int) -> FloatArray:
    """Points of all copies of a sector."""
    alpha = sector.cyclic.alpha
    return np.vstack(
        [sector.mesh.points @ rotation(k * alpha).T for k in range(copies)]
    )


def _tied_cuts(sector: RingSector, entries: IntArray, closed: bool) -> IntArray:
    """High points of each copy and the low ones of the next, (n, 2)."""
    low, high = sector.cyclic.pairs.T
    after = np.roll(entries, -1, axis=0)
    tied = np.stack([entries[:, high], after[:, low]], axis=-1)
    return np.asarray((tied if closed else tied[:-1]).reshape(-1, 2))


def _ring_keys(
    sector: RingSector, entries: IntArray, first: int, g: int
) -> tuple[IntArray, IntArray]:
    """Keys of all ring points of a part, and their entries."""
    n_strips, n_each = sector.ring.shape
    copies = len(entries)
    strip = first + np.arange(copies * n_strips).reshape(copies, n_strips, 1)
    key = strip * _WIDE + np.arange(n_each)
    entry = entries[:, sector.ring]
    keys, found = [key.ravel()], [entry.ravel()]
    if g > 1:
        # the border at the far end, which is the first one's image
        image = np.full(sector.mesh.n_points, -1)
        image[sector.cyclic.pairs[:, 0]] = sector.cyclic.pairs[:, 1]
        far = image[sector.ring[0]]
        keys.append((first + copies * n_strips) * _WIDE + np.flatnonzero(far >= 0))
        found.append(entries[-1][far[far >= 0]])
    else:
        keys = [keys[0] % (sector.strips * _WIDE)]
    return np.concatenate(keys), np.concatenate(found)


def _ring_step(
    keys: Sequence[tuple[IntArray, IntArray]], number: IntArray, far: int
) -> IntArray:
    """Pairs (n, 2) of ring points at the low end and their images at the high end."""
    key = np.concatenate([key for key, _ in keys])
    points = number[np.concatenate([entry for _, entry in keys])]
    key, at = np.unique(key, return_index=True)
    points = points[at]
    _, low, high = np.intersect1d(key + far, key, return_indices=True)
    return np.column_stack([points[low], points[high]])


def _check_ring(points: FloatArray, on_ring: IntArray) -> None:
    """Refuse a ring on which the parts do not meet."""
    gap = float(np.abs(np.diff(points[on_ring], axis=1)).max(initial=0.0))
    if not len(on_ring) or gap > RING_GAP:
        raise MeshError(
            f"the two parts differ by {gap:.3g} mm on their ring (limit "
            f"{RING_GAP:g} mm): they do not conform"
        )


def _merged(count: int, tied: IntArray) -> tuple[IntArray, IntArray]:
    """Number of each entry when tied ones are one, and the first entry of each."""
    graph = sp.coo_array((np.ones(len(tied)), tuple(tied.T)), shape=(count, count))
    _, label = connected_components(graph, directed=False)
    _, chosen, number = np.unique(label, return_index=True, return_inverse=True)
    # numbered in the order of the entries
    rank = np.argsort(np.argsort(chosen))
    return rank[number], np.sort(chosen)


def _on_images(points: FloatArray, cyclic: Cyclic) -> FloatArray:
    """Points, those of the high cut put exactly onto the low one's images."""
    low, high = cyclic.pairs.T
    points = points.copy()
    points[high] = points[low] @ rotation(cyclic.alpha).T
    return points


def _with_cuts(mesh: Mesh, cyclic: Cyclic) -> Mesh:
    """The mesh with its cuts named, steps along the ring included."""
    outer = boundary_faces(mesh.cells)
    known = [face_keys(faces, mesh.n_points) for faces in mesh.surfaces.values()]
    known_keys = np.concatenate(known)
    rest = outer[~np.isin(face_keys(outer, mesh.n_points), known_keys)]
    low, high = (rest[np.isin(rest, side).all(axis=1)] for side in cyclic.pairs.T)
    if len(low) + len(high) != len(rest):
        counts = f"{len(low)} and {len(high)}"
        raise MeshError(f"{len(rest)} faces at the cuts, {counts} of them tied")
    return replace(mesh, surfaces={**mesh.surfaces, "cut low": low, "cut high": high})


def _union(
    points: FloatArray, sectors: Sequence[RingSector], numbers: Sequence[IntArray]
) -> tuple[Mesh, list[slice]]:
    """Mesh of all copies, and the cells of each part's first copy.

    Surfaces of one name in both parts are one; cuts and ring are none.
    """
    cells, slices, start = [], list[slice](), 0
    surfaces: dict[str, list[IntArray]] = {}
    interfaces: dict[str, list[IntArray]] = {}
    zones: dict[str, list[IntArray]] = {}
    for sector, number in zip(sectors, numbers, strict=True):
        mesh = sector.mesh
        slices.append(slice(start, start + mesh.n_cells))
        for copy in number:
            cells.append(copy[mesh.cells])
            for kept, some in (
                (surfaces, mesh.surfaces),
                (interfaces, mesh.interfaces),
            ):
                for name, faces in some.items():
                    if not name.startswith("cut "):
                        kept.setdefault(name, []).append(copy[faces])
            for name, members in mesh.zones.items():
                zones.setdefault(name, []).append(start + members)
            start += mesh.n_cells
    mesh = Mesh(
        points,
        np.vstack(cells),
        {name: np.vstack(surfaces[name]) for name in sorted(surfaces)},
        {name: np.concatenate(members) for name, members in zones.items()},
        {name: np.vstack(faces) for name, faces in interfaces.items()},
    )
    return mesh, slices
