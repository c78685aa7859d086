"""Structured blocks of second-order tetrahedra: a grid of bricks and a smooth map.

Each brick is cut into the six tetrahedra around one body diagonal, and neighbouring
bricks are mirror images of one another.
So a face diagonal always joins the (even, even) and (odd, odd) corners of the grid, and
two blocks whose sides have the same grid fit together whichever way they are turned.
Mid-side points are mapped like corners, hence they lie on the true geometry.

References
----------
Kuhn, Some combinatorial lemmas in topology, IBM J. Res. Dev. 4 (1960) 518-524
(the six-fold split; from memory).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from spokecheck.errors import MeshError
from spokecheck.mesh.record import TET_EDGES, Mesh, boundary_faces
from spokecheck.units import FloatArray, IntArray

Map = Callable[[FloatArray], FloatArray]
"""From grid coordinates (n, 3) to positions (n, 3) [mm]."""

Division = int | Sequence[float] | FloatArray
"""Number of equal cells between 0 and 1, or the rising borders of the cells."""

SIDES = ("i0", "i1", "j0", "j1", "k0", "k1")
"""The six sides of a block: grid direction i, j, k, and its low or high end."""

JOIN_TOLERANCE = 1e-7
"""Distance, relative to the largest extent, below which joined points are one."""

_FLIP = np.array([0, 2, 1, 3, 6, 5, 4, 7, 9, 8])
"""Local nodes of a cell after an exchange of corners 1 and 2."""

_FLIP_FACE = np.array([0, 2, 1, 5, 4, 3])
"""Local nodes of a face after the same."""


def geometric(count: int, ratio: float) -> FloatArray:
    """Cell borders from 0 to 1 whose sizes grow by a constant factor.

    Parameters
    ----------
    count : int
        Number of cells.
    ratio : float
        Size of the last cell over size of the first.

    Returns
    -------
    ndarray (count + 1,)

    Examples
    --------
    >>> geometric(3, 4.0).round(4).tolist()
    [0.0, 0.1429, 0.4286, 1.0]
    """
    sizes = ratio ** np.linspace(0.0, 1.0, count) if count > 1 else np.ones(1)
    return np.concatenate([[0.0], np.cumsum(sizes) / sizes.sum()])


def pieces(breaks: Sequence[float], counts: Sequence[int]) -> FloatArray:
    """Cell borders with ``counts[k]`` equal cells between ``breaks[k]`` and the next.

    Examples
    --------
    >>> pieces([0.0, 5.0, 20.0], [1, 3]).tolist()
    [0.0, 5.0, 10.0, 15.0, 20.0]
    """
    spans = zip(breaks[:-1], breaks[1:], counts, strict=True)
    parts = [np.linspace(low, high, n + 1)[:-1] for low, high, n in spans]
    return np.concatenate([*parts, [breaks[-1]]])


def block(
    mapping: Map,
    cells: tuple[Division, Division, Division],
    names: Mapping[str, str] | None = None,
) -> Mesh:
    """Map a grid of bricks into space and cut it into second-order tetrahedra.

    Parameters
    ----------
    mapping : callable
        From grid coordinates (n, 3) to positions (n, 3) [mm]; smooth inside each cell.
        It may be left-handed, but not change its sense.
    cells : tuple of three int or sequence of float
        Number of cells between 0 and 1, or the borders of the cells, in each direction.
    names : mapping of str to str
        Surface name for each side of ``SIDES`` that shall have one; sides may share
        a name.

    Returns
    -------
    Mesh
        With six cells for each brick.

    Raises
    ------
    MeshError
        If a division is empty or not rising, or if the map folds over.

    Examples
    --------
    >>> cube = block(lambda x: x, (2, 2, 2), {"i0": "left"})
    >>> cube.n_points, cube.n_cells, len(cube.faces("left"))
    (125, 48, 8)
    """
    borders = [_borders(division) for division in cells]
    halves = [
        np.interp(np.arange(2 * len(b) - 1) / 2, np.arange(len(b)), b) for b in borders
    ]
    grid = np.stack(np.meshgrid(*halves, indexing="ij"), axis=-1).reshape(-1, 3)
    points = np.asarray(mapping(grid), dtype=float)
    shape = np.array([len(h) for h in halves])
    connectivity = _upright(points, _brick_cells(shape))
    faces = boundary_faces(connectivity)
    place = np.stack(np.unravel_index(faces, shape), axis=-1)
    surfaces: dict[str, list[IntArray]] = {}
    for side, name in (names or {}).items():
        axis, end = divmod(SIDES.index(side), 2)
        on_side = (place[:, :, axis] == end * (shape[axis] - 1)).all(axis=1)
        surfaces.setdefault(name, []).append(faces[on_side])
    named = {name: np.concatenate(parts) for name, parts in surfaces.items()}
    return Mesh(points, connectivity, named)


def _borders(division: Division) -> FloatArray:
    if isinstance(division, int | np.integer):
        if division < 1:
            raise MeshError(f"{division} cells in one direction: give at least 1")
        return np.linspace(0.0, 1.0, int(division) + 1)
    borders = np.asarray(division, dtype=float)
    if len(borders) < 2 or not (np.diff(borders) > 0.0).all():
        raise MeshError(f"cell borders {borders.tolist()}: give two or more, rising")
    return borders


def _brick_cells(shape: IntArray) -> IntArray:
    """TET10 connectivity on the half-step grid of ``shape`` points."""
    bricks = np.stack(
        np.meshgrid(*[np.arange(n // 2) for n in shape], indexing="ij"), axis=-1
    ).reshape(-1, 3)
    odd = bricks % 2
    start, step = 2 * (bricks + odd), 2 - 4 * odd
    cells = []
    for path in permutations(range(3)):
        corner = [start]
        for axis in path:
            move = np.zeros_like(start)
            move[:, axis] = step[:, axis]
            corner.append(corner[-1] + move)
        corners = np.stack(corner, axis=1)
        mids = (corners[:, TET_EDGES[:, 0]] + corners[:, TET_EDGES[:, 1]]) // 2
        nodes = np.concatenate([corners, mids], axis=1)
        numbers = np.ravel_multi_index(tuple(np.moveaxis(nodes, 2, 0)), shape)
        sense = np.linalg.det(np.eye(3)[list(path)]) * step.prod(axis=1)
        cells.append(np.where((sense < 0.0)[:, None], numbers[:, _FLIP], numbers))
    return np.stack(cells, axis=1).reshape(-1, 10)


def _upright(points: FloatArray, cells: IntArray) -> IntArray:
    """Cells of a left-handed block with corners 1 and 2 exchanged."""
    edges = points[cells[:, 1:4]] - points[cells[:, :1]]
    volume = np.linalg.det(edges)
    sense = np.sign(volume.sum())
    bad = sense * volume <= 1e-9 * np.abs(edges).max(axis=(1, 2)) ** 3
    if bad.any():
        raise MeshError(
            f"{int(bad.sum())} of {len(cells)} cells are flat or inverted: "
            "the map folds or flattens the block; correct the map or its dimensions"
        )
    return cells if sense > 0.0 else np.asarray(cells[:, _FLIP])


def join(meshes: Sequence[Mesh]) -> Mesh:
    """One mesh from several that touch.

    Parameters
    ----------
    meshes : sequence of Mesh
        Blocks whose common sides have the same grid; a mesh may also meet itself.

    Returns
    -------
    Mesh
        Coinciding points are one; surfaces and zones of the same name are united, and
        faces that now lie inside the body have gone from the surfaces.

    Raises
    ------
    MeshError
        If two sides lie on each other but their cells do not match.
    """
    points = np.concatenate([mesh.points for mesh in meshes])
    offsets = np.cumsum([0, *[mesh.n_points for mesh in meshes]])
    leader = _coinciding(points)
    kept, number = np.unique(leader, return_inverse=True)
    cells = np.concatenate(
        [number[m.cells + o] for m, o in zip(meshes, offsets, strict=False)]
    )
    _check_fit(cells)
    surfaces = _united(
        [
            {name: number[faces + o] for name, faces in m.surfaces.items()}
            for m, o in zip(meshes, offsets, strict=False)
        ]
    )
    outer = {tuple(face) for face in np.sort(boundary_faces(cells)[:, :3]).tolist()}
    for name, faces in surfaces.items():
        keys = np.sort(faces[:, :3]).tolist()
        surfaces[name] = faces[[tuple(key) in outer for key in keys]]
    starts = np.cumsum([0, *[mesh.n_cells for mesh in meshes]])
    zones = _united(
        [
            {name: members + s for name, members in m.zones.items()}
            for m, s in zip(meshes, starts, strict=False)
        ]
    )
    return Mesh(points[kept], cells, surfaces, zones)


def _united(parts: Sequence[Mapping[str, IntArray]]) -> dict[str, IntArray]:
    names = dict.fromkeys(name for part in parts for name in part)
    return {
        name: np.concatenate([part[name] for part in parts if name in part])
        for name in names
    }


def _coinciding(points: FloatArray) -> IntArray:
    """First point of each group of coinciding points, for every point."""
    tolerance = JOIN_TOLERANCE * float(np.ptp(points, axis=0).max())
    pairs = cKDTree(points).query_pairs(tolerance, output_type="ndarray")
    n = len(points)
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(n, n))
    _, group = connected_components(links, directed=False)
    first = np.full(group.max() + 1, n)
    np.minimum.at(first, group, np.arange(n))
    return np.asarray(first[group])


def _check_fit(cells: IntArray) -> None:
    """Raise if one point serves two edges, or is a corner and a mid-side point."""
    ends = np.sort(cells[:, TET_EDGES].reshape(-1, 2))
    mids = cells[:, 4:].reshape(-1, 1)
    edges = np.unique(np.hstack([mids, ends]), axis=0)
    twice = len(edges) - len(np.unique(mids))
    both = len(np.intersect1d(mids, cells[:, :4]))
    if twice or both:
        raise MeshError(
            f"{twice + both} points where blocks touch do not match: "
            "give the common sides the same grid, an even number of cells if reversed"
        )


def moved(mesh: Mesh, mapping: Map) -> Mesh:
    """Copy of a mesh with its points moved.

    Parameters
    ----------
    mesh : Mesh
        The body as it was.
    mapping : callable
        From old to new positions (n, 3) [mm]; one that exchanges left and right turns
        cells and faces over.

    Returns
    -------
    Mesh
    """
    points = np.asarray(mapping(mesh.points), dtype=float)
    cells = _upright(points, mesh.cells)
    if cells is mesh.cells:
        return replace(mesh, points=points)
    over = {name: faces[:, _FLIP_FACE] for name, faces in mesh.surfaces.items()}
    return replace(mesh, points=points, cells=cells, surfaces=over)


def straightened(mesh: Mesh) -> Mesh:
    """Copy of a mesh with every mid-side point halfway between its corners."""
    points = mesh.points.copy()
    ends = mesh.points[mesh.cells[:, TET_EDGES]]
    points[mesh.cells[:, 4:]] = ends.mean(axis=2)
    return replace(mesh, points=points)


def zoned(mesh: Mesh, name: str) -> Mesh:
    """Copy of a mesh with all of its cells in one more zone."""
    return replace(mesh, zones={**mesh.zones, name: np.arange(mesh.n_cells)})


def turned_copies(mesh: Mesh, count: int, angle: float) -> Mesh:
    """Join ``count`` copies of a mesh, each turned by ``angle`` [rad] about z."""
    copies = []
    for k in range(count):
        c, s = np.cos(k * angle), np.sin(k * angle)
        R = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
        copies.append(replace(mesh, points=mesh.points @ R))
    return join(copies)
