"""Multifrontal Cholesky factor of a mesh, with dense algebra, up to retained points.

A front assembles the rows of its pivots and the update matrices of its children,
eliminates the pivots, and leaves an update matrix on its border for a later front:

    F = [F11  .  ]      F11 = L11 L11^T,  L21 = F21 L11^-T,  U = F22 - L21 L21^T
        [F21  F22]

What is left at the retained points is their Schur complement; with it, the same real
factor serves every Fourier order of a sector.

References
----------
Duff, Reid, The multifrontal solution of indefinite sparse symmetric linear
equations, ACM Trans. Math. Softw. 9 (1983) 302-325.
Liu, The multifrontal method for sparse matrix solution, SIAM Rev. 34 (1992) 82-109,
for the words and the stack of update matrices (from memory).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.linalg.blas import dsyrk, dtrsm
from scipy.linalg.lapack import dpotrf

from spokecheck.errors import ModelError
from spokecheck.fem.block_sparse import BlockSparse
from spokecheck.fem.dissection import Dissection, Front
from spokecheck.fem.front_memory import FactorStore, UpdateStack
from spokecheck.units import BoolArray, FloatArray, IntArray

SMALLEST_PIVOT = 1e-11
"""Least pivot as a share of the stiffness there; rounding leaves about 1e-13 to a part
that is free to move."""

STRIP = 256
"""Rows mirrored at a time."""


@dataclass(frozen=True)
class _Panel:
    """Columns of the factor that one front eliminates.

    Attributes
    ----------
    pivots, border : ndarray
        Degrees of freedom eliminated, and those touched.
    L11 : ndarray (n_pivots, n_pivots)
        Lower triangle.
    L21 : ndarray (n_border, n_pivots)
    """

    pivots: IntArray
    border: IntArray
    L11: FloatArray
    L21: FloatArray


class FrontalFactor:
    """Cholesky factor of a stiffness up to its retained points.

    Degrees of freedom are counted in the order of elimination, three to a point.

    Parameters
    ----------
    pairs : BlockSparse
        Stiffness, its points numbered in the order of elimination.
    dissection : Dissection
        The order.
    free : ndarray (3 n_points,) of bool
        Degrees of freedom that take part; the others are held at zero.

    Attributes
    ----------
    retained : ndarray (n_retained,)
        Free degrees of freedom of the retained points.
    schur : ndarray (n_retained, n_retained)
        Their Schur complement, full and symmetric.

    Raises
    ------
    ModelError
        If the matrix is not positive definite: a part is free to move, or a cell
        is inverted.
    """

    def __init__(
        self, pairs: BlockSparse, dissection: Dissection, free: BoolArray
    ) -> None:
        start = 3 * dissection.n_eliminated
        self.retained: IntArray = start + np.flatnonzero(free[start:])
        self._panels: list[_Panel] = []
        self.schur = _zeros(len(self.retained), len(self.retained))
        left = self._eliminate_all(pairs, dissection, free)
        self._assemble_schur(pairs, dissection, left)

    def _eliminate_all(
        self, pairs: BlockSparse, dissection: Dissection, free: BoolArray
    ) -> FloatArray:
        """Factor all fronts, children first; what the last one leaves."""
        fronts = dissection.fronts
        dofs = [_dofs(front, free) for front in fronts]
        store = FactorStore(sum(len(p) * (len(p) + len(b)) for p, b in dofs))
        updates = UpdateStack([len(border) for _, border in dofs], fronts)
        slot = np.full(len(free), -1)
        for number, (front, (pivots, border)) in enumerate(
            zip(fronts, dofs, strict=True)
        ):
            n, m = len(pivots), len(border)
            slot[pivots], slot[border] = np.arange(n), n + np.arange(m)
            F11, F21 = store.take(n, n), store.take(m, n)
            F22 = updates.blank(m)
            # 1. assemble the pivots' rows, and add what the children left
            _assemble_pivots(pairs, front, slot, F11, F21)
            for child in front.children:
                _extend_add(F11, F21, F22, slot[dofs[child][1]], updates.of(child))
            # 2. eliminate: F11, F21 become L11, L21, and F22 the update matrix
            if n:
                _eliminate(F11, F21, F22, number)
            # 3. leave the update matrix to the parent
            updates.push(number, F22)
            slot[pivots] = slot[border] = -1
            self._panels.append(_Panel(pivots, border, F11, F21))
        return updates.of(len(fronts) - 1)

    def _assemble_schur(
        self, pairs: BlockSparse, dissection: Dissection, left: FloatArray
    ) -> None:
        """Schur complement of the retained points, from what the last front left."""
        total, none = self.schur, _zeros(0, len(self.retained))
        slot = np.full(3 * pairs.n_points, -1)
        slot[self.retained] = np.arange(len(self.retained))
        # the retained points are a front of their own that is never eliminated
        no_border = np.empty(0, dtype=np.int64)
        last = Front(dissection.n_eliminated, pairs.n_points, no_border, ())
        _assemble_pivots(pairs, last, slot, total, none)
        _extend_add(total, none, none, slot[self._panels[-1].border], left)
        # mirror the lower triangle, a strip of rows at a time
        for start in range(0, len(total), STRIP):
            stop = start + STRIP
            corner = np.tril(total[start:stop, start:stop])
            total[start:stop, start:stop] = corner + np.tril(corner, -1).T
            total[start:stop, stop:] = total[stop:, start:stop].T

    def take_schur(self) -> FloatArray:
        """The Schur complement, which is given up here."""
        schur, self.schur = self.schur, _zeros(0, 0)
        return schur

    def forward(self, values: FloatArray) -> None:
        """Eliminate right-hand sides (3 n_points, n_columns) in place.

        Pivots hold ``L11^-1 f1`` afterwards, retained points what is left for them.
        """
        for panel in self._panels:
            if len(panel.pivots):
                x = dtrsm(1.0, panel.L11, values[panel.pivots], lower=1)
                values[panel.pivots] = x
                values[panel.border] -= panel.L21 @ x

    def backward(self, values: FloatArray) -> None:
        """Substitute back in place, from solved values at the retained points.

        ``u1 = L11^-T (x1 - L21^T u2)``, the last front first.
        """
        for panel in reversed(self._panels):
            if len(panel.pivots):
                x = values[panel.pivots] - panel.L21.T @ values[panel.border]
                values[panel.pivots] = dtrsm(1.0, panel.L11, x, lower=1, trans_a=1)


def _zeros(rows: int, columns: int) -> FloatArray:
    return np.zeros((rows, columns), order="F")


def _dofs(front: Front, free: BoolArray) -> tuple[IntArray, IntArray]:
    """Degrees of freedom that a front eliminates, and those on its border."""
    start = 3 * front.first
    pivots = start + np.flatnonzero(free[start : 3 * front.last])
    border = (3 * front.border[:, None] + np.arange(3)).ravel()
    return pivots, border[free[border]]


def _assemble_pivots(
    pairs: BlockSparse,
    front: Front,
    slot: IntArray,
    F11: FloatArray,
    F21: FloatArray,
) -> None:
    """Write the stiffness of the points that a front eliminates.

    ``slot`` is the row of each degree of freedom in the front, -1 if it has none; the
    border's rows follow those of the pivots.
    """
    span = slice(pairs.starts[front.first], pairs.starts[front.last])
    axes, n = np.arange(3), F11.shape[1]
    row = slot[3 * pairs.later[span, None] + axes][:, :, None]
    column = slot[3 * pairs.earlier[span, None] + axes][:, None, :]
    row, column = np.broadcast_arrays(row, column)
    values = pairs.blocks[span]
    inside = (row >= 0) & (row < n) & (column >= 0)
    F11[row[inside], column[inside]] = values[inside]
    below = (row >= n) & (column >= 0)
    F21[row[below] - n, column[below]] = values[below]


def _extend_add(
    F11: FloatArray,
    F21: FloatArray,
    F22: FloatArray,
    slots: IntArray,
    update: FloatArray,
) -> None:
    """Add the lower triangle of a child's update matrix, whose rows go to ``slots``.

    The slots follow each other in few runs, so it is added block by block.
    """
    n = F11.shape[0]
    runs = list(_runs(slots, n))
    for column, c, width in runs:
        for row, r, height in runs:
            if row < column:
                continue
            block = update[r : r + height, c : c + width]
            if column >= n:
                target = F22[row - n : row - n + height, column - n :]
            elif row >= n:
                target = F21[row - n : row - n + height, column:]
            else:
                target = F11[row : row + height, column:]
            target[:, :width] += block


def _runs(slots: IntArray, n_pivots: int) -> Iterator[tuple[int, int, int]]:
    """Runs of consecutive slots: first slot, its place in ``slots``, and length.

    No run crosses from the pivots to the border.
    """
    breaks = np.flatnonzero((np.diff(slots) != 1) | (slots[1:] == n_pivots)) + 1
    edges = [0, *breaks.tolist(), len(slots)]
    for start, stop in pairwise(edges):
        if stop > start:
            yield int(slots[start]), start, stop - start


def _eliminate(F11: FloatArray, F21: FloatArray, F22: FloatArray, number: int) -> None:
    """Eliminate a front's pivots in place."""
    stiff = F11.diagonal().copy()
    # L11 from F11 = L11 L11^T
    _, fault = dpotrf(F11, lower=1, overwrite_a=1, clean=0)
    pivot = F11.diagonal()
    if fault or (pivot**2 < SMALLEST_PIVOT * stiff).any():
        raise ModelError(
            f"stiffness matrix not positive definite (front {number}): "
            "the part is free to move, or a cell is inverted; hold it or remesh"
        )
    if len(F21):
        # L21 = F21 L11^-T, then U = F22 - L21 L21^T
        dtrsm(1.0, F11, F21, side=1, lower=1, trans_a=1, overwrite_b=1)
        dsyrk(-1.0, F21, beta=1.0, c=F22, lower=1, overwrite_c=1)
