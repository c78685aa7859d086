"""Halve the edges of some cells of a mesh, and fit their neighbours to them.

A cell is halved whole, into eight, or along one face into four, or along one edge into
two, so that every face is cut into four, into two, or not at all, and neighbours agree.
Children are parts of their parent in its own reference coordinates: the mesh fills the
same space before and after, and a field is carried over exactly.

References
----------
Bey, Tetrahedral grid refinement, Computing 55 (1995) 355-378 (from memory).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp

from spokecheck.mesh.record import TET_EDGES, TET_FACES, Mesh
from spokecheck.mesh.shapes import TET_NODES, TRI_EDGES, tet_values
from spokecheck.units import BoolArray, FloatArray, IntArray

ALL = 0b111111
"""Code of a cell with all six edges halved; bit k stands for edge k."""

Template = tuple[tuple[int, ...], ...]
"""Local nodes of the parent at the corners of each child."""

OCTAHEDRA: tuple[Template, ...] = (
    ((4, 5, 6, 9), (4, 6, 7, 9), (4, 7, 8, 9), (4, 8, 5, 9)),
    ((5, 4, 8, 7), (5, 8, 9, 7), (5, 9, 6, 7), (5, 6, 4, 7)),
    ((6, 4, 5, 8), (6, 5, 9, 8), (6, 9, 7, 8), (6, 7, 4, 8)),
)
"""The middle of a cell halved whole, by each of its three diagonals."""

DIAGONALS = np.array([[4, 9], [5, 7], [6, 8]])


@dataclass(frozen=True)
class Subdivision:
    """A mesh after some of its cells were halved.

    Attributes
    ----------
    mesh : Mesh
        Points of the mesh before come first, with their numbers.
    pairs : ndarray (n_pairs, 2)
        Points that are images of each other, new ones too.
    carry : csr_array (n_points, n_points_before)
        Values at the points from values at those before.
    parent : ndarray (n_cells,)
        Cell each one is a part of.
    halved : ndarray (n_cells,) of bool
        Whether it is only a part.
    """

    mesh: Mesh
    pairs: IntArray
    carry: sp.csr_array
    parent: IntArray
    halved: BoolArray


def subdivide(mesh: Mesh, marked: BoolArray, pairs: IntArray) -> Subdivision:
    """Halve the edges of marked cells.

    Parameters
    ----------
    mesh : Mesh
        Second-order mesh.
    marked : ndarray (n_cells,) of bool
        Cells to halve whole; neighbours are halved as far as they must.
    pairs : ndarray (n_pairs, 2)
        Points that must stay images of each other, such as on the two cuts of a sector.

    Returns
    -------
    Subdivision
    """
    # 1. edges to halve, and the code of each cell by its halved edges
    split = _closed(mesh, marked, pairs)
    code = split[mesh.cells[:, 4:]] @ (1 << np.arange(6))
    # 2. children by template, then numbers of their new mid-side points
    parents, corners = _children(mesh.points, mesh.cells, code)
    cells, new = _numbered(mesh, parents, corners)
    # 3. new points and fields by the parent's shape functions
    carry = sp.vstack([sp.eye_array(mesh.n_points), new.weights], format="csr")
    kept = np.flatnonzero(code == 0)
    parent = np.concatenate([kept, parents])
    finer = replace(
        mesh,
        points=np.vstack([mesh.points, new.weights @ mesh.points]),
        cells=np.vstack([mesh.cells[kept], cells]),
        surfaces=_halved_faces(mesh.surfaces, split, new),
        interfaces=_halved_faces(mesh.interfaces, split, new),
        zones={
            name: np.flatnonzero(np.isin(parent, members))
            for name, members in mesh.zones.items()
        },
    )
    paired = _new_pairs(mesh, new, pairs)
    halved = np.arange(len(parent)) >= len(kept)
    return Subdivision(finer, paired, sp.csr_array(carry), parent, halved)


def _closed(mesh: Mesh, marked: BoolArray, pairs: IntArray) -> BoolArray:
    """Mid-side points (n_points,) whose edges are halved, neighbours fitted."""
    bits = 1 << np.arange(6)
    split = np.zeros(mesh.n_points, dtype=bool)
    split[mesh.cells[marked, 4:]] = True
    while True:
        before = int(split.sum())
        either = split[pairs].any(axis=1)
        split[pairs[either]] = True
        code = split[mesh.cells[:, 4:]] @ bits
        completed = (COMPLETED[code][:, None] & bits) > 0
        split[mesh.cells[:, 4:][completed]] = True
        if int(split.sum()) == before:
            return split


def _face_codes() -> dict[int, IntArray]:
    """Codes of the cells halved along one face, with that face's local nodes."""
    return {int(sum(1 << (k - 4) for k in face[3:])): face for face in TET_FACES}


def _completed() -> IntArray:
    """Code each code is raised to: one edge, one face, or the whole cell."""
    faces = list(_face_codes())
    raised = np.full(64, ALL)
    for code in range(64):
        if code == 0 or code in (1 << np.arange(6)):
            raised[code] = code
        else:
            within = [face for face in faces if code & ~face == 0]
            raised[code] = within[0] if within else ALL
    return raised


COMPLETED = _completed()


def _upright(children: Template) -> IntArray:
    """Corners of children, two swapped where a child would be left-handed."""
    upright = np.array(children)
    x = TET_NODES[upright]
    left = np.linalg.det(x[:, 1:] - x[:, :1]) < 0.0
    upright[left, :2] = upright[left, 1::-1]
    return upright


def _template(code: int) -> IntArray:
    """Children of a cell halved along an edge or a face."""
    faces = _face_codes()
    if code in faces:
        a, b, c, ab, bc, ca = faces[code]
        (apex,) = set(range(4)) - {a, b, c}
        parts = (a, ab, ca), (b, bc, ab), (c, ca, bc), (ab, bc, ca)
        return _upright(tuple((*part, apex) for part in parts))
    k = code.bit_length() - 1
    i, j = TET_EDGES[k]
    return _upright(
        tuple(
            tuple(4 + k if corner == end else corner for corner in range(4))
            for end in (i, j)
        )
    )


def _wholes() -> list[IntArray]:
    """The eight children of a cell halved whole, by diagonal."""
    edges = {frozenset(map(int, ends)): 4 + k for k, ends in enumerate(TET_EDGES)}
    outer = tuple(
        tuple(c if c == corner else edges[frozenset((c, corner))] for c in range(4))
        for corner in range(4)
    )
    return [_upright(outer + inner) for inner in OCTAHEDRA]


WHOLE_PARTS = _wholes()
"""Corners (8, 4) of the parts of a cell halved whole, by diagonal."""


def _children(
    points: FloatArray, cells: IntArray, code: IntArray
) -> tuple[IntArray, IntArray]:
    """Parents (n,) of all children and their corners (n, 4), as parents' local nodes.

    Of the diagonals of a cell halved whole the shortest is taken.
    """
    parents, corners = [], []

    def add(of: IntArray, template: IntArray) -> None:
        parents.append(np.repeat(of, len(template)))
        corners.append(np.tile(template, (len(of), 1)))

    for pattern in np.unique(code[(code > 0) & (code < ALL)]):
        add(np.flatnonzero(code == pattern), _template(int(pattern)))
    whole = np.flatnonzero(code == ALL)
    ends = points[cells[whole][:, DIAGONALS]]
    shortest = np.linalg.norm(ends[:, :, 1] - ends[:, :, 0], axis=2).argmin(axis=1)
    for k, template in enumerate(WHOLE_PARTS):
        add(whole[shortest == k], template)
    return np.concatenate(parents), np.concatenate(corners)


@dataclass(frozen=True)
class _New:
    """The new points: the middles of halves, and of edges inside.

    Attributes
    ----------
    n_before : int
        Points there were.
    keys : ndarray (n_new,)
        Each by the two points it lies between, sorted.
    weights : csr_array (n_new, n_before)
        Shape functions of the parent.
    """

    n_before: int
    keys: IntArray
    weights: sp.csr_array

    def find(self, ends: IntArray) -> IntArray:
        """Numbers of the points between pairs of points (..., 2), -1 if not new."""
        key = _key(ends, self.n_before)
        row = np.minimum(np.searchsorted(self.keys, key), max(len(self.keys) - 1, 0))
        there = self.keys[row] == key if len(self.keys) else np.zeros(key.shape, bool)
        return np.where(there, self.n_before + row, -1)


def _key(ends: IntArray, n_points: int) -> IntArray:
    """One number for each pair of points (..., 2), whichever comes first."""
    return np.asarray(ends.min(axis=-1) * n_points + ends.max(axis=-1))


def _middles(edges: IntArray, n_nodes: int, n_corners: int) -> IntArray:
    """Local node (n_nodes, n_nodes) between two corners, -1 where there is none."""
    table = np.full((n_nodes, n_nodes), -1)
    table[edges[:, 0], edges[:, 1]] = n_corners + np.arange(len(edges))
    return np.asarray(np.maximum(table, table.T))


TET_MIDDLES, TRI_MIDDLES = _middles(TET_EDGES, 10, 4), _middles(TRI_EDGES, 6, 3)


def _numbered(
    mesh: Mesh, parents: IntArray, corners: IntArray
) -> tuple[IntArray, _New]:
    """Children with all their points, and the new ones of these."""
    own = mesh.cells[parents]
    # edges of the children whose middle is a node of the parent keep it
    ends = corners[:, TET_EDGES]
    kept = TET_MIDDLES[ends[..., 0], ends[..., 1]]
    outer = kept >= 0  # an edge of the parent left whole
    global_ends = np.take_along_axis(own[:, :, None], ends.reshape(-1, 12, 1), axis=1)
    global_ends = global_ends.reshape(-1, 6, 2)
    # the others are new points, each once, in reference coordinates of a parent
    fresh = np.flatnonzero(~outer.ravel())
    key = _key(global_ends, mesh.n_points).ravel()
    keys, first = np.unique(key[fresh], return_index=True)
    rows = fresh[first]
    cell, middle = rows // 6, TET_NODES[ends.reshape(-1, 2)[rows]].mean(axis=1)
    row = np.repeat(np.arange(len(keys)), 10)
    entries = (tet_values(middle).ravel(), (row, own[cell].ravel()))
    new = _New(
        mesh.n_points,
        keys,
        sp.csr_array(sp.coo_array(entries, shape=(len(keys), mesh.n_points))),
    )
    mids = np.where(outer, np.take_along_axis(own, kept, axis=1), new.find(global_ends))
    return np.hstack([np.take_along_axis(own, corners, axis=1), mids]), new


TRI_WHOLE = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])


def _halved_faces(
    surfaces: Mapping[str, IntArray], split: BoolArray, new: _New
) -> dict[str, IntArray]:
    """Faces (n, 6) of each surface, those with halved edges cut up."""
    return {name: _cut_up(faces, split, new) for name, faces in surfaces.items()}


def _cut_up(faces: IntArray, split: BoolArray, new: _New) -> IntArray:
    """Faces by the number of halved edges: none, one, or all three."""
    cut = split[faces[:, 3:]]
    count = cut.sum(axis=1)
    parts = [faces[count == 0], _with_mids(faces[count == 3], TRI_WHOLE, new)]
    for k in range(3):
        i, j, far = k, (k + 1) % 3, (k + 2) % 3
        template = np.array([[i, 3 + k, far], [3 + k, j, far]])
        parts.append(_with_mids(faces[(count == 1) & cut[:, k]], template, new))
    return np.vstack(parts)


def _with_mids(faces: IntArray, template: IntArray, new: _New) -> IntArray:
    """Children of faces, their mid-side points looked up."""
    corners = faces[:, template]
    ends = corners[:, :, TRI_EDGES]
    mids = new.find(ends)
    local = template[:, TRI_EDGES]
    kept = TRI_MIDDLES[local[..., 0], local[..., 1]]
    mids = np.where(kept >= 0, faces[:, kept], mids)
    return np.concatenate([corners, mids], axis=2).reshape(-1, 6)


def _new_pairs(mesh: Mesh, new: _New, pairs: IntArray) -> IntArray:
    """Pairs of the finer mesh: those of before, and the new points on paired faces."""
    image = np.full(mesh.n_points, -1)
    image[pairs[:, 0]] = pairs[:, 1]
    faces = [f[(image[f] >= 0).all(axis=1)] for f in mesh.surfaces.values()]
    low = np.vstack([*faces, np.empty((0, 6), dtype=np.int64)])
    all_pairs = [pairs]
    for k in range(3):
        after, far = (k + 1) % 3, (k + 2) % 3
        for end in (k, after, 3 + after, far):
            all_pairs.append(_tied(low[:, [3 + k, end]], image, new))
    return np.unique(np.vstack(all_pairs), axis=0)


def _tied(ends: IntArray, image: IntArray, new: _New) -> IntArray:
    """New points between two low ones, with those between their images."""
    both = np.column_stack([new.find(ends), new.find(image[ends])])
    return both[(both >= 0).all(axis=1)]
