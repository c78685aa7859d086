"""Memory of the frontal factor, asked of the system once: fresh memory is dear."""

from collections.abc import Sequence

import numpy as np

from spokecheck.fem.dissection import Front
from spokecheck.units import FloatArray


class FactorStore:
    """One stretch of memory for all columns of the factor."""

    def __init__(self, size: int) -> None:
        self._flat, self._used = np.zeros(size), 0

    def take(self, rows: int, columns: int) -> FloatArray:
        """Zeros (rows, columns), column by column."""
        block = self._flat[self._used : self._used + rows * columns]
        self._used += rows * columns
        return block.reshape((rows, columns), order="F")


class UpdateStack:
    """Update matrices of the fronts: the last pushed is the first popped.

    A matrix is made in a work space and then kept on the stack, in the place of those
    of the front's children, which are used up by then.

    Parameters
    ----------
    sizes : list of int
        Degrees of freedom on the border of each front.
    fronts : sequence of Front
        In order of elimination.
    """

    def __init__(self, sizes: list[int], fronts: Sequence[Front]) -> None:
        self._sizes = sizes
        self._starts: list[int] = []
        top = deepest = 0
        for size, front in zip(sizes, fronts, strict=True):
            start = self._starts[front.children[0]] if front.children else top
            self._starts.append(start)
            top = start + size * size
            deepest = max(deepest, top)
        self._stack, self._work = np.empty(deepest), np.empty(max(sizes) ** 2)

    def blank(self, size: int) -> FloatArray:
        """Zeros (size, size), column by column, until the next is asked for."""
        flat = self._work[: size * size]
        flat[:] = 0.0
        return flat.reshape((size, size), order="F")

    def push(self, number: int, update: FloatArray) -> None:
        """Keep the update matrix of a front in place of those of its children."""
        self.of(number)[:] = update

    def of(self, number: int) -> FloatArray:
        """Update matrix of a front."""
        size, start = self._sizes[number], self._starts[number]
        flat = self._stack[start : start + size * size]
        return flat.reshape((size, size), order="F")
