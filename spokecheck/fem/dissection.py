"""Cut a mesh into halves again and again: the order in which points are eliminated.

The cells are halved by METIS until a few dozen are left; a point belongs to the
smallest part that holds all its cells, so the points between two halves are eliminated
after both.
Points can be pinned: they come last, and are not eliminated.

References
----------
George, Nested dissection of a regular finite element mesh, SIAM J. Numer. Anal. 10
(1973) 345-363.
Karypis, Kumar, A fast and high quality multilevel scheme for partitioning irregular
graphs, SIAM J. Sci. Comput. 20 (1998) 359-392.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from spokecheck.fem.ordering import halved
from spokecheck.units import IntArray

CELLS_IN_LEAF = 50
"""Most cells of a part that is not halved; 30 to 100 take equal time."""


@dataclass(frozen=True)
class Front:
    """Points eliminated together, and those their elimination touches.

    Attributes
    ----------
    first, last : int
        Positions ``first`` to ``last - 1`` are eliminated here.
    beyond : ndarray (n_beyond,)
        Later positions that are touched, sorted.
    parts : tuple of int
        Earlier fronts whose rest is summed into this one.
    """

    first: int
    last: int
    beyond: IntArray
    parts: tuple[int, ...]


@dataclass(frozen=True)
class Dissection:
    """Order of elimination of a mesh's points.

    Attributes
    ----------
    position : ndarray (n_points,)
        Place of each point in the order of elimination.
    fronts : tuple of Front
        In order of elimination; the parts of a front come before it.
    n_eliminated : int
        Positions from here on are pinned.
    """

    position: IntArray
    fronts: tuple[Front, ...]
    n_eliminated: int


def dissect(cells: IntArray, n_points: int, pinned: IntArray) -> Dissection:
    """Order of elimination of a mesh's points.

    Parameters
    ----------
    cells : ndarray (n_cells, 10)
        TET10 connectivity; every point must belong to a cell.
    n_points : int
        Number of points.
    pinned : ndarray (n_pinned,)
        Points that are not eliminated.

    Returns
    -------
    Dissection
    """
    depth = max(0, int(np.ceil(np.log2(len(cells) / CELLS_IN_LEAF))))
    part = halved(_neighbours(cells), depth)
    home, low, high = _homes(cells, part, n_points, depth)
    home[pinned] = 0
    tree = _children_first(1, depth)
    turn = np.zeros(2 ** (depth + 1), dtype=np.int64)
    turn[[*tree, 0]] = np.arange(len(tree) + 1)
    order = np.lexsort((high, low, turn[home]))
    position = np.empty(n_points, dtype=np.int64)
    position[order] = np.arange(n_points)
    starts = np.searchsorted(turn[home[order]], np.arange(len(tree) + 1))
    fronts = _fronts(position[cells], part, tree, starts, depth)
    return Dissection(position, fronts, int(starts[-1]))


def _neighbours(cells: IntArray) -> sp.csr_array:
    """Which cells share a face."""
    n_cells, base = len(cells), int(cells.max()) + 1
    sides = np.array([[1, 2, 3], [0, 2, 3], [0, 1, 3], [0, 1, 2]])
    face = np.sort(cells[:, sides].reshape(-1, 3), axis=1)
    key = (face[:, 0] * base + face[:, 1]) * base + face[:, 2]
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(np.diff(key[order]) == 0)
    one, other = order[same] // 4, order[same + 1] // 4
    ends = (np.concatenate([one, other]), np.concatenate([other, one]))
    return sp.csr_array(
        (np.ones(2 * len(one), dtype=np.int8), ends), shape=(n_cells, n_cells)
    )


def _homes(
    cells: IntArray, part: IntArray, n_points: int, depth: int
) -> tuple[IntArray, IntArray, IntArray]:
    """Node of the tree each point belongs to, and the least and last of its leaves.

    Nodes count from 1 at the top, and halves of k are 2 k and 2 k + 1.
    """
    low = np.full(n_points, 2**depth)
    high = np.zeros(n_points, dtype=np.int64)
    for corner in cells.T:
        np.minimum.at(low, corner, part)
        np.maximum.at(high, corner, part)
    differ = np.frexp((low ^ high).astype(float))[1]
    return (2**depth + low) >> differ, low, high


def _children_first(node: int, depth: int) -> list[int]:
    """Nodes of the tree below a node, and itself last."""
    if depth == 0:
        return [node]
    lower = (_children_first(child, depth - 1) for child in (2 * node, 2 * node + 1))
    return [*(child for half in lower for child in half), node]


def _fronts(
    cells: IntArray, part: IntArray, tree: list[int], starts: IntArray, depth: int
) -> tuple[Front, ...]:
    """Fronts of all nodes of the tree, from the cells in order of elimination."""
    sorted_cells = cells[np.argsort(part, kind="stable")]
    leaf = np.searchsorted(np.sort(part), np.arange(2**depth + 1))
    number = {node: k for k, node in enumerate(tree)}
    fronts: list[Front] = []
    for k, node in enumerate(tree):
        first, last = int(starts[k]), int(starts[k + 1])
        parts: tuple[int, ...] = ()
        if node >= 2**depth:
            here = node - 2**depth
            points = np.unique(sorted_cells[leaf[here] : leaf[here + 1]])
        else:
            parts = number[2 * node], number[2 * node + 1]
            points = np.union1d(*(fronts[p].beyond for p in parts))
        fronts.append(Front(first, last, points[points >= last], parts))
    return tuple(fronts)
