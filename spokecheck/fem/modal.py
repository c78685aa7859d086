"""Natural frequencies and modes of a supported or free body.

``K x = omega^2 M x`` by shift and invert: the frontal factor of ``K - sigma M``, with
the border of rigid parts, is the inverse operator of an iteration for the lowest
pairs.
A body that can move rigidly gets a small negative shift, and its rigid motions come out
as modes of frequency zero.

References
----------
Lehoucq, Sorensen, Yang, ARPACK Users' Guide, 1998, sec. 4.5 (from memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import LinearOperator, eigsh

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import mass_blocks
from spokecheck.fem.block_sparse import BlockSparse
from spokecheck.fem.body import Body
from spokecheck.fem.constraints import rigid_motions
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import Supports
from spokecheck.fem.restraint import gather_restraint
from spokecheck.fem.sector import Border, SupportedFactor
from spokecheck.fem.stiffness import Stiffness, make_stiffness, renumbered
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
    mesh: Mesh,
    material: Material,
    supports: Sequence[AnySupport],
    count: int = 6,
    zones: Mapping[str, Material] | None = None,
) -> Modes:
    """Lowest natural modes of a whole body.

    Parameters
    ----------
    mesh : Mesh
        The body.
    material : Material
        With a positive density [t/mm^3].
    supports : sequence of AnySupport
        Held points, whose prescribed values are taken as zero; foundations, whose
        springs count; rigid parts, whose points keep the mesh's own mass and move as
        one.
    count : int
        Number of modes.
    zones : mapping of str to Material, optional
        Other materials by zone name, each with a positive density.

    Returns
    -------
    Modes

    Raises
    ------
    ModelError
        If a density is not positive, or more modes are asked for than there are.
    """
    body = Body(mesh, material, zones or {})
    for part in (material, *body.zones.values()):
        if not part.rho > 0.0:
            raise ModelError(
                f"rho = {part.rho:g} t/mm^3: modes need a positive density; give it"
            )
    restraint = gather_restraint(mesh, supports)
    expand = _expansion(mesh, restraint.supports)
    n_free = expand.shape[1]
    if not 1 <= count < n_free - 1:
        raise ModelError(f"count = {count}: must be 1 to {n_free - 2} modes")
    K = make_stiffness(mesh, body.cyclic, body.elastic.lame)
    if restraint.supports.springs is not None:
        K = K.with_springs(restraint.supports.springs)
    M = mass_blocks(renumbered(mesh, K.dissection), cell_densities(body))
    is_free = bool(restraint.free_motions(mesh.points, Cyclic()))
    shift = _free_shift(K.pairs, M) if is_free else 0.0
    # K and M have the same pairs of points, so the shift is taken block by block
    shifted = replace(K.pairs, blocks=K.pairs.blocks - shift * M.blocks)
    supported = Stiffness(shifted, K.dissection)
    inverse = _inverse(mesh, supported, restraint.supports, expand)
    # the mass, back in the mesh's numbering and reduced to the independent unknowns
    dofs = (3 * K.dissection.position[:, None] + np.arange(3)).ravel()
    mass = sp.csr_array(expand.T @ M.full()[dofs][:, dofs] @ expand)
    squares, vectors = _lowest(inverse, mass, shift, count)
    shapes = (expand @ vectors).T.reshape(count, mesh.n_points, 3)
    frequencies = np.sqrt(np.maximum(squares, 0.0)) / (2.0 * np.pi)
    return Modes(mesh, frequencies, np.asarray(shapes))


def _free_shift(K: BlockSparse, M: BlockSparse) -> float:
    """Small negative shift [1/s^2] for a body that can move rigidly."""
    diagonal = K.earlier == K.later
    traces = [np.trace(A.blocks[diagonal].sum(axis=0)) for A in (K, M)]
    return -FREE_SHIFT * float(traces[0] / traces[1])


def cell_densities(body: Body) -> FloatArray:
    """Density [t/mm^3] of every cell."""
    rho = np.full(body.mesh.n_cells, body.material.rho)
    for name, other in body.zones.items():
        rho[body.mesh.zones[name]] = other.rho
    return rho


def _expansion(mesh: Mesh, supports: Supports) -> sp.csr_array:
    """Matrix (3 n_points, n_free) from independent unknowns to displacements.

    Free components in the points' own frames come first, then the amplitudes of the
    six motions of each rigid part.
    """
    n = mesh.n_points
    free = ~supports.held
    frames = supports.frames
    if frames is None:
        frames = np.tile(np.eye(3), (n, 1, 1))
    free[supports.coupled] = False
    turn = sp.bsr_array((frames, np.arange(n), np.arange(n + 1)))
    columns = sp.csr_array(turn.tocsr()[:, np.flatnonzero(free.ravel())])
    if not supports.couplings:
        return columns
    motions = _rigid_fields(mesh, supports).reshape(-1, 3 * n).T
    return sp.csr_array(sp.hstack([columns, sp.csr_array(motions)]))


def _rigid_fields(mesh: Mesh, supports: Supports) -> FloatArray:
    """Motions (6 n_parts, n_points, 3) of the rigid parts, zero at other points."""
    fields = np.zeros((len(supports.couplings), 6, mesh.n_points, 3))
    for field, coupling in zip(fields, supports.couplings, strict=True):
        arms = mesh.points[coupling.nodes] - coupling.centre
        field[:, coupling.nodes] = rigid_motions(arms).transpose(2, 0, 1)
    return fields.reshape(-1, mesh.n_points, 3)


def _inverse(
    mesh: Mesh, shifted: Stiffness, supports: Supports, expand: sp.csr_array
) -> LinearOperator:
    """Inverse of K - sigma M on the independent unknowns, by the frontal factor."""
    factor = SupportedFactor(shifted, Cyclic(), supports)
    n_free = expand.shape[1]

    def respond(forces: FloatArray) -> FloatArray:
        sides = forces.reshape(-1, mesh.n_points, 3).astype(complex)
        return np.asarray(factor.solve(sides, np.zeros(len(sides), dtype=int)).real)

    if not supports.couplings:

        def solve(b: FloatArray) -> FloatArray:
            return np.asarray(expand.T @ respond(expand @ b.ravel()).ravel())

    else:
        # six unknowns of each rigid part are a border of the factor
        motions = _rigid_fields(mesh, supports).astype(complex)
        pulled = shifted.times(motions)
        border = Border(motions, pulled, respond(pulled.real).astype(complex))
        n_within = n_free - len(motions)
        within = expand[:, :n_within]

        def solve(b: FloatArray) -> FloatArray:
            flat = b.ravel()
            answer = respond(within @ flat[:n_within])[0].astype(complex)
            field, amplitudes = border.solve(flat[n_within:].astype(complex), answer)
            free = within.T @ field.real.ravel()
            return np.concatenate([free, amplitudes.real])

    return LinearOperator((n_free, n_free), matvec=solve, dtype=float)


def _lowest(
    inverse: LinearOperator, mass: sp.csr_array, shift: float, count: int
) -> tuple[FloatArray, FloatArray]:
    """Lowest eigenvalues [1/s^2] and vectors, rising."""
    start = np.random.default_rng(START).standard_normal(mass.shape[0])
    # with the inverse given, the iteration asks of the first matrix its shape alone
    squares, vectors = eigsh(
        mass, k=count, M=mass, sigma=shift, OPinv=inverse, v0=start, which="LM"
    )
    order = np.argsort(squares)
    return np.asarray(squares[order]), np.asarray(vectors[:, order])
