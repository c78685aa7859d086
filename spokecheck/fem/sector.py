"""All orders of a load on one sector, by one real factor.

Everything but the two cuts is eliminated once, in real arithmetic.
What is left couples the low cut and the high one; in order m the high cut follows the
low one, ``u_high = exp(i m alpha) R u_low``, so each residue of m modulo N has a small
dense Hermitian matrix of its own.
A whole body has no cuts, and nothing is left.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, cho_factor, cho_solve

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import stiffness_blocks
from spokecheck.fem.block_sparse import BlockSparse
from spokecheck.fem.cyclic import Cyclic, rigid_field, rotation, turning_motions
from spokecheck.fem.dissection import Dissection, dissect
from spokecheck.fem.fronts import SMALLEST_PIVOT, FrontalFactor
from spokecheck.fem.reduction import Supports
from spokecheck.fem.solve import Displacements, OrderLoad, drive, solve_small
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class Stiffness:
    """Stiffness of a body, ready to be factored under any supports.

    Attributes
    ----------
    pairs : BlockSparse
        Its points numbered in the order of elimination.
    dissection : Dissection
        That order; the points of the cuts are pinned.
    """

    pairs: BlockSparse
    dissection: Dissection

    def times(self, u: ComplexArray) -> ComplexArray:
        """Nodal forces (n_fields, n_points, 3) of displacements of that shape."""
        columns = _columns(u, self.dissection.position)
        forces = self.pairs.times(columns)
        return _fields(forces, self.dissection.position)


def make_stiffness(
    mesh: Mesh, cyclic: Cyclic, lame: tuple[FloatArray, FloatArray]
) -> Stiffness:
    """Assemble the stiffness of a body, its points in the order of elimination.

    Parameters
    ----------
    mesh : Mesh
        One sector, the whole body, or a part of either.
    cyclic : Cyclic
        Its pairs on the cuts; they are eliminated last.
    lame : tuple of ndarray (n_cells,)
        Lamé constants [MPa] of each cell.
    """
    order = dissect(mesh.cells, mesh.n_points, np.unique(cyclic.pairs))
    points = np.empty_like(mesh.points)
    points[order.position] = mesh.points
    turned = Mesh(points, order.position[mesh.cells])
    return Stiffness(stiffness_blocks(turned, lame), order)


def _columns(fields: ComplexArray, position: IntArray) -> FloatArray:
    """Real columns (3 n_points, 2 n_fields) of complex fields, real parts first."""
    turned = np.empty((fields.shape[1], 3, 2 * len(fields)))
    turned[position, :, : len(fields)] = fields.real.transpose(1, 2, 0)
    turned[position, :, len(fields) :] = fields.imag.transpose(1, 2, 0)
    return turned.reshape(-1, 2 * len(fields))


def _fields(columns: FloatArray, position: IntArray) -> ComplexArray:
    """Complex fields (n_fields, n_points, 3) back from real columns."""
    n = columns.shape[1] // 2
    shaped = columns.reshape(-1, 3, 2 * n)[position].transpose(2, 0, 1)
    return np.ascontiguousarray(shaped[:n] + 1j * shaped[n:])


def solve_sector(
    stiffness: Stiffness,
    points: FloatArray,
    cyclic: Cyclic,
    supports: Supports,
    loads: Sequence[OrderLoad],
) -> Displacements:
    """Solve all orders of a load.

    Parameters
    ----------
    stiffness : Stiffness
        Of the sector, or of the whole body.
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cyclic : Cyclic
        Symmetry and the point pairs of the two cuts.
    supports : Supports
        Held and coupled points.
    loads : sequence of OrderLoad
        One for each order.

    Returns
    -------
    Displacements
        In the order of ``loads``.

    Raises
    ------
    ModelError
        If the body is free to move.
    """
    motions = [_motions(points, cyclic, supports, load.order) for load in loads]
    moved = np.concatenate(motions)
    pulled = stiffness.times(moved) if len(moved) else moved
    width = np.array([len(motion) for motion in motions])
    start = np.cumsum(width) - width
    sides = np.concatenate([[load.nodal for load in loads], pulled]).astype(complex)
    orders = np.array([load.order for load in loads])
    of_column = np.concatenate([orders, np.repeat(orders, width)])
    solved = _Open(stiffness, cyclic, supports).solve(sides, of_column)
    u = np.empty((len(loads), *points.shape), dtype=complex)
    for k, load in enumerate(loads):
        own = slice(start[k], start[k] + width[k])
        answer, back = solved[k], solved[len(loads) :][own]
        u[k] = _coupled(load, cyclic.count, motions[k], pulled[own], answer, back)
    return Displacements(orders, u)


def _motions(
    points: FloatArray, cyclic: Cyclic, supports: Supports, order: int
) -> ComplexArray:
    """Rigid motions (n_motions, n_points, 3) of the coupled points, zero elsewhere."""
    coupling = supports.coupling
    if coupling is None:
        return np.zeros((0, *points.shape), dtype=complex)
    nodes = coupling.nodes
    motions = turning_motions(order, cyclic.count)
    fields = np.zeros((len(motions), *points.shape), dtype=complex)
    for field, (_, motion) in zip(fields, motions, strict=True):
        field[nodes] = rigid_field(points[nodes], motion, coupling.centre)
    return fields


def _coupled(
    load: OrderLoad,
    count: int,
    motions: ComplexArray,
    pulled: ComplexArray,
    answer: ComplexArray,
    back: ComplexArray,
) -> ComplexArray:
    """Displacement of one order, the rigid coupling found by a Schur complement.

    Parameters
    ----------
    load : OrderLoad
        The order.
    count : int
        Number of sectors.
    motions, pulled, back : ndarray (n_motions, n_points, 3)
        Coupled motions, the forces they need, and what the rest answers to these.
    answer : ndarray (n_points, 3)
        What the rest does with the coupled points held.

    Returns
    -------
    ndarray (n_points, 3)
    """
    if not len(motions):
        return answer
    inner = "anx,bnx->ab"
    held = motions - back
    schur = np.einsum(inner, motions.conj(), pulled, optimize=True)
    schur -= np.einsum(inner, pulled.conj(), back, optimize=True)
    push = np.einsum("anx,nx->a", motions.conj(), load.nodal)
    push = push + drive(load, count) - np.einsum("anx,nx->a", pulled.conj(), answer)
    amplitudes = solve_small(schur, push[:, None])[:, 0]
    return np.asarray(answer + np.tensordot(amplitudes, held, axes=1))


class _Open:
    """The sector with its cuts open, and what ties them."""

    def __init__(
        self, stiffness: Stiffness, cyclic: Cyclic, supports: Supports
    ) -> None:
        position = stiffness.dissection.position
        coupled = np.zeros(len(position), dtype=bool)
        if supports.coupling is not None:
            coupled[supports.coupling.nodes] = True
        free = ~(supports.held | coupled[:, None])
        pairs = cyclic.pairs[~coupled[cyclic.pairs[:, 0]]]
        # cuts are held in the low one's frame, and only once they are tied
        free_low = free[pairs[:, 0]].ravel()
        free[pairs] = True
        turned = np.empty_like(free)
        turned[position] = free
        self._position, self._cyclic = position, cyclic
        self._free = turned.ravel()
        self._factor = FrontalFactor(stiffness.pairs, stiffness.dissection, self._free)
        self._cut = None
        if len(pairs):
            self._cut = _Cut(self._factor, position[pairs], free_low, cyclic.alpha)

    def solve(self, sides: ComplexArray, orders: IntArray) -> ComplexArray:
        """Solve for right-hand sides (n_sides, n_points, 3), each of its order."""
        columns, root = _columns(sides, self._position), self._factor.root
        columns[~self._free] = 0.0
        self._factor.forward(columns)
        n = len(sides)
        if self._cut is not None:
            left = columns[root, :n] + 1j * columns[root, n:]
            found = self._cut.solve(left, orders, self._cyclic)
            columns[root] = np.hstack([found.real, found.imag])
        self._factor.backward(columns)
        return _fields(columns, self._position)


class _Cut:
    """What is left of the stiffness at the two cuts, tied order by order."""

    def __init__(
        self, factor: FrontalFactor, pairs: IntArray, free: BoolArray, alpha: float
    ) -> None:
        at = np.searchsorted(factor.root, 3 * pairs)
        self._low, self._high = (
            (at[:, side, None] + np.arange(3)).ravel() for side in (0, 1)
        )
        self._free, self._R = free, rotation(alpha)
        low, high, S = self._low, self._high, factor.condensed
        across = self._turn_columns(S[np.ix_(low, high)])
        within = self._turn_columns(S[np.ix_(high, high)])
        within = self._turn_columns(np.ascontiguousarray(within.T))
        keep = np.ix_(free, free)
        self._still = (S[np.ix_(low, low)] + within)[keep]
        self._across = across[keep]

    def solve(
        self, left: ComplexArray, orders: IntArray, cyclic: Cyclic
    ) -> ComplexArray:
        """Displacements (n_root, n_sides) from what is left of right-hand sides."""
        phase = np.exp(1j * orders * cyclic.alpha)
        sides = left[self._low] + phase.conj() * self._turned(left[self._high], self._R)
        found = np.zeros_like(sides)
        classes = [cyclic.phase_class(int(m)) for m in orders]
        back = np.array([conjugate for _, conjugate in classes])
        sides[:, back] = sides[:, back].conj()
        residues = np.array([residue for residue, _ in classes])
        for residue in np.unique(residues):
            of = np.flatnonzero(residues == residue)
            tied = self._factor(residue * cyclic.alpha)
            own = sides[np.ix_(self._free, of)]
            found[np.ix_(self._free, of)] = cho_solve(tied, own, check_finite=False)
        found[:, back] = found[:, back].conj()
        out = np.zeros_like(left)
        out[self._low] = found
        out[self._high] = phase * self._turned(found, self._R.T)
        return out

    def _factor(self, angle: float) -> tuple[ComplexArray, bool]:
        """Cholesky factor of the tied stiffness for one phase between the cuts."""
        H = np.cos(angle) * (self._across + self._across.T) + self._still
        if abs(np.sin(angle)) > 1e-12:
            H = H + 1j * np.sin(angle) * (self._across - self._across.T)
        stiff = H.diagonal().real.copy()
        try:
            factor, lower = cho_factor(H, True, overwrite_a=True, check_finite=False)
            fault = (factor.diagonal().real ** 2 < SMALLEST_PIVOT * stiff).any()
        except LinAlgError:
            fault = True
        if fault:
            raise ModelError(
                "stiffness matrix not positive definite at the cuts: "
                "the part is free to move; hold it"
            )
        return factor, lower

    @staticmethod
    def _turned(values: ComplexArray, R: FloatArray) -> ComplexArray:
        """Vectors (3 n, n_sides) multiplied by R^T, point by point."""
        shaped = values.reshape(-1, 3, values.shape[1])
        return np.asarray(np.matmul(R.T, shaped).reshape(values.shape))

    def _turn_columns(self, block: FloatArray) -> FloatArray:
        """Columns of the high cut, counted in the low one's frame."""
        shaped = block.reshape(len(block), -1, 3)
        return np.asarray(np.matmul(shaped, self._R).reshape(block.shape))
