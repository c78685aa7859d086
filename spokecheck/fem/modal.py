"""Natural frequencies and modes of a supported or free body.

``K x = omega^2 M x`` by shift and invert: the Cholesky factor of ``K - sigma M`` drives
an iteration for the lowest pairs.
A body that can move rigidly gets a small negative shift, and its rigid motions come out
as modes of frequency zero.

References
----------
Lehoucq, Sorensen, Yang, ARPACK Users' Guide, 1998, sec. 4.5 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import LinearOperator, eigsh

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import assemble_mass, assemble_stiffness
from spokecheck.fem.constraints import free_motions, gather_constraints
from spokecheck.fem.elasticity import Material
from spokecheck.fem.factor import Factor
from spokecheck.fem.supports import AnySupport
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

FREE_SHIFT = 1.0e-9
"""Shift of a free body over the ratio of the traces of K and M: far below its first
elastic frequency, far above rounding."""

START = 20250301
"""Seed of the iteration's first vector, so that runs repeat."""


@dataclass(frozen=True)
class Modes:
    """Natural modes of a body.

    Attributes
    ----------
    mesh : Mesh
        The body.
    frequencies : ndarray (n_modes,)
        Natural frequencies [Hz], rising.
    shapes : ndarray (n_modes, n_points, 3)
        Mode shapes, of unit modal mass [1/sqrt(t)].
    """

    mesh: Mesh
    frequencies: FloatArray
    shapes: FloatArray


def solve_modes(
    mesh: Mesh, material: Material, supports: Sequence[AnySupport], count: int = 6
) -> Modes:
    """Lowest natural modes of a body.

    Parameters
    ----------
    mesh : Mesh
        The body.
    material : Material
        With a positive density [t/mm^3].
    supports : sequence of AnySupport
        Held points; prescribed values are taken as zero.
    count : int
        Number of modes.

    Returns
    -------
    Modes

    Raises
    ------
    ModelError
        If the density is not positive, or more modes are asked for than there are.

    Notes
    -----
    Rigid parts and foundations are passed over.
    """
    if not material.rho > 0.0:
        raise ModelError(
            f"rho = {material.rho:g} t/mm^3: modes need a positive density; give it"
        )
    constraints = gather_constraints(mesh, supports)
    n = mesh.n_points
    turn = sp.bsr_array((constraints.frames, np.arange(n), np.arange(n + 1)))
    free = np.flatnonzero(~constraints.held.ravel())
    if not 1 <= count < len(free) - 1:
        raise ModelError(f"count = {count}: must be 1 to {len(free) - 2} modes")
    T = sp.csr_array(turn.tocsr()[:, free])
    K = sp.csr_array(T.T @ assemble_stiffness(mesh, material) @ T)
    M = sp.csr_array(T.T @ assemble_mass(mesh, material) @ T)
    shift = 0.0
    if free_motions(mesh.points, constraints.resistance):
        shift = -FREE_SHIFT * float(K.diagonal().sum() / M.diagonal().sum())
    squares, vectors = _lowest(K, M, shift, count)
    shapes = (T @ vectors).T.reshape(count, n, 3)
    frequencies = np.sqrt(np.maximum(squares, 0.0)) / (2.0 * np.pi)
    return Modes(mesh, frequencies, np.asarray(shapes))


def _lowest(
    K: sp.csr_array, M: sp.csr_array, shift: float, count: int
) -> tuple[FloatArray, FloatArray]:
    """Lowest eigenvalues [1/s^2] and vectors, rising."""
    factor = Factor(sp.csc_array(sp.tril(K - shift * M, format="csc")))

    def inverse(b: FloatArray) -> FloatArray:
        return np.array(factor.solve(b.reshape(-1, 1).astype(complex)).real.ravel())

    operator = LinearOperator(K.shape, matvec=inverse, dtype=float)
    start = np.random.default_rng(START).standard_normal(K.shape[0])
    squares, vectors = eigsh(
        K, k=count, M=M, sigma=shift, OPinv=operator, v0=start, which="LM"
    )
    order = np.argsort(squares)
    return np.asarray(squares[order]), np.asarray(vectors[:, order])
