"""Stress at points of the outer surface, from the displacements of its own faces.

On a surface whose traction is known three of the six stress components are known, and
the other three follow from the strain within the surface, which is the derivative of
the faces' own displacements along them; the cells below have no say.
A point's stress is the mean over its faces, sector images at the cuts included, each
tensor turned to the mean normal where the faces meet smoothly.

Notes
-----
Against finer meshes at 2, 3, 4, 6, 8 edges on a quarter arc of a shaft's fillet the
root mean square error is 8, 5, 4, 2, 2 % in tension, where patch recovery has 27, 24,
17, 11, 7 (``tests/bench/surface_stress.py``).  What is left is error of displacements.

Limits of validity:

- Faces whose traction is unknown must not be given: held, coupled, prescribed ones.
  Taken as free they are 2 % off on a cylinder however fine the mesh, where recovery
  converges.  A point on their border takes its free faces: 0.1 % on a coarse cylinder
  where recovery is 20 % off, and 1 % the held faces taken as free.
  The border of a clamped face is singular.
- Cuts of symmetry or of a sector are no outer faces. A mirror plane needs no images.
- A traction that jumps within a face, or along a line the mesh does not follow, blurs
  over an edge length.
- At sharp edges tensors stay as they are: 1 to 4 % on convex ones at 4 edges a quarter,
  as good as turned ones or a mean by sides; recovery 5 to 20.  Facets such as a fillet
  with straight edges are turned: 2.6 % at 22 degrees a facet, 6.8 as they are.  At a
  sharp concave edge stress has no limit.
- Where two metals meet, stress is that of the lower number, on one side.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import scipy.sparse as sp

from spokecheck.fem.cyclic import (
    Cyclic,
    numbered_within,
    rotation,
    sum_across_cuts,
)
from spokecheck.fem.face_strain import (
    face_weights,
    gradients_and_normals,
    smallest_rotations,
)
from spokecheck.mesh.record import cells_behind
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray

EDGE_ANGLE = 30.0
"""Faces whose normals are further [deg] than this from their mean meet at an edge."""


TractionField = Callable[[FloatArray, FloatArray], ComplexArray | FloatArray]
"""From positions (n, 3) [mm] and outward unit normals (n, 3) to tractions (n, 3) [MPa],
real or complex."""


@dataclass(frozen=True)
class FaceTractions:
    """Tractions of the orders of a load on some faces; all others are free.

    Attributes
    ----------
    faces : ndarray (n_loaded,)
        Their numbers among the faces of the surface.
    values : ndarray (n_orders, n_loaded, 6, 3)
        Force per area [MPa] at each face's own nodes, real or complex.
    """

    faces: IntArray
    values: ComplexArray


@dataclass(frozen=True)
class SurfaceStress:
    """From displacements and tractions to stress at the points of a surface.

    Attributes
    ----------
    nodes : ndarray (n_nodes,)
        Points of the mesh that lie on its faces, sorted.
    faces : ndarray (n_faces, 6)
        TRI6 faces, numbered within ``nodes``.
    weights : csr_array (6 n_nodes, 3 n_points)
        From displacement [mm] to stress [MPa].
    of_traction : ndarray (n_faces, 6, 6, 3)
        From the traction at a face's own node to its part of the node's stress.
    of_heat : ndarray (n_faces, 6, 6)
        The same from the thermal pressure.
    cyclic : Cyclic
        Symmetry of a sector, its pairs numbered within ``nodes``.
    """

    nodes: IntArray
    faces: IntArray
    weights: sp.csr_array = field(repr=False)
    of_traction: FloatArray = field(repr=False)
    of_heat: FloatArray = field(repr=False)
    cyclic: Cyclic = field(repr=False)

    def at_nodes(
        self,
        u: ComplexArray,
        orders: IntArray,
        tractions: FaceTractions | None = None,
        thermal: FloatArray | None = None,
    ) -> ComplexArray:
        """Stress at the nodes.

        Parameters
        ----------
        u : ndarray (n_orders, n_points, 3)
            Displacement of the mesh [mm], real or complex.
        orders : ndarray (n_orders,)
            Fourier order of each field; zeros for a whole body.
        tractions : FaceTractions, optional
            What is known to press or pull; free faces if not given.
        thermal : ndarray (n_orders, n_faces, 6), optional
            (3 lambda + 2 mu) alpha T at each face's own nodes [MPa], T above the
            stress-free temperature.

        Returns
        -------
        ndarray (n_orders, n_nodes, 6)
            Complex stress [MPa], order xx yy zz xy yz zx.
        """
        n_orders = len(u)
        flat = np.ascontiguousarray(u.reshape(n_orders, -1).T, dtype=complex)
        found = (self.weights @ flat.view(float)).view(complex)
        stress = np.ascontiguousarray(found.T).reshape(n_orders, -1, 6)
        by_node = stress.transpose(1, 0, 2)
        if tractions is not None:
            loaded = tractions.faces
            of_t = self.of_traction[loaded]
            part = np.einsum("fkvi,mfki->fkmv", of_t, tractions.values)
            np.add.at(by_node, self.faces[loaded], part)
        if thermal is not None:
            part = np.einsum("fkv,mfk->fkmv", self.of_heat, thermal)
            np.add.at(by_node, self.faces, part)
        sum_across_cuts(stress, orders, self.cyclic)
        return stress


def tractions_of(
    points: FloatArray,
    surface: SurfaceStress,
    loads: Sequence[Sequence[tuple[IntArray, TractionField]]],
) -> FaceTractions:
    """Tractions at the faces' nodes.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates of the mesh [mm].
    surface : SurfaceStress
    loads : sequence, one for each order
        Pairs of face numbers and what acts on them; what overlaps is added up.

    Returns
    -------
    FaceTractions
    """
    numbers = [faces for acting in loads for faces, _ in acting]
    loaded = np.unique(np.concatenate(numbers)) if numbers else np.empty(0, dtype=int)
    x = points[surface.nodes[surface.faces[loaded]]]
    _, n = gradients_and_normals(x)
    values = np.zeros((len(loads), *x.shape), dtype=complex)
    for total, acting in zip(values, loads, strict=True):
        for faces, traction in acting:
            at = np.searchsorted(loaded, faces)
            here = traction(x[at].reshape(-1, 3), n[at].reshape(-1, 3))
            total[at] += here.reshape(-1, 6, 3)
    return FaceTractions(loaded, values)


def surface_stress(
    points: FloatArray,
    cells: IntArray,
    faces: IntArray,
    lame: tuple[FloatArray, FloatArray],
    cyclic: Cyclic | None = None,
    groups: IntArray | None = None,
) -> SurfaceStress:
    """Weights of the surface stress for the outer faces of a mesh.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    faces : ndarray (n_faces, 6)
        Outer TRI6 faces whose traction is known: no symmetry or sector cuts, no held or
        coupled faces.
    lame : tuple of ndarray (n_cells,)
        Lamé constants [MPa] of each cell.
    cyclic : Cyclic, optional
        Symmetry of a sector; faces of the sectors beside it count at its cuts.
    groups : ndarray (n_cells,) of int, optional
        Material of each cell, numbered from 0; a point where two meet is counted to the
        lower number, and its value is that of the stress on that side.

    Returns
    -------
    SurfaceStress

    Raises
    ------
    MeshError
        If a face belongs to no cell.
    """
    nodes, flat = np.unique(faces, return_inverse=True)
    own = flat.reshape(-1, 6)
    inside = numbered_within(cyclic or Cyclic(), nodes, len(points))
    cell = cells_behind(faces, cells, len(points))
    counted = _of_own_metal(own, cell, groups, len(nodes), inside)
    g, n = gradients_and_normals(points[faces])
    mean, smooth = _mean_normals(own, n, counted, len(nodes), inside)
    Q = np.where(
        smooth[own][..., None, None], smallest_rotations(n, mean[own]), np.eye(3)
    )
    share = counted / _total(own, counted.astype(float), len(nodes), inside)[own]
    lam, mu = (constants[cell] for constants in lame)
    of_u, of_t, of_b = face_weights(g, n, Q, lam, mu)
    of_u *= share[..., None, None, None]
    return SurfaceStress(
        nodes,
        own,
        _summed(own, faces, of_u, len(nodes), len(points)),
        of_t * share[..., None, None],
        of_b * share[..., None],
        inside,
    )


def _of_own_metal(
    own: IntArray,
    cell: IntArray,
    groups: IntArray | None,
    n_nodes: int,
    cyclic: Cyclic,
) -> BoolArray:
    """Whether each face (n_faces, 6) is of the metal its node is counted to."""
    if groups is None:
        return np.ones(own.shape, dtype=bool)
    metal = np.full(n_nodes, groups.max())
    np.minimum.at(metal, own, groups[cell][:, None])
    metal[cyclic.pairs] = metal[cyclic.pairs].min(axis=1, keepdims=True)
    return np.asarray(groups[cell][:, None] == metal[own])


def _total(
    own: IntArray,
    values: FloatArray,
    n_nodes: int,
    cyclic: Cyclic,
    turn: bool = False,
) -> FloatArray:
    """Sum over each node's faces, of all sectors, of numbers or vectors that turn."""
    total = np.zeros((n_nodes, *values.shape[2:]))
    np.add.at(total, own, values)
    low, high = cyclic.pairs.T
    R = rotation(cyclic.alpha) if turn else np.eye(1)
    both = total[low] + (total[high] @ R if turn else total[high])
    total[low] = both
    total[high] = both @ R.T if turn else both
    return total


def _mean_normals(
    own: IntArray, n: FloatArray, counted: BoolArray, n_nodes: int, cyclic: Cyclic
) -> tuple[FloatArray, BoolArray]:
    """Mean unit normal (n_nodes, 3), and whether the faces meet smoothly there."""
    mean = _total(own, n * counted[..., None], n_nodes, cyclic, turn=True)
    size = np.linalg.norm(mean, axis=1, keepdims=True)
    mean /= np.where(size > 0.0, size, 1.0)
    bent = np.einsum("fki,fki->fk", n, mean[own]) < np.cos(np.deg2rad(EDGE_ANGLE))
    edges = _total(own, (bent & counted).astype(float), n_nodes, cyclic)
    return mean, edges == 0.0


def _summed(
    own: IntArray, faces: IntArray, blocks: FloatArray, n_nodes: int, n_points: int
) -> sp.csr_array:
    """Sparse matrix (6 n_nodes, 3 n_points) of blocks (n_faces, 6, 6, 6, 3)."""
    key = (own[:, :, None] * n_points + faces[:, None, :]).ravel()
    order = np.argsort(key, kind="stable")
    starts = np.flatnonzero(np.diff(key[order], prepend=-1))
    data = np.add.reduceat(blocks.reshape(-1, 6, 3)[order], starts, axis=0)
    row, column = np.divmod(key[order][starts], n_points)
    pointers = np.searchsorted(row, np.arange(n_nodes + 1))
    shape = (6 * n_nodes, 3 * n_points)
    return sp.csr_array(sp.bsr_array((data, column, pointers), shape=shape))
