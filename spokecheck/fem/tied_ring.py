"""One sector with its cuts tied and condensed onto its share of a ring, by residue.

Equations and frames are those of ``ring``: c are the points of the low cut, r those of
the ring, and the ring's points on the high cut belong to the next sector's first strip.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from spokecheck.fem.cuts import (
    at_phase,
    both_in,
    columns_in,
    dense_factor,
    into_space,
    rows_in,
)
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.fronts import FrontalFactor
from spokecheck.fem.joined import JoinedPart
from spokecheck.fem.stiffness import Stiffness
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class _Phase:
    """One residue: L_cc, ``X = L_cc^-1 H_cr``, and ``S = H_rr - X^H X``."""

    L: ComplexArray
    X: ComplexArray
    S: ComplexArray


class TiedRing:
    """The small dense systems that are left of a sector at its cuts and ring.

    Parameters
    ----------
    part : JoinedPart
        The sector, and the strip of the ring at its low cut.
    stiffness : Stiffness
        Its own; points of cuts and ring are retained.
    free : ndarray (n_points, 3) of bool
        Components that are free, on both cuts alike.

    Attributes
    ----------
    factor : FrontalFactor
        Of all but cuts and ring.
    free : ndarray (3 n_points,) of bool
        What takes part in it, in the order of elimination.
    ring_free : ndarray (n_ring,) of bool
        Free components of the ring, strip by strip; the others stay in all vectors,
        as zeros.
    """

    def __init__(self, part: JoinedPart, stiffness: Stiffness, free: BoolArray) -> None:
        sector, position = part.sector, stiffness.dissection.position
        self._cyclic, self._position = sector.cyclic, position
        low, high = sector.cyclic.pairs.T
        ring = sector.ring.ravel()
        # cuts and ring stay free in the frontal factor
        freed = free.copy()
        freed[low] = freed[high] = freed[ring] = True
        in_order = np.empty_like(freed)
        in_order[position] = freed
        self.free = in_order.ravel()
        self.factor = FrontalFactor(stiffness.pairs, stiffness.dissection, self.free)
        # what is left once the high cut follows: the low cut, then the ring
        border = np.isin(low, ring)
        still = np.concatenate([low[~border], ring])
        place = np.full(len(position), -1)
        place[still] = np.arange(len(still))
        images = place[low]
        self._n_cut = 3 * int((~border).sum())
        self._still_free = free[still].ravel()
        self.ring_free = self._still_free[self._n_cut :]
        self._still, self._high = (self._rows(of) for of in (still, high))
        self._images = (3 * images[:, None] + np.arange(3)).ravel()
        # cuts are counted in x, y, z, strips of the ring in frames of their own
        self._frames = np.tile(np.eye(3), (len(still), 1, 1))
        n_strips, n_each = sector.ring.shape
        for strip in range(n_strips):
            start = len(still) - len(ring) + strip * n_each
            R = rotation((part.first + strip) * 2.0 * np.pi / sector.strips)
            self._frames[start : start + n_each] = R
        self._turned = rotation(sector.cyclic.alpha) @ self._frames[images]
        self._constant, self._across = self._tied(self.factor.take_schur())
        self._phases: dict[int, _Phase] = {}

    def _rows(self, points: IntArray) -> IntArray:
        """Rows of points in the frontal factor's Schur complement."""
        first = np.searchsorted(self.factor.retained, 3 * self._position[points])
        return np.asarray((first[:, None] + np.arange(3)).ravel())

    def _tied(self, S: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Matrix without a phase, and the one it multiplies; see ``cuts``."""
        still, high, at = self._still, self._high, self._images
        within = both_in(S[np.ix_(still, still)], self._frames)
        within[np.ix_(at, at)] += both_in(S[np.ix_(high, high)], self._turned)
        across = np.zeros_like(within)
        from_high = rows_in(S[np.ix_(still, high)], self._frames)
        across[:, at] = columns_in(from_high, self._turned)
        # components that are not free are zero: they drop out
        fixed = ~self._still_free
        for matrix in (within, across):
            matrix[fixed] = matrix[:, fixed] = 0.0
        within[fixed, fixed] = 1.0
        return within, across

    def _phase(self, k: int) -> tuple[_Phase, bool]:
        """The systems of a residue, and whether to take their conjugates."""
        residue, conjugate = self._cyclic.phase_class(k)
        if residue not in self._phases:
            angle, n = residue * self._cyclic.alpha, self._n_cut
            H = at_phase(self._constant, self._across, angle)
            L, _ = dense_factor(H[:n, :n].copy())
            X = solve_triangular(L, H[:n, n:], lower=True, check_finite=False)
            S = H[n:, n:] - X.conj().T @ X
            self._phases[residue] = _Phase(L, X, S)
        return self._phases[residue], conjugate

    def schur(self, k: int) -> ComplexArray:
        """S (n_ring, n_ring) of a residue k, in the frames of the strips."""
        phase, conjugate = self._phase(k)
        return phase.S.conj() if conjugate else phase.S

    def condense(
        self, columns: FloatArray, k: int
    ) -> tuple[ComplexArray, ComplexArray]:
        """Eliminate the cut from right-hand sides of one residue.

        Parameters
        ----------
        columns : ndarray (3 n_points, 2 n_sides)
            As the frontal factor's forward substitution leaves them.
        k : int
            Residue.

        Returns
        -------
        cut : ndarray (n_cut, n_sides)
            ``L^-1 f_c``, for ``expand``.
        ring : ndarray (n_ring, n_sides)
            Forces r that are left on the ring.
        """
        phase, conjugate = self._phase(k)
        n = columns.shape[1] // 2
        left = columns[self.factor.retained]
        left = left[:, :n] + 1j * left[:, n:]
        # f_l + conj(p) R^T f_h
        sides = rows_in(left[self._still], self._frames)
        p = np.exp(1j * k * self._cyclic.alpha)
        sides[self._images] += p.conj() * rows_in(left[self._high], self._turned)
        sides[~self._still_free] = 0.0
        if conjugate:
            sides = sides.conj()
        own, n = sides[: self._n_cut], self._n_cut
        cut = solve_triangular(phase.L, own, lower=True, check_finite=False)
        ring = sides[n:] - phase.X.conj().T @ cut
        return cut, ring.conj() if conjugate else ring

    def expand(
        self, ring: ComplexArray, cut: ComplexArray | None, k: int
    ) -> ComplexArray:
        """Displacements of cuts and ring from those of the ring.

        Parameters
        ----------
        ring : ndarray (n_ring, n_sides)
        cut : ndarray (n_cut, n_sides) or None
            From ``condense``; None without forces.
        k : int
            Residue.

        Returns
        -------
        ndarray (n_retained, n_sides)
            For the frontal factor's backward substitution.
        """
        phase, conjugate = self._phase(k)
        # u_c = L^-H (L^-1 f_c - X u_r)
        right = -phase.X @ (ring.conj() if conjugate else ring)
        if cut is not None:
            right += cut
        u_cut = solve_triangular(
            phase.L, right, lower=True, trans="C", check_finite=False
        )
        still = np.vstack([u_cut.conj() if conjugate else u_cut, ring])
        u = np.empty((len(self.factor.retained), still.shape[1]), dtype=complex)
        u[self._still] = into_space(still, self._frames)
        # u_h = p R u_l
        p = np.exp(1j * k * self._cyclic.alpha)
        u[self._high] = p * into_space(still[self._images], self._turned)
        return u
