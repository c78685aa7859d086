"""Symmetric matrices as one 3 x 3 block for each pair of points that share a cell.

Only pairs whose first point comes before, or is, the second are kept: the matrix is
symmetric.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp

from spokecheck.units import FloatArray, IntArray


@dataclass(frozen=True)
class BlockSparse:
    """Blocks of a symmetric matrix over points.

    Attributes
    ----------
    starts : ndarray (n_points + 1,)
        Where the pairs of each earlier point begin.
    earlier, later : ndarray (n_pairs,)
        The points of each pair, ``earlier <= later``; sorted.
    blocks : ndarray (n_pairs, 3, 3)
        Row of the later point, column of the earlier one: [N/mm] of a stiffness.
    """

    starts: IntArray
    earlier: IntArray
    later: IntArray
    blocks: FloatArray

    @property
    def n_points(self) -> int:
        """Number of points."""
        return len(self.starts) - 1

    def full(self) -> sp.csr_array:
        """The whole matrix (3 n_points, 3 n_points)."""
        upper = self._upper().tocsr()
        off = sp.triu(upper, 1, format="csr")
        diagonal = sp.diags_array(upper.diagonal(), format="csr")
        return sp.csr_array(off + off.T.tocsr() + diagonal)

    def times(self, values: FloatArray) -> FloatArray:
        """Product with real columns (3 n_points, n_columns)."""
        upper = self._upper()
        # upper + upper^T counts the diagonal blocks twice
        diagonal = self.blocks[self.earlier == self.later]
        shaped = values.reshape(self.n_points, 3, -1)
        twice = np.matmul(diagonal, shaped).reshape(values.shape)
        return np.asarray(upper @ values + upper.T @ values - twice)

    def rows(self, points: IntArray) -> tuple[sp.bsr_array, IntArray]:
        """Rows of some points, and the points (n_columns,) their columns stand for.

        Parameters
        ----------
        points : ndarray (n,)
            Sorted.

        Returns
        -------
        bsr_array (3 n, 3 n_columns)
        ndarray (n_columns,)
            Sorted; all that share a cell with one of the points.
        """
        slot = np.full(self.n_points, -1)
        slot[points] = np.arange(len(points))
        # a block stands in the later point's row, its transpose in the earlier one's
        down = np.flatnonzero(slot[self.later] >= 0)
        up = np.flatnonzero((slot[self.earlier] >= 0) & (self.earlier != self.later))
        row = np.concatenate([slot[self.later[down]], slot[self.earlier[up]]])
        other = np.concatenate([self.earlier[down], self.later[up]])
        blocks = np.concatenate([self.blocks[down], self.blocks[up].transpose(0, 2, 1)])
        columns, at = np.unique(other, return_inverse=True)
        order = np.lexsort((at, row))
        starts = np.searchsorted(row[order], np.arange(len(points) + 1))
        shape = 3 * len(points), 3 * len(columns)
        return sp.bsr_array((blocks[order], at[order], starts), shape=shape), columns

    def plus(
        self, rows: IntArray, columns: IntArray, blocks: FloatArray
    ) -> "BlockSparse":
        """The same with blocks (n, 3, 3) added at pairs of points that share a cell.

        Pairs of different points must stand in both orders, as in ``Springs``.
        """
        # of (a, b) and (b, a) take the one in the lower triangle
        lower = rows >= columns
        rows, columns = rows[lower], columns[lower]
        keys = self.earlier.astype(np.int64) * self.n_points + self.later
        slot = np.searchsorted(keys, columns.astype(np.int64) * self.n_points + rows)
        total = self.blocks.copy()
        np.add.at(total, slot, blocks[lower])
        return replace(self, blocks=total)

    def turned(self, frames: FloatArray) -> "BlockSparse":
        """The same counted in each point's own frame (n_points, 3, 3): F^T K F."""
        turned = (frames != np.eye(3)).any(axis=(1, 2))
        touched = np.flatnonzero(turned[self.earlier] | turned[self.later])
        row, column = frames[self.later[touched]], frames[self.earlier[touched]]
        total = self.blocks.copy()
        total[touched] = row.transpose(0, 2, 1) @ total[touched] @ column
        return replace(self, blocks=total)

    def _upper(self) -> sp.bsr_array:
        size = 3 * self.n_points
        entries = (self.blocks.transpose(0, 2, 1), self.later, self.starts)
        return sp.bsr_array(entries, shape=(size, size))


def sum_blocks(
    cells: IntArray, blocks: Iterator[FloatArray], n_points: int
) -> BlockSparse:
    """Sum cell matrices over the pairs of points.

    Parameters
    ----------
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    blocks : iterator of ndarray (chunk, 10, 3, 10, 3)
        Symmetric cell matrices, in the order of the cells.
    n_points : int
        Number of points; each belongs to a cell.

    Returns
    -------
    BlockSparse
    """
    # the 55 pairs a >= b of a cell, each by the key of its sorted point numbers
    a, b = np.tril_indices(10)
    row, column = cells[:, a], cells[:, b]
    swap = (row < column).ravel()
    key = (np.minimum(row, column) * n_points + np.maximum(row, column)).ravel()
    # number the distinct keys: the slot of each cell's pair in the sum
    order = np.argsort(key, kind="stable")
    key = key[order]
    first = np.flatnonzero(np.r_[True, key[1:] != key[:-1]])
    slot = np.empty(len(key), dtype=np.int32)
    slot[order] = np.repeat(np.arange(len(first)), np.diff(np.r_[first, len(key)]))
    total = np.zeros((len(first), 9))
    start = 0
    for block in blocks:
        pairs = block[:, a, :, b, :].transpose(1, 0, 2, 3).reshape(-1, 3, 3)
        span = slice(start, start + len(pairs))
        # the row is the later point, so pairs that stand the other way are transposed
        pairs = np.where(swap[span, None, None], pairs.transpose(0, 2, 1), pairs)
        # a sparse matrix of ones sums the chunk's pairs into their slots
        summation = sp.csr_array(
            (np.ones(len(pairs)), (slot[span], np.arange(len(pairs)))),
            shape=(len(first), len(pairs)),
        )
        total += summation @ pairs.reshape(-1, 9)
        start += len(pairs)
    earlier, later = key[first] // n_points, key[first] % n_points
    starts = np.searchsorted(earlier, np.arange(n_points + 1))
    return BlockSparse(starts, earlier, later, total.reshape(-1, 3, 3))
