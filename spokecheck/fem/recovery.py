"""Nodal stress by patch recovery, as one sparse matrix of weights.

Around each corner point a polynomial is fitted, by least squares, to the stress at the
integration points of the cells that meet there; its value at the corner is the
recovered stress, and a mid-side point takes the mean of its two corners' polynomials.
The weights depend on the mesh only, so one product recovers all fields at once.
Where the elastic constants change, stress may jump: no patch reaches across.

References
----------
Zienkiewicz, Zhu, The superconvergent patch recovery and a posteriori error estimates,
Int. J. Numer. Methods Eng. 33 (1992) 1331-1364 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp

from spokecheck.fem.assembly import chunks
from spokecheck.fem.cyclic import Cyclic, stress_rotation
from spokecheck.fem.ghosts import Ghosts, MirrorPlane, patch_cells
from spokecheck.mesh.record import TET_EDGES
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray

QUADRATIC_CELLS = 10
"""Cells a patch needs for the quadratic fit; eight around a face can be too regular.
Smaller patches, at the edges of a body, are widened by the cells around them; one that
is still smaller, in a tiny mesh, is fitted linearly."""

ENTRIES = 16384
"""Samples weighted at a time: 5 MB of monomials, which stay near the processor."""

RANK_TOLERANCE = 1e-7
"""Relative size below which a quadratic direction of the normal matrix counts as
unseen; constant and linear stress come back exactly whatever is left out."""


@dataclass(frozen=True)
class Recovery:
    """From stress at integration points to stress at points.

    Attributes
    ----------
    weights : csr_array (n_points, 4 (n_cells + n_ghosts))
        Weight of every sample in the recovered value.
    ghosts : tuple of Ghosts
        Images of cells beyond the cuts, which complete the patches there.
    cyclic : Cyclic
        Symmetry of the sector.
    """

    weights: sp.csr_array
    ghosts: tuple[Ghosts, ...]
    cyclic: Cyclic

    def nodal(self, stress: ComplexArray, orders: IntArray) -> ComplexArray:
        """Recovered stress at the points.

        Parameters
        ----------
        stress : ndarray (n_orders, n_cells, 4, 6)
            Stress at the four-point rule's points [MPa].
        orders : ndarray (n_orders,)
            Fourier order of each field; zeros for a whole body.

        Returns
        -------
        ndarray (n_orders, n_points, 6)
            Recovered stress [MPa].
        """
        n_orders = len(stress)
        # ghosts carry the sector's stress, turned and with the phase of their image
        samples = [stress.reshape(n_orders, -1, 6)]
        for ghosts in self.ghosts:
            T = ghosts.sign * stress_rotation(ghosts.turn)
            angle = ghosts.sense * self.cyclic.alpha
            phase = np.exp(1j * orders * angle)[:, None, None]
            ghost = stress[:, ghosts.cells].reshape(n_orders, -1, 6) @ T.T
            samples.append(phase * ghost)
        flat = np.concatenate(samples, axis=1, dtype=complex).transpose(1, 0, 2)
        flat = flat.reshape(len(flat), -1)
        nodal = (self.weights @ flat.view(float)).view(complex)
        return np.ascontiguousarray(nodal.reshape(-1, n_orders, 6).transpose(1, 0, 2))

    def only(self, marked: BoolArray) -> "Recovery":
        """The same at the marked points (n_points,) alone; zeros at all others."""
        kept = sp.diags_array(marked.astype(float), format="csr")
        kept.eliminate_zeros()
        return replace(self, weights=sp.csr_array(kept @ self.weights))


def patch_recovery(
    points: FloatArray,
    cells: IntArray,
    cyclic: Cyclic | None = None,
    groups: IntArray | None = None,
    mirrors: Sequence[MirrorPlane] = (),
) -> Recovery:
    """Weights of the patch recovery for a mesh.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    cyclic : Cyclic, optional
        Symmetry of a sector.
    groups : ndarray (n_cells,) of int, optional
        Material of each cell, numbered from 0.  A point between two materials is
        counted to the lower number, and its value is that of the stress on that side;
        on the other side the error estimate then sees the jump, and errs upward.
    mirrors : sequence of MirrorPlane, optional
        Planes of symmetry or antisymmetry, beyond which the body goes on.

    Returns
    -------
    Recovery
    """
    cyclic = cyclic or Cyclic()
    corners, samples, ghosts = patch_cells(points, cells, cyclic, mirrors)
    n_points = len(points)
    # 1. patches: the cells that meet at each corner, of the point's own material
    owner, member = _incidence(corners, n_points)
    point_group = np.zeros(n_points, dtype=np.int64)
    if groups is not None:
        point_group = _point_groups(cells, groups, n_points, cyclic)
        cell_group = np.concatenate([groups, *(groups[g.cells] for g in ghosts)])
        kept = cell_group[member] == point_group[owner]
        owner, member = owner[kept], member[kept]
    # 2. monomials p(x) at the samples, x from the corner, scaled by the patch's size
    x = samples[member] - points[owner][:, None, :]
    scale = _patch_size(owner, x, n_points)
    basis = _basis(x / scale[owner][:, None, None])
    count = np.bincount(owner, minlength=n_points)
    basis[count[owner] < QUADRATIC_CELLS, :, 4:] = 0.0
    # 3. least squares: a = A^-1 sum_q p(x_q) s_q with A = sum_q p p^T
    C = _coefficients(owner, basis, n_points)
    # 4. value at the corner, x = 0: the first coefficient
    at_corner = np.matmul(basis, C[owner][:, 0, :, None])[..., 0]
    columns = 4 * member[:, None] + np.arange(4)
    shape = (n_points, 4 * len(corners))
    W = _row_by_row(owner, columns, at_corner, shape)
    # 5. mid-side points: the mean of both ends' polynomials there
    patch = (owner, basis, columns)
    W = W + _mid_side_weights(points, cells, scale, C, patch, shape, point_group)
    return Recovery(sp.csr_array(W), ghosts, cyclic)


def _point_groups(
    cells: IntArray, groups: IntArray, n_points: int, cyclic: Cyclic
) -> IntArray:
    """Material (n_points,) each point is counted to, alike on both cuts."""
    lowest = np.full(n_points, groups.max())
    np.minimum.at(lowest, cells, groups[:, None])
    pair = lowest[cyclic.pairs].min(axis=1, initial=groups.max())
    lowest[cyclic.pairs] = pair[:, None]
    return lowest


def _incidence(corners: IntArray, n_points: int) -> tuple[IntArray, IntArray]:
    """Pairs (corner point, cell of its patch), sorted by point."""
    # touch[point, cell] = 1: usual patches are its rows
    cell = np.repeat(np.arange(len(corners)), 4)
    entries = (np.ones(corners.size, dtype=np.int64), (corners.ravel(), cell))
    shape = (max(n_points, int(corners.max()) + 1), len(corners))
    touch = sp.csr_array(sp.coo_array(entries, shape=shape))
    count = np.diff(touch.indptr)[:n_points]
    small = np.flatnonzero((count > 0) & (count < QUADRATIC_CELLS))
    # small ones take all cells that touch a cell of theirs
    wide = sp.coo_array(touch[small] @ touch.T @ touch)
    usual = sp.coo_array(touch[:n_points])
    kept = ~np.isin(usual.coords[0], small)
    owner = np.concatenate([usual.coords[0][kept], small[wide.coords[0]]])
    member = np.concatenate([usual.coords[1][kept], wide.coords[1]])
    order = np.lexsort((member, owner))
    return owner[order].astype(np.int64), member[order].astype(np.int64)


def _patch_size(owner: IntArray, x: FloatArray, n_points: int) -> FloatArray:
    """Largest sample distance in each patch [mm]; 1 where there is no patch."""
    size = np.zeros(n_points)
    np.maximum.at(size, owner, np.linalg.norm(x, axis=2).max(axis=1))
    size[size == 0.0] = 1.0
    return size


def _basis(x: FloatArray) -> FloatArray:
    """Quadratic monomials (..., 10) of coordinates (..., 3), linear ones first."""
    a, b, c = x[..., 0], x[..., 1], x[..., 2]
    one = np.ones_like(a)
    return np.stack([one, a, b, c, a * a, b * b, c * c, a * b, b * c, c * a], axis=-1)


def _coefficients(owner: IntArray, basis: FloatArray, n_points: int) -> FloatArray:
    """Generalised inverse (n_points, 10, 10) of each patch's normal matrix.

    The quadratic terms are fitted to what the linear ones leave, by blocks:
    ``S = A22 - A21 A11^-1 A12`` and its pseudo-inverse.
    """
    # A = sum_q p p^T over each patch, whose cells follow each other
    normal = np.matmul(basis.transpose(0, 2, 1), basis)
    starts = np.flatnonzero(np.r_[True, owner[1:] != owner[:-1]])
    used = owner[starts]
    A = np.add.reduceat(normal, starts, axis=0)
    # A11^-1, and the Schur complement S of the quadratic terms with its inverse P
    linear = np.linalg.inv(A[:, :4, :4])
    L = np.matmul(A[:, 4:, :4], linear)
    S = A[:, 4:, 4:] - np.matmul(L, A[:, :4, 4:])
    P = np.linalg.pinv(S, rcond=RANK_TOLERANCE, hermitian=True)
    PL = np.matmul(P, L)
    # C = [A11^-1 + L^T P L, -L^T P; -P L, P] with L = A21 A11^-1
    C = np.zeros((n_points, 10, 10))
    C[used, :4, :4] = linear + np.matmul(L.transpose(0, 2, 1), PL)
    C[used, 4:, :4] = -PL
    C[used, :4, 4:] = -PL.transpose(0, 2, 1)
    C[used, 4:, 4:] = P
    return C


def _mid_side_weights(
    points: FloatArray,
    cells: IntArray,
    scale: FloatArray,
    C: FloatArray,
    patch: tuple[IntArray, FloatArray, IntArray],
    shape: tuple[int, int],
    point_group: IntArray,
) -> sp.csr_array:
    """Weights of the mid-side points: half of each end's polynomial.

    An end that is counted to another material than the mid-side point has no say,
    unless both are.
    """
    owner, basis, columns = patch
    # the two ends of each edge, once for each mid-side point
    ends = cells[:, TET_EDGES].reshape(-1, 2)
    mids, first = np.unique(cells[:, 4:].ravel(), return_index=True)
    ends = ends[first]
    first_of = np.searchsorted(owner, np.arange(len(points)))
    count = np.bincount(owner, minlength=len(points))
    # each end's share: those of the mid-side point's own material, else both
    counts = point_group[ends] == point_group[mids][:, None]
    counts |= ~counts.any(axis=1, keepdims=True)
    share = counts / counts.sum(axis=1, keepdims=True)
    parts = []
    for side in (0, 1):
        end = ends[:, side]
        # p(x) A^-1 of the end's patch, at the mid-side point
        x = (points[mids] - points[end]) / scale[end][:, None]
        coefficient = np.matmul(_basis(x)[:, None, :], C[end])[:, 0]
        coefficient *= share[:, side, None]
        # times the monomials of every sample of that patch
        length = count[end]
        which = np.repeat(np.arange(len(mids)), length)
        entry = np.repeat(first_of[end] - np.cumsum(length) + length, length)
        entry = entry + np.arange(len(which))
        values = np.empty((len(which), 4))
        for part in chunks(len(which), ENTRIES):
            values[part] = np.matmul(
                basis[entry[part]], coefficient[which[part], :, None]
            )[..., 0]
        parts.append(_row_by_row(mids[which], columns[entry], values, shape))
    return sp.csr_array(parts[0] + parts[1])


def _row_by_row(
    rows: IntArray, columns: IntArray, values: FloatArray, shape: tuple[int, int]
) -> sp.csr_array:
    """Sparse matrix of entries (n, 4) that come sorted, four to each of ``rows``."""
    starts = np.zeros(shape[0] + 1, dtype=np.int64)
    np.cumsum(4 * np.bincount(rows, minlength=shape[0]), out=starts[1:])
    return sp.csr_array((values.ravel(), columns.ravel(), starts), shape=shape)
