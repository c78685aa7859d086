"""The order in which points are eliminated: nested dissection of the mesh.

On solids it halves the work of the Cholesky factor against minimum degree, measured on
a wheel sector of 80 000 unknowns.
The order of a mesh stays good for every part of it, so it is found once.

References
----------
Karypis, Kumar, A fast and high quality multilevel scheme for partitioning irregular
graphs, SIAM J. Sci. Comput. 20 (1998) 359-392.
"""

import numpy as np
import pymetis
import scipy.sparse as sp

from spokecheck.fem.cyclic import Cyclic
from spokecheck.units import IntArray


def elimination_rank(K: sp.csr_array, cyclic: Cyclic) -> IntArray:
    """Rank of each point in a fill-reducing order.

    Parameters
    ----------
    K : csr_array (3 n_points, 3 n_points)
        Stiffness, for its pattern.
    cyclic : Cyclic
        Points of the high cut take the rank of their partners.

    Returns
    -------
    ndarray (n_points,)
    """
    graph = sp.csr_array(K[::3][:, ::3]).tocoo()
    n_points = graph.shape[0]
    leader = np.arange(n_points)
    leader[cyclic.pairs[:, 1]] = cyclic.pairs[:, 0]
    row, col = (leader[index] for index in graph.coords)
    off = row != col
    ones = np.ones(int(off.sum()), dtype=np.int8)
    joined = sp.csr_array((ones, (row[off], col[off])), shape=graph.shape)
    adjacency = pymetis.CSRAdjacency(joined.indptr, joined.indices)
    order, _ = pymetis.nested_dissection(adjacency)
    rank = np.empty(n_points, dtype=np.int64)
    rank[np.asarray(order)] = np.arange(n_points)
    return np.asarray(rank[leader])
