"""The stiffness of a body, its points numbered in the order of elimination."""

from dataclasses import dataclass, replace

import numpy as np

from spokecheck.fem.assembly import stiffness_blocks
from spokecheck.fem.block_sparse import BlockSparse
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.dissection import Dissection, dissect
from spokecheck.fem.orders import Springs
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray, FloatArray, IntArray

NO_POINTS: IntArray = np.empty(0, dtype=np.int64)


@dataclass(frozen=True)
class Stiffness:
    """Stiffness of a body, ready to be factored under any supports.

    Attributes
    ----------
    pairs : BlockSparse
        Its points numbered in the order of elimination.
    dissection : Dissection
        That order; the points of the cuts are retained, and any others named.
    """

    pairs: BlockSparse
    dissection: Dissection

    def times(self, u: ComplexArray) -> ComplexArray:
        """Nodal forces (n_fields, n_points, 3) of displacements of that shape."""
        forces = self.pairs.times(to_columns(u, self.dissection.position))
        return to_fields(forces, self.dissection.position)

    def times_at(self, u: ComplexArray, points: IntArray) -> ComplexArray:
        """Nodal forces (n_fields, n, 3) at some points (n,), sorted, alone."""
        position = self.dissection.position
        order = np.argsort(position[points])
        rows, columns = self.pairs.rows(position[points[order]])
        number = np.empty_like(position)
        number[position] = np.arange(len(position))
        near = u[:, number[columns]].reshape(len(u), -1)
        found = np.empty((len(u), len(points), 3), dtype=complex)
        found[:, order] = (rows @ near.T).T.reshape(len(u), -1, 3)
        return found

    def with_springs(self, springs: Springs) -> "Stiffness":
        """The same with springs added."""
        position = self.dissection.position
        rows, columns = position[springs.rows], position[springs.columns]
        return replace(self, pairs=self.pairs.plus(rows, columns, springs.blocks))


def make_stiffness(
    mesh: Mesh,
    cyclic: Cyclic,
    lame: tuple[FloatArray, FloatArray],
    retained: IntArray = NO_POINTS,
) -> Stiffness:
    """Assemble the stiffness of a body, its points in the order of elimination.

    Parameters
    ----------
    mesh : Mesh
        One sector, the whole body, or a part of either; every point belongs to a cell.
    cyclic : Cyclic
        Its pairs on the cuts; they are eliminated last.
    lame : tuple of ndarray (n_cells,)
        Lamé constants [MPa] of each cell.
    retained : ndarray (n,), optional
        Other points that are not eliminated.

    Returns
    -------
    Stiffness
    """
    last = np.union1d(cyclic.pairs, retained)
    order = dissect(mesh.cells, mesh.n_points, last)
    return Stiffness(stiffness_blocks(renumbered(mesh, order), lame), order)


def renumbered(mesh: Mesh, order: Dissection) -> Mesh:
    """Points and cells of a mesh, numbered in the order of elimination."""
    points = np.empty_like(mesh.points)
    points[order.position] = mesh.points
    return Mesh(points, order.position[mesh.cells])


def to_columns(fields: ComplexArray, position: IntArray) -> FloatArray:
    """Real columns (3 n_points, 2 n_fields) of complex fields, real parts first.

    Parameters
    ----------
    fields : ndarray (n_fields, n_points, 3)
        Nodal vectors, the points as in the mesh.
    position : ndarray (n_points,)
        Place of each point in the order of elimination.
    """
    turned = np.empty((fields.shape[1], 3, 2 * len(fields)))
    turned[position, :, : len(fields)] = fields.real.transpose(1, 2, 0)
    turned[position, :, len(fields) :] = fields.imag.transpose(1, 2, 0)
    return turned.reshape(-1, 2 * len(fields))


def to_fields(columns: FloatArray, position: IntArray) -> ComplexArray:
    """Complex fields (n_fields, n_points, 3) back from real columns."""
    n = columns.shape[1] // 2
    shaped = columns.reshape(-1, 3, 2 * n)[position].transpose(2, 0, 1)
    return np.ascontiguousarray(shaped[:n] + 1j * shaped[n:])
