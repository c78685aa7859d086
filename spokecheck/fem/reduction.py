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
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class Coupling:
    """Points that move as one rigid body.

    Attributes
    ----------
    nodes : ndarray (n_nodes,)
        Point numbers.
    centre : ndarray (3,)
        Point [mm] about which the rigid rotation is counted; on the z axis.
    """

    nodes: IntArray
    centre: FloatArray


@dataclass(frozen=True)
class Supports:
    """What is held and what is coupled.

    Attributes
    ----------
    held : ndarray (n_points, 3) of bool
        Degrees of freedom whose displacement is zero.
    coupling : Coupling or None
        At most one rigid coupling; its points must not be held.
    """

    held: BoolArray
    coupling: Coupling | None = None


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
        The matrices A, B, C above, lower triangles, with one common pattern.
    to_coupled : tuple of csr_array (n_free, n_coupled)
        Stiffness between free and coupled degrees of freedom, by ``shift`` of the row.
    within : csr_array (n_coupled, n_coupled)
        Stiffness among the coupled ones.
    coupled : ndarray (n_coupled,)
        Their degrees of freedom.
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

    @property
    def n_free(self) -> int:
        """Number of independent degrees of freedom besides rigid motions."""
        return int(self.parts[0].shape[0])

    def matrix(self, residue: int) -> sp.csc_array:
        """Lower triangle of the reduced stiffness for orders of one residue."""
        angle = residue * self.cyclic.alpha
        A, B, C = self.parts
        data = A.data + np.cos(angle) * B.data
        if abs(np.sin(angle)) > 1e-12:
            data = data + 1j * np.sin(angle) * C.data
        return sp.csc_array((data, A.indices, A.indptr), shape=A.shape)

    def motions(self, order: int) -> ComplexArray:
        """Coupled rigid motions of one order, (n_coupled, n_motions)."""
        coupling = self.supports.coupling
        if coupling is None:
            return np.zeros((0, 0), dtype=complex)
        points = self.points[coupling.nodes]
        motions = turning_motions(order, self.cyclic.count)
        if not motions:
            return np.zeros((len(self.coupled), 0), dtype=complex)
        fields = [rigid_field(points, m, coupling.centre).ravel() for _, m in motions]
        return np.stack(fields, axis=1)

    def gather(self, f: ComplexArray, order: int) -> ComplexArray:
        """Reduced load (n_free, n_loads) from nodal loads (3 n_points, n_loads)."""
        local = self._turn(f, back=True)
        phase = np.exp(-1j * order * self.cyclic.alpha * self.shift)
        keep = self.free >= 0
        reduced = np.zeros((self.n_free, f.shape[1]), dtype=complex)
        np.add.at(reduced, self.free[keep], (phase[:, None] * local)[keep])
        return reduced

    def spread(self, q: ComplexArray, order: int) -> ComplexArray:
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
    K: sp.csr_array, points: FloatArray, supports: Supports, cyclic: Cyclic
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

    Returns
    -------
    Reduction
        From which the matrix of every order follows.
    """
    n_dofs = K.shape[0]
    coupled_node = np.zeros(len(points), dtype=bool)
    if supports.coupling is not None:
        coupled_node[supports.coupling.nodes] = True
    pairs = cyclic.pairs[~coupled_node[cyclic.pairs[:, 0]]]
    cyclic = Cyclic(cyclic.count, pairs)
    free, shift = _numbering(supports, pairs, coupled_node)
    turned = _in_low_frame(K, pairs[:, 1], rotation(cyclic.alpha)).tocoo()
    row, col = turned.coords
    r, c, step = free[row], free[col], shift[col] - shift[row]
    n_free = int(free.max()) + 1
    nodes = np.empty(0, dtype=np.int64)
    if supports.coupling is not None:
        nodes = supports.coupling.nodes
    coupled = (3 * nodes[:, None] + np.arange(3)).ravel()
    slot = np.full(n_dofs, -1)
    slot[coupled] = np.arange(len(coupled))
    return Reduction(
        points=points,
        cyclic=cyclic,
        supports=supports,
        free=free,
        shift=shift,
        parts=_phase_parts(r, c, step, turned.data, n_free),
        to_coupled=_coupling_parts(
            r, slot[col], shift[row], turned.data, (n_free, len(coupled))
        ),
        within=sp.csr_array(K[coupled][:, coupled]),
        coupled=coupled,
    )


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


def _in_low_frame(K: sp.csr_array, high: IntArray, R: FloatArray) -> sp.csr_array:
    """Stiffness with the vectors of the high cut counted in the low cut's frame."""
    if not len(high):
        return K
    blocks = np.tile(np.eye(3), (K.shape[0] // 3, 1, 1))
    blocks[high] = R
    n = len(blocks)
    Q = sp.bsr_array((blocks, np.arange(n), np.arange(n + 1)), shape=K.shape).tocsr()
    Q.eliminate_zeros()
    return sp.csr_array(Q.T.tocsr() @ K @ Q)


def _phase_parts(
    r: IntArray, c: IntArray, step: IntArray, values: FloatArray, n_free: int
) -> tuple[sp.csc_array, sp.csc_array, sp.csc_array]:
    """Lower triangles of the constant, cosine and sine parts, on one pattern."""
    keep = (c >= 0) & (r >= c)
    r, c, step, values = r[keep], c[keep], step[keep], values[keep]
    flat = np.zeros(len(values))
    shape = (n_free, n_free)
    const = np.where(step == 0, values, flat)
    if not step.any():
        A = sp.csc_array((const, (r, c)), shape=shape)
        none = sp.csc_array((np.zeros_like(A.data), A.indices, A.indptr), shape=shape)
        return A, none, none
    cosine, sine = np.where(step != 0, values, flat), step * values
    A, B, C = (sp.csc_array((v, (r, c)), shape=shape) for v in (const, cosine, sine))
    return A, B, C


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
