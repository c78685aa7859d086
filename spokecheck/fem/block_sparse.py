"""The stiffness as one 3 x 3 block for each pair of points that share a cell.

Only pairs whose first point comes before, or is, the second are kept: the matrix is
symmetric.
"""

from collections.abc import Iterator
from dataclasses import dataclass

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
        Row of the later point, column of the earlier one [N/mm].
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
        own = self.blocks[self.earlier == self.later]
        shaped = values.reshape(self.n_points, 3, -1)
        twice = np.matmul(own, shaped).reshape(values.shape)
        return np.asarray(upper @ values + upper.T @ values - twice)

    def _upper(self) -> sp.bsr_array:
        size = 3 * self.n_points
        parts = (self.blocks.transpose(0, 2, 1), self.later, self.starts)
        return sp.bsr_array(parts, shape=(size, size))


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
    a, b = np.tril_indices(10)
    one, other = cells[:, a], cells[:, b]
    swap = (one < other).ravel()
    key = (np.minimum(one, other) * n_points + np.maximum(one, other)).ravel()
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
        pairs = np.where(swap[span, None, None], pairs.transpose(0, 2, 1), pairs)
        gather = sp.csr_array(
            (np.ones(len(pairs)), (slot[span], np.arange(len(pairs)))),
            shape=(len(first), len(pairs)),
        )
        total += gather @ pairs.reshape(-1, 9)
        start += len(pairs)
    earlier, later = key[first] // n_points, key[first] % n_points
    starts = np.searchsorted(earlier, np.arange(n_points + 1))
    return BlockSparse(starts, earlier, later, total.reshape(-1, 3, 3))
