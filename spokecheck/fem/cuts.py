"""The two cuts of a sector tied together, order by order.

``S`` is the Schur complement at the cuts while they are open, low (l) and high (h).
In order m the high cut follows the low one, ``u_h = p R u_l`` with
``p = exp(i m alpha)``; virtual work on the low cut then gives the Hermitian matrix

    H(m) = S_ll + R^T S_hh R + p S_lh R + conj(p) (S_lh R)^T

which is real but for the last two terms, and the right-hand side
``f_l + conj(p) R^T f_h``.
Orders of equal residue modulo N have the same H, those of opposite residues conjugate
ones.

References
----------
Thomas, Dynamics of rotationally periodic structures, Int. J. Numer. Methods Eng. 14
(1979) 81-102 (from memory).
"""

from typing import TypeVar, cast

import numpy as np
from scipy.linalg import LinAlgError, cho_factor, cho_solve

from spokecheck.errors import ModelError
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.fem.fronts import SMALLEST_PIVOT, FrontalFactor
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray

Values = TypeVar("Values", FloatArray, ComplexArray)


class TiedCuts:
    """The small dense systems that are left of a sector at its cuts.

    Parameters
    ----------
    factor : FrontalFactor
        Of the sector with its cuts open; all degrees of freedom there are free.
    pairs : ndarray (n_pairs, 2)
        Low and high points, numbered in the order of elimination.
    free : ndarray (3 n_pairs,) of bool
        Free components of the low cut, in ``frames``.
    frames : ndarray (n_pairs, 3, 3)
        Own frames of the low cut's points.
    cyclic : Cyclic
        Symmetry.
    """

    def __init__(
        self,
        factor: FrontalFactor,
        pairs: IntArray,
        free: BoolArray,
        frames: FloatArray,
        cyclic: Cyclic,
    ) -> None:
        rows = np.searchsorted(factor.retained, 3 * pairs)
        self._low, self._high = (
            (rows[:, side, None] + np.arange(3)).ravel() for side in (0, 1)
        )
        self._free, self._frames, self._cyclic = free, frames, cyclic
        # high points count in the low ones' frames, turned by one sector
        self._turned = rotation(cyclic.alpha) @ frames
        low, high, S = self._low, self._high, factor.schur
        # S_lh R, and S_ll + R^T S_hh R, all in the low points' frames
        across = columns_in(rows_in(S[np.ix_(low, high)], frames), self._turned)
        within = both_in(S[np.ix_(high, high)], self._turned)
        within += both_in(S[np.ix_(low, low)], frames)
        keep = np.ix_(free, free)
        self._constant, self._across = within[keep], across[keep]
        self._factors: dict[int, tuple[ComplexArray, bool]] = {}

    def solve(self, left: ComplexArray, orders: IntArray) -> ComplexArray:
        """Displacements of the retained points from what is left of right-hand sides.

        Parameters
        ----------
        left : ndarray (n_retained, n_sides)
            Forces [N] that elimination left on both cuts.
        orders : ndarray (n_sides,)
            Order of each.

        Returns
        -------
        ndarray (n_retained, n_sides)
        """
        phase = np.exp(1j * orders * self._cyclic.alpha)
        # f_l + conj(p) R^T f_h
        sides = rows_in(left[self._low], self._frames)
        sides += phase.conj() * rows_in(left[self._high], self._turned)
        # orders of a mirrored residue: solve the conjugate system, and conjugate
        classes = [self._cyclic.phase_class(int(m)) for m in orders]
        mirrored = np.array([conjugate for _, conjugate in classes])
        sides[:, mirrored] = sides[:, mirrored].conj()
        residues = np.array([residue for residue, _ in classes])
        u_low = np.zeros_like(sides)
        for residue in np.unique(residues):
            columns = np.ix_(self._free, np.flatnonzero(residues == residue))
            cholesky = self._factor(int(residue))
            u_low[columns] = cho_solve(cholesky, sides[columns], check_finite=False)
        u_low[:, mirrored] = u_low[:, mirrored].conj()
        # u_h = p R u_l
        u = np.zeros_like(left)
        u[self._low] = into_space(u_low, self._frames)
        u[self._high] = phase * into_space(u_low, self._turned)
        return u

    def _factor(self, residue: int) -> tuple[ComplexArray, bool]:
        """Cholesky factor of H for the orders of one residue, kept for later sides."""
        if residue not in self._factors:
            H = at_phase(self._constant, self._across, residue * self._cyclic.alpha)
            self._factors[residue] = dense_factor(H)
        return self._factors[residue]


def at_phase(constant: FloatArray, across: FloatArray, angle: float) -> ComplexArray:
    """Hermitian matrix H of one phase ``exp(i angle)``, real where the sine is zero.

    Parameters
    ----------
    constant : ndarray (n, n)
        Symmetric part without a phase, ``S_ll + R^T S_hh R`` of the module's docstring.
    across : ndarray (n, n)
        ``S_lh R``, by which the phase multiplies.
    angle : float
        [rad].
    """
    real = np.cos(angle) * (across + across.T) + constant
    if abs(np.sin(angle)) <= 1e-12:
        return cast(ComplexArray, real)
    # column by column, as the factorization wants it: no copy is made there
    H = np.empty(constant.shape, dtype=complex, order="F")
    H.real, H.imag = real, np.sin(angle) * (across - across.T)
    return H


def dense_factor(
    H: ComplexArray | FloatArray, where: str = "at the cuts"
) -> tuple[ComplexArray, bool]:
    """Cholesky factor of a dense Hermitian matrix, which is lost, for ``cho_solve``.

    Raises
    ------
    ModelError
        If the matrix is not positive definite; the message names ``where``.
    """
    stiff = H.diagonal().real.copy()
    try:
        factor, lower = cho_factor(H, True, overwrite_a=True, check_finite=False)
        fault = (factor.diagonal().real ** 2 < SMALLEST_PIVOT * stiff).any()
    except LinAlgError:
        fault = True
    if fault:
        raise ModelError(
            f"stiffness matrix not positive definite {where}: "
            "the part is free to move; hold it"
        )
    return factor, lower


def rows_in(values: Values, frames: FloatArray) -> Values:
    """Rows of values (3 n, n_columns) counted in frames (n, 3, 3): F^T v."""
    shaped = values.reshape(-1, 3, values.shape[1])
    turned = np.matmul(frames.transpose(0, 2, 1), shaped)
    return cast(Values, turned.reshape(values.shape))


def columns_in(block: FloatArray, frames: FloatArray) -> FloatArray:
    """Columns of a matrix (n_rows, 3 n) counted in frames (n, 3, 3): S F."""
    return np.ascontiguousarray(rows_in(np.ascontiguousarray(block.T), frames).T)


def both_in(block: FloatArray, frames: FloatArray) -> FloatArray:
    """Symmetric matrix (3 n, 3 n) counted in frames (n, 3, 3): F^T S F."""
    return rows_in(columns_in(block, frames), frames)


def into_space(values: ComplexArray, frames: FloatArray) -> ComplexArray:
    """Vectors (3 n, n_columns) back from frames (n, 3, 3): F v."""
    shaped = values.reshape(-1, 3, values.shape[1])
    return np.asarray(np.matmul(frames, shaped).reshape(values.shape))
