"""Solve a joined body: each sector is condensed onto the ring, and the ring is solved.

A field of order m on one of the g common sectors is, on the copies j of a part of n
sectors, each turned back by j alpha, a sum over the residues k = m + g l that the part
can tell apart, l = 0 .. n/g - 1:

    u_j = sum_l û_l exp(i k_l j alpha),   û_l = (g/n) sum_j u_j exp(-i k_l j alpha)

Every û_l lives on one sector and has the phase p = exp(i k_l alpha) between its cuts.
With c the points of the low cut, r those of the ring, and H(p) the sector's tied
matrix as in ``cuts``, the ring included,

    H = [H_cc  H_cr]     S_l = H_rr - H_cr^H H_cc^-1 H_cr
        [H_rc  H_rr]     r_l = f_r  - H_cr^H H_cc^-1 f_c

On the ring the copies are put together again, from the blocks

    A_jj' = (g/n) sum_l S_l exp(i k_l (j - j') alpha)

Displacements on the ring are counted in frames of its strips, strip s turned by
s 2 pi / L from x, y, z, so that the copies of a sector differ by nothing but j.
There the two parts are added, the inner one first moved by ``first`` strips; what goes
beyond the last strip of a sector of the body comes in at its first, with the phase
exp(i m 2 pi / g).
One Cholesky factor gives the ring, the equations above the cuts, and the frontal factor
all else: no step is approximate.

References
----------
Thomas, Dynamics of rotationally periodic structures, Int. J. Numer. Methods Eng. 14
(1979) 81-102, for the tied sector; Davis, Circulant Matrices, 1979, ch. 5, for the
blocks (both from memory).
"""

import numpy as np
from scipy.linalg import cho_solve

from spokecheck.errors import ModelError
from spokecheck.fem.condensed import Condensed
from spokecheck.fem.cuts import dense_factor
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.joined import Joined
from spokecheck.fem.joined_stiffness import JoinedStiffness
from spokecheck.fem.orders import Supports
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


class JoinedFactor:
    """The factor of a joined body under given supports.

    Parameters
    ----------
    stiffness : JoinedStiffness
    supports : Supports
        Held and coupled points, both at zero here; the same in all copies, and x held
        wherever y is.

    Raises
    ------
    ModelError
        If the supports differ from copy to copy, or the body is free to move.
    """

    def __init__(self, stiffness: JoinedStiffness, supports: Supports) -> None:
        self._joined = stiffness.joined
        self._rings: dict[int, tuple[ComplexArray | FloatArray, bool]] = {}
        free = _free(self._joined, supports)
        self._parts = [
            Condensed(*each, self._joined, free)
            for each in zip(self._joined.parts, stiffness.parts, strict=True)
        ]

    def solve(self, sides: ComplexArray, orders: IntArray) -> ComplexArray:
        """Displacements of the free points, zero at all others.

        Parameters
        ----------
        sides : ndarray (n_sides, n_points, 3)
            Right-hand sides [N] on the joined mesh, in x, y, z.
        orders : ndarray (n_sides,)
            Order of each; only its residue modulo g counts.

        Returns
        -------
        ndarray (n_sides, n_points, 3)
        """
        u = np.zeros(sides.shape, dtype=complex)
        residues = orders % self._joined.cyclic.count
        for residue in np.unique(residues):
            members = residues == residue
            u[members] = self._one_class(sides[members], int(residue))
        return u

    def _one_class(self, sides: ComplexArray, m: int) -> ComplexArray:
        """Solve sides that meet the cuts of the body with the same phase."""
        forces = _on_low_cut(sides, self._joined, m)
        # 1. condense both parts onto the ring, and add
        reduced = [part.condensed(forces, m) for part in self._parts]
        f = reduced[0].ring + reduced[1].ring
        # 2. solve the ring's free components
        free, u_ring = self._parts[0].ring_free, np.zeros_like(f)
        if free.any():
            u_ring[free] = _solved(self._ring(m), f[free])
        # 3. the sectors follow, and their copies are put together
        u = np.zeros(sides.shape, dtype=complex)
        for part, one in zip(self._parts, reduced, strict=True):
            part.expand(one, u_ring, m, u)
        return u

    def _ring(self, m: int) -> tuple[ComplexArray | FloatArray, bool]:
        """Cholesky factor of the ring's free components in one residue."""
        if m not in self._rings:
            outer, inner = self._parts
            A = outer.on_ring(m)
            A += inner.on_ring(m)
            free = outer.ring_free
            if not free.all():
                A = A[np.ix_(free, free)]
            self._rings[m] = dense_factor(A, "on the ring")
        return self._rings[m]


def _free(joined: Joined, supports: Supports) -> BoolArray:
    """Free components (n_points, 3), once it is sure that they are alike everywhere."""
    free = ~supports.held
    free[supports.coupled] = False
    unlike = free[:, 0] != free[:, 1]
    for part in joined.parts:
        unlike[part.number] |= (free[part.number] != free[part.number[0]]).any(axis=2)
        low, high = part.number[0][part.sector.cyclic.pairs.T]
        unlike[high] |= (free[low] != free[high]).any(axis=1)
    if unlike.any() or supports.frames is not None:
        raise ModelError(
            f"supports at {int(unlike.sum())} points differ from copy to copy of a "
            "sector: solve the body whole"
        )
    return free


def _on_low_cut(sides: ComplexArray, joined: Joined, m: int) -> ComplexArray:
    """Forces of the body's high cut moved to their images: f_l + conj(p) R^T f_h."""
    low, high = joined.cyclic.pairs.T
    if not len(low):
        return sides
    alpha, forces = joined.cyclic.alpha, np.array(sides, dtype=complex)
    forces[:, low] += np.exp(-1j * m * alpha) * (forces[:, high] @ rotation(alpha))
    forces[:, high] = 0.0
    return forces


def _solved(
    factor: tuple[ComplexArray | FloatArray, bool], f: ComplexArray
) -> ComplexArray:
    """Solution of the ring's system, real or Hermitian, from its factor."""
    if np.iscomplexobj(factor[0]):
        return np.asarray(cho_solve(factor, f, check_finite=False))
    both = cho_solve(factor, np.hstack([f.real, f.imag]), check_finite=False)
    n = f.shape[1]
    return np.asarray(both[:, :n] + 1j * both[:, n:])
