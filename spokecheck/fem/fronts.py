"""Eliminate a mesh front by front, with dense algebra, up to its pinned points.

A front gathers the rows of the points it eliminates and what earlier fronts left of
them, and leaves a dense rest for a later one.
What is left at the pinned points is their condensed stiffness; with it, the same real
factor serves every Fourier order of a sector.

References
----------
Duff, Reid, The multifrontal solution of indefinite sparse symmetric linear
equations, ACM Trans. Math. Softw. 9 (1983) 302-325.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.linalg.blas import dsyrk, dtrsm
from scipy.linalg.lapack import dpotrf

from spokecheck.errors import ModelError
from spokecheck.fem.block_sparse import BlockSparse
from spokecheck.fem.dissection import Dissection, Front
from spokecheck.units import BoolArray, FloatArray, IntArray

SMALLEST_PIVOT = 1e-11
"""Least pivot as a share of the stiffness there; rounding leaves about 1e-13 to a part
that is free to move."""

STRIP = 256
"""Rows mirrored at a time."""


@dataclass(frozen=True)
class _Panel:
    """Columns of the factor that one front eliminates."""

    own: IntArray
    beyond: IntArray
    square: FloatArray
    below: FloatArray


class FrontalFactor:
    """Cholesky factor of a stiffness up to its pinned points.

    Degrees of freedom are counted in the order of elimination, three to a point.

    Parameters
    ----------
    pairs : BlockSparse
        Stiffness, its points numbered in the order of elimination.
    dissection : Dissection
        The order.
    free : ndarray (3 n_points,) of bool
        Degrees of freedom that take part.

    Raises
    ------
    ModelError
        If the matrix is not positive definite: a part is free to move, or a cell
        is inverted.
    """

    def __init__(
        self, pairs: BlockSparse, dissection: Dissection, free: BoolArray
    ) -> None:
        self._panels: list[_Panel] = []
        self.root = 3 * dissection.n_eliminated + np.flatnonzero(
            free[3 * dissection.n_eliminated :]
        )
        slot = np.full(len(free), -1)
        dofs = [_dofs(front, free) for front in dissection.fronts]
        store = _Store(sum(len(own) * (len(own) + len(b)) for own, b in dofs))
        rests = _Rests([len(b) for _, b in dofs], dissection.fronts)
        for number, (front, (own, beyond)) in enumerate(
            zip(dissection.fronts, dofs, strict=True)
        ):
            n, n_beyond = len(own), len(beyond)
            slot[own], slot[beyond] = np.arange(n), n + np.arange(n_beyond)
            square, below = store.take(n, n), store.take(n_beyond, n)
            rest = rests.blank(n_beyond)
            _scatter(pairs, front, slot, square, below)
            for part in front.parts:
                _extend(square, below, rest, slot[dofs[part][1]], rests.left(part))
            if n:
                _eliminate(square, below, rest, number)
            rests.keep(number, rest)
            slot[own] = slot[beyond] = -1
            self._panels.append(_Panel(own, beyond, square, below))
        self.condensed = _zeros(len(self.root), len(self.root))
        self._condense(pairs, dissection, slot, rests.left(len(dofs) - 1))

    def _condense(
        self,
        pairs: BlockSparse,
        dissection: Dissection,
        slot: IntArray,
        left: FloatArray,
    ) -> None:
        """Fill in the stiffness of the pinned points, full and symmetric."""
        total, none = self.condensed, _zeros(0, len(self.root))
        slot[self.root] = np.arange(len(self.root))
        nothing = np.empty(0, dtype=np.int64)
        pinned = Front(dissection.n_eliminated, pairs.n_points, nothing, ())
        _scatter(pairs, pinned, slot, total, none)
        _extend(total, none, none, slot[self._panels[-1].beyond], left)
        for start in range(0, len(total), STRIP):
            stop = start + STRIP
            corner = np.tril(total[start:stop, start:stop])
            total[start:stop, start:stop] = corner + np.tril(corner, -1).T
            total[start:stop, stop:] = total[stop:, start:stop].T

    def forward(self, values: FloatArray) -> None:
        """Eliminate right-hand sides (3 n_points, n_columns) in place."""
        for panel in self._panels:
            if len(panel.own):
                x = dtrsm(1.0, panel.square, values[panel.own], lower=1)
                values[panel.own] = x
                values[panel.beyond] -= panel.below @ x

    def backward(self, values: FloatArray) -> None:
        """Put back, in place, what ``forward`` left and the pinned values solved."""
        for panel in reversed(self._panels):
            if len(panel.own):
                known = panel.below.T @ values[panel.beyond]
                x = values[panel.own] - known
                values[panel.own] = dtrsm(1.0, panel.square, x, lower=1, trans_a=1)


class _Store:
    """One stretch of memory for all columns of the factor."""

    def __init__(self, size: int) -> None:
        self._flat, self._used = np.empty(size), 0

    def take(self, rows: int, columns: int) -> FloatArray:
        """Zeros (rows, columns), column by column."""
        part = self._flat[self._used : self._used + rows * columns]
        self._used += rows * columns
        part[:] = 0.0
        return part.reshape((rows, columns), order="F")


class _Rests:
    """What fronts leave for later ones: the last left is the first used up.

    A rest is made in one place and kept in another, since fresh memory is dear.
    """

    def __init__(self, sizes: list[int], fronts: Sequence[Front]) -> None:
        self._sizes, self._parts = sizes, [front.parts for front in fronts]
        self._starts: list[int] = []
        top = most = 0
        for size, parts in zip(sizes, self._parts, strict=True):
            start = self._starts[parts[0]] if parts else top
            self._starts.append(start)
            top = start + size * size
            most = max(most, top)
        self._kept, self._blank = np.empty(most), np.empty(max(sizes) ** 2)

    def blank(self, size: int) -> FloatArray:
        """Zeros (size, size), column by column, until the next is asked for."""
        flat = self._blank[: size * size]
        flat[:] = 0.0
        return flat.reshape((size, size), order="F")

    def keep(self, number: int, rest: FloatArray) -> None:
        """Keep the rest of a front in place of those of its parts."""
        self.left(number)[:] = rest

    def left(self, number: int) -> FloatArray:
        """What a front has left."""
        size, start = self._sizes[number], self._starts[number]
        flat = self._kept[start : start + size * size]
        return flat.reshape((size, size), order="F")


def _zeros(rows: int, columns: int) -> FloatArray:
    return np.zeros((rows, columns), order="F")


def _dofs(front: Front, free: BoolArray) -> tuple[IntArray, IntArray]:
    """Degrees of freedom a front eliminates, and those it touches beyond."""
    start = 3 * front.first
    own = start + np.flatnonzero(free[start : 3 * front.last])
    beyond = (3 * front.beyond[:, None] + np.arange(3)).ravel()
    return own, beyond[free[beyond]]


def _scatter(
    pairs: BlockSparse,
    front: Front,
    slot: IntArray,
    square: FloatArray,
    below: FloatArray,
) -> None:
    """Write the stiffness of the points that a front eliminates."""
    part = slice(pairs.starts[front.first], pairs.starts[front.last])
    axes, n = np.arange(3), square.shape[1]
    row = slot[3 * pairs.later[part, None] + axes][:, :, None]
    column = slot[3 * pairs.earlier[part, None] + axes][:, None, :]
    row, column = np.broadcast_arrays(row, column)
    values = pairs.blocks[part]
    inside = (row >= 0) & (row < n) & (column >= 0)
    square[row[inside], column[inside]] = values[inside]
    outside = (row >= n) & (column >= 0)
    below[row[outside] - n, column[outside]] = values[outside]


def _extend(
    square: FloatArray,
    below: FloatArray,
    rest: FloatArray,
    at: IntArray,
    left: FloatArray,
) -> None:
    """Add the lower triangle of what an earlier front left.

    Its rows follow each other in few runs, so it is added block by block.
    """
    n = square.shape[0]
    runs = list(_runs(at, n))
    for column, c, width in runs:
        for row, r, height in runs:
            if row < column:
                continue
            block = left[r : r + height, c : c + width]
            if column >= n:
                target = rest[row - n : row - n + height, column - n :]
            elif row >= n:
                target = below[row - n : row - n + height, column:]
            else:
                target = square[row : row + height, column:]
            target[:, :width] += block


def _runs(at: IntArray, border: int) -> Iterator[tuple[int, int, int]]:
    """Runs of consecutive slots: first slot, its place in ``at``, and length."""
    breaks = np.flatnonzero((np.diff(at) != 1) | (at[1:] == border)) + 1
    edges = [0, *breaks.tolist(), len(at)]
    for start, stop in pairwise(edges):
        if stop > start:
            yield int(at[start]), start, stop - start


def _eliminate(
    square: FloatArray, below: FloatArray, rest: FloatArray, number: int
) -> None:
    """Factor a front in place and take its share from the rest."""
    stiff = square.diagonal().copy()
    _, fault = dpotrf(square, lower=1, overwrite_a=1, clean=0)
    pivot = square.diagonal()
    if fault or (pivot**2 < SMALLEST_PIVOT * stiff).any():
        raise ModelError(
            f"stiffness matrix not positive definite (front {number}): "
            "the part is free to move, or a cell is inverted; hold it or remesh"
        )
    if len(below):
        dtrsm(1.0, square, below, side=1, lower=1, trans_a=1, overwrite_b=1)
        dsyrk(-1.0, below, beta=1.0, c=rest, lower=1, overwrite_c=1)
