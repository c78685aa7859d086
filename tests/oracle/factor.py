"""Sparse Cholesky factors, real or complex Hermitian: CHOLMOD by way of cvxopt.

Foreign errors are translated here and nowhere else.

References
----------
Chen, Davis, Hager, Rajamanickam, Algorithm 887: CHOLMOD, ACM Trans. Math. Softw. 35
(2008) 22.
"""

from typing import Any

import numpy as np
import scipy.sparse as sp
from cvxopt import cholmod, matrix, spmatrix

from spokecheck.errors import ModelError
from spokecheck.units import ComplexArray, IntArray


class Factor:
    """Cholesky factor of a Hermitian positive definite matrix.

    Parameters
    ----------
    lower : csc_array (n, n)
        Lower triangle, real or complex.
    order : ndarray (n,), optional
        Order of elimination; left to approximate minimum degree if not given.

    Raises
    ------
    ModelError
        If the matrix is not positive definite: a part is free to move, or a cell
        is inverted.
    """

    def __init__(self, lower: sp.csc_array, order: IntArray | None = None) -> None:
        self._complex = np.iscomplexobj(lower.data)
        A = _to_cvxopt(lower, "z" if self._complex else "d")
        given = {} if order is None else {"p": matrix(order)}
        self._symbolic: Any = cholmod.symbolic(A, uplo="L", **given)
        try:
            cholmod.numeric(A, self._symbolic)
        except ArithmeticError as failure:
            raise ModelError(
                "stiffness matrix not positive definite "
                f"(pivot {failure.args[0] if failure.args else '?'} of {A.size[0]}): "
                "the part is free to move, or a cell is inverted; hold it or remesh"
            ) from failure

    def solve(self, rhs: ComplexArray) -> ComplexArray:
        """Solve for right-hand sides (n, n_rhs); the result is complex."""
        if self._complex:
            return np.asarray(self._solve(rhs.T, "z"))
        both = self._solve(np.vstack([rhs.real.T, rhs.imag.T]), "d")
        n = rhs.shape[1]
        return np.asarray(both[:, :n] + 1j * both[:, n:])

    def _solve(self, rows: Any, code: str) -> Any:
        B = matrix(rows.T, tc=code)
        cholmod.solve(self._symbolic, B)
        return np.array(B)


def _to_cvxopt(lower: sp.csc_array, code: str) -> Any:
    """Sparse matrix in cvxopt's form."""
    lower.sort_indices()
    cols = np.repeat(np.arange(lower.shape[1]), np.diff(lower.indptr))
    return spmatrix(
        matrix(lower.data, tc=code),
        matrix(lower.indices.astype(np.int64)),
        matrix(cols),
        lower.shape,
        tc=code,
    )
