"""From all degrees of freedom to the independent ones: supports, couplings, cuts.

``u = T q``: held degrees of freedom drop out, points on the high cut follow those on
the low cut up to a rotation and a phase, and coupled points follow a few rigid motions.
The phase enters in three real matrices only,
``K(m) = A + cos(m alpha) B + i sin(m alpha) C``,
so that a sector is reduced once for all its orders.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from spokecheck.fem.cyclic import Cyclic, rigid_field, rotation, turning_motions
from spokecheck.fem.orders import Supports
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class Reduction:
    """The reduced stiffness of a body under given supports, for any order.

    Attributes
    ----------
    free : ndarray (3 n_points,)
        Row of each degree of freedom in the reduced system, -1 if it has none.
    shift : ndarray (3 n_points,)
        1 on the high cut, else 0: how often the phase multiplies that row.
    parts : tuple of csc_array
        The matrices A, B, C above, lower triangles.
    to_coupled : tuple of csr_array (n_free, n_coupled)
        Stiffness between free and coupled degrees of freedom, by ``shift`` of the row.
    within : csr_array (n_coupled, n_coupled)
        Stiffness among the coupled ones.
    coupled : ndarray (n_coupled,)
        Their degrees of freedom.
    order : ndarray (n_free,) or None
        Order in which the factor eliminates the rows; None leaves it to the factor.
    """

    points: FloatArray
    cyclic: Cyclic
    supports: Supports
    free: IntArray
    shift: IntArray
    parts: tuple[sp.csc_array, sp.csc_array, sp.csc_array]
    to_coupled: tuple[sp.csr_array, sp.csr_array]
    within: sp.csr_array
    coupled: IntArray
    order: IntArray | None = None

    @property
    def n_free(self) -> int:
        """Number of independent degrees of freedom besides rigid motions."""
        return int(self.parts[0].shape[0])

    def matrix(self, residue: int) -> sp.csc_array:
        """Lower triangle of the reduced stiffness for orders of one residue."""
        angle = residue * self.cyclic.alpha
        constant, cosine, sine = self.parts
        if not cosine.nnz:
            return constant
        total = constant + np.cos(angle) * cosine
        if abs(np.sin(angle)) > 1e-12:
            total = total + 1j * np.sin(angle) * sine
        return sp.csc_array(total)

    def motions(self, order: int) -> ComplexArray:
        """Coupled rigid motions of one order, (n_coupled, n_motions)."""
        if not self.supports.couplings:
            return np.zeros((0, 0), dtype=complex)
        (coupling,) = self.supports.couplings
        points = self.points[coupling.nodes]
        motions = turning_motions(order, self.cyclic.count)
        if not motions:
            return np.zeros((len(self.coupled), 0), dtype=complex)
        fields = [rigid_field(points, m, coupling.centre).ravel() for _, m in motions]
        return np.stack(fields, axis=1)

    def restrict(self, f: ComplexArray, order: int) -> ComplexArray:
        """Reduced load (n_free, n_loads) from nodal loads (3 n_points, n_loads)."""
        local = self._turn(f, back=True)
        phase = np.exp(-1j * order * self.cyclic.alpha * self.shift)
        keep = self.free >= 0
        reduced = np.zeros((self.n_free, f.shape[1]), dtype=complex)
        np.add.at(reduced, self.free[keep], (phase[:, None] * local)[keep])
        return reduced

    def expand(self, q: ComplexArray, order: int) -> ComplexArray:
        """Nodal values (3 n_points, n_loads) from reduced ones; zero where not free."""
        phase = np.exp(1j * order * self.cyclic.alpha * self.shift)
        padded = np.vstack([q, np.zeros((1, q.shape[1]))])
        return self._turn(phase[:, None] * padded[self.free], back=False)

    def _turn(self, values: ComplexArray, *, back: bool) -> ComplexArray:
        """Turn vectors on the high cut into (back) or out of the low cut's frame."""
        high = self.cyclic.pairs[:, 1]
        if not len(high):
            return values
        R = rotation(self.cyclic.alpha)
        shaped = values.reshape(len(self.points), 3, -1).copy()
        shaped[high] = np.matmul(R.T if back else R, shaped[high])
        return shaped.reshape(values.shape)


def reduce_stiffness(
    K: sp.csr_array,
    points: FloatArray,
    supports: Supports,
    cyclic: Cyclic,
    rank: IntArray | None = None,
) -> Reduction:
    """Reduce a stiffness matrix to its independent degrees of freedom.

    Parameters
    ----------
    K : csr_array (3 n_points, 3 n_points)
        Stiffness [N/mm] of the sector, or of the whole body for N = 1.
    points : ndarray (n_points, 3)
        Coordinates [mm].
    supports : Supports
        Held and coupled points.
    cyclic : Cyclic
        Symmetry and the point pairs of the two cuts.
    rank : ndarray (n_points,), optional
        Fill-reducing rank of the points, see ``ordering``.

    Returns
    -------
    Reduction
        From which the matrix of every order follows.
    """
    coupled_node = np.zeros(len(points), dtype=bool)
    nodes = np.empty(0, dtype=np.int64)
    if supports.couplings:
        nodes = supports.couplings[0].nodes
        coupled_node[nodes] = True
    pairs = cyclic.pairs[~coupled_node[cyclic.pairs[:, 0]]]
    cyclic = Cyclic(cyclic.count, pairs)
    free, shift = _numbering(supports, pairs, coupled_node)
    row, col, values = _in_low_frame(K, pairs[:, 1], rotation(cyclic.alpha))
    r, c = free[row], free[col]
    coupled = (3 * nodes[:, None] + np.arange(3)).ravel()
    slot = np.full(K.shape[0], -1)
    slot[coupled] = np.arange(len(coupled))
    n_free = int(free.max()) + 1
    return Reduction(
        points=points,
        cyclic=cyclic,
        supports=supports,
        free=free,
        shift=shift,
        parts=_phase_parts(r, c, shift[col] - shift[row], values, n_free),
        to_coupled=_coupling_parts(
            r, slot[col], shift[row], values, (n_free, len(coupled))
        ),
        within=sp.csr_array(K[coupled][:, coupled]),
        coupled=coupled,
        order=_elimination_order(free, rank),
    )


def _elimination_order(free: IntArray, rank: IntArray | None) -> IntArray | None:
    """Order of the reduced rows that follows the rank of their points."""
    if rank is None:
        return None
    n_free = int(free.max()) + 1
    dof = np.empty(n_free, dtype=np.int64)
    has_row = np.flatnonzero(free >= 0)
    dof[free[has_row]] = has_row
    return np.argsort(rank[dof // 3], kind="stable")


def _numbering(
    supports: Supports, pairs: IntArray, coupled_node: BoolArray
) -> tuple[IntArray, IntArray]:
    """Reduced row and phase shift of every degree of freedom."""
    leader = np.arange(len(coupled_node))
    leader[pairs[:, 1]] = pairs[:, 0]
    is_free = ~supports.held & ~coupled_node[:, None]
    is_free[pairs[:, 1]] = False
    number = np.where(is_free, np.cumsum(is_free).reshape(is_free.shape) - 1, -1)
    shift = np.zeros(len(coupled_node), dtype=np.int64)
    shift[pairs[:, 1]] = 1
    return number[leader].ravel(), np.repeat(shift, 3)


def _in_low_frame(
    K: sp.csr_array, high: IntArray, R: FloatArray
) -> tuple[IntArray, IntArray, FloatArray]:
    """Entries of the stiffness, vectors of the high cut counted in the low cut's frame.

    Only rows and columns of the high cut change: ``Q^T K Q`` with R in their blocks.
    """
    full = K.tocoo()
    row, col = full.coords
    if not len(high):
        return row, col, full.data
    is_high = np.zeros(K.shape[0], dtype=bool)
    dofs = (3 * high[:, None] + np.arange(3)).ravel()
    is_high[dofs] = True
    keep = ~is_high[row] & ~is_high[col]
    Q = sp.kron(sp.eye_array(len(high)), R, format="csr")
    strip = sp.csr_array(Q.T @ K[dofs]).tocoo()
    inside = is_high[strip.coords[1]]
    corner = sp.csr_array(Q.T @ K[dofs][:, dofs] @ Q).tocoo()
    side = strip.coords[0][~inside], strip.coords[1][~inside], strip.data[~inside]
    return (
        np.concatenate([row[keep], dofs[side[0]], side[1], dofs[corner.coords[0]]]),
        np.concatenate([col[keep], side[1], dofs[side[0]], dofs[corner.coords[1]]]),
        np.concatenate([full.data[keep], side[2], side[2], corner.data]),
    )


def _phase_parts(
    r: IntArray, c: IntArray, step: IntArray, values: FloatArray, n_free: int
) -> tuple[sp.csc_array, sp.csc_array, sp.csc_array]:
    """Lower triangles of the constant, cosine and sine parts."""
    keep = (c >= 0) & (r >= c)
    r, c, step, values = r[keep], c[keep], step[keep], values[keep]
    still, moved = step == 0, step != 0
    sign = step[moved]
    at = (r[moved], c[moved])
    shape = (n_free, n_free)
    return (
        sp.csc_array((values[still], (r[still], c[still])), shape=shape),
        sp.csc_array((values[moved], at), shape=shape),
        sp.csc_array((sign * values[moved], at), shape=shape),
    )


def _coupling_parts(
    r: IntArray,
    slot: IntArray,
    shift: IntArray,
    values: FloatArray,
    shape: tuple[int, int],
) -> tuple[sp.csr_array, sp.csr_array]:
    """Columns of the coupled degrees of freedom, for rows with and without phase."""
    keep = (r >= 0) & (slot >= 0)
    r, slot, shift, values = r[keep], slot[keep], shift[keep], values[keep]
    low, high = (
        sp.csr_array((values[shift == k], (r[shift == k], slot[shift == k])), shape)
        for k in (0, 1)
    )
    return low, high
