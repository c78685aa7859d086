"""Open folded cells with the least change of the surface.

Raising straight cells to second order bows the edges on curved surfaces alone, and a
cell behind them can fold.
Steps that leave the surface as it is come first: flat and folded surface cells are
peeled off, then edges inside the body are bowed as well.
Only a cell that stays folded gets straighter edges, which dents the surface: stress
beside such a dent would grow without limit as its cells are halved.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize

from spokecheck.errors import MeshError
from spokecheck.mesh.jacobian_bounds import (
    FROM_VALUES,
    LATTICE,
    bernstein_coefficients,
    cell_shapes,
    jacobian_ratios,
)
from spokecheck.mesh.peel import peel
from spokecheck.mesh.quality import (
    DEEP,
    LEAST_JACOBIAN,
    TIGHT,
    Dent,
    MeshQuality,
)
from spokecheck.mesh.record import TET_EDGES, Mesh, boundary_faces
from spokecheck.mesh.shapes import jacobians, tet_gradients
from spokecheck.units import BoolArray, FloatArray, IntArray

OPEN = 0.2
"""Jacobian, as a share of the cell's mean, up to which bowing goes on."""

STAY = 1.0e-3
"""Weight of a bow's change, against that of a Jacobian too small."""

STEPS = 300
"""Most steps of the bowing."""

GENTLE, SWEEPS = 12, 24
"""Sweeps that take a part of the bow, and sweeps in all: straightening one cell can
disturb a neighbour."""

LEFT = 0.8
"""Share of the bow that a gentle sweep leaves."""

SLIGHT_BOW = 0.02
"""Edges that bow less than this share of their length do not fold a cell; gentle sweeps
leave them alone, so that surfaces of large radius stay true."""


@dataclass(frozen=True)
class Unfolded:
    """A mesh without folded cells.

    Attributes
    ----------
    mesh : Mesh
    pairs : ndarray (n_pairs, 2)
        The pairs given, in the numbers of the new mesh.
    quality : MeshQuality
        Its shape, and what was done.
    """

    mesh: Mesh
    pairs: IntArray
    quality: MeshQuality


def unfold(mesh: Mesh, pairs: IntArray, flat: float) -> Unfolded:
    """Open all folded cells, and take off flat ones.

    Parameters
    ----------
    mesh : Mesh
        Second-order mesh whose whole boundary is named.
    pairs : ndarray (n_pairs, 2)
        Points that must stay images of each other.
    flat : float
        Radius ratio below which a cell is flat, see ``peel``.

    Returns
    -------
    Unfolded

    Raises
    ------
    MeshError
        If cells stay folded after ``SWEEPS`` sweeps.
    """
    peeled = peel(mesh, pairs, flat)
    mesh, quality = straightened(bowed(peeled.mesh), peeled.pairs)
    deviation = max(quality.deviation, peeled.deviation)
    quality = replace(quality, deviation=deviation, peeled=peeled.count)
    return Unfolded(mesh, peeled.pairs, quality)


def bowed(mesh: Mesh) -> Mesh:
    """Bow the inner edges of folded cells until these and their neighbours are open.

    Parameters
    ----------
    mesh : Mesh

    Returns
    -------
    Mesh
        Points of surfaces and interfaces are not moved.
    """
    free = np.zeros(mesh.n_points, dtype=bool)
    tight = jacobian_ratios(mesh.points, mesh.cells) < TIGHT
    free[mesh.cells[tight, 4:]] = True
    for faces in (boundary_faces(mesh.cells), *mesh.interfaces.values()):
        free[faces] = False
    if not free.any():
        return mesh
    cells = mesh.cells[free[mesh.cells].any(axis=1)]
    near = np.unique(cells)
    fit = _Fit(mesh.points[near], np.searchsorted(near, cells), free[near])
    optimum = minimize(
        fit, np.zeros(3 * int(free.sum())), jac=True, method="L-BFGS-B",
        options={"maxiter": STEPS},
    )  # fmt: skip
    points = mesh.points.copy()
    points[near] = fit.moved(optimum.x)
    return replace(mesh, points=points)


class _Fit:
    """Penalty of folded cells, as a function of the moves of their free points.

    Moves count in mean edge lengths.
    """

    def __init__(self, points: FloatArray, cells: IntArray, free: BoolArray) -> None:
        corners = points[cells[:, :4]]
        edges = corners[:, 1:] - corners[:, :1]
        self.points, self.cells, self.free = points, cells, free
        mean = bernstein_coefficients(points, cells).mean(axis=1)
        self.mean = np.maximum(mean, np.linalg.det(edges))[:, None]
        self.length = float(np.linalg.norm(edges, axis=2).mean())
        self.dN = tet_gradients(LATTICE)

    def moved(self, moves: FloatArray) -> FloatArray:
        """Points (n, 3) after moves (3 n_free,)."""
        points = self.points.copy()
        points[self.free] += self.length * moves.reshape(-1, 3)
        return points

    def __call__(self, moves: FloatArray) -> tuple[float, FloatArray]:
        """Sum of squares of what the Jacobians' coefficients lack, and its gradient."""
        # d det(J) = cofactor(J) : dJ, and dJ_ij = dN_a,j du_a,i
        J = jacobians(self.moved(moves), self.cells, self.dN)
        cofactor = np.cross(np.roll(J, -1, axis=3), np.roll(J, -2, axis=3), axis=2)
        det = (J[..., 0] * cofactor[..., 0]).sum(axis=2)
        lack = np.maximum(OPEN - det @ FROM_VALUES.T / self.mean, 0.0)
        weight = -2.0 * lack / self.mean @ FROM_VALUES
        slope = np.einsum("eq,eqij,qaj->eai", weight, cofactor, self.dN, optimize=True)
        gradient = np.zeros_like(self.points)
        np.add.at(gradient, self.cells, self.length * slope)
        value = float((lack**2).sum() + STAY * moves @ moves)
        return value, gradient[self.free].ravel() + 2.0 * STAY * moves


def straightened(mesh: Mesh, pairs: IntArray) -> tuple[Mesh, MeshQuality]:
    """Straighten the edges of folded cells as far as needed, and measure the dents.

    Parameters
    ----------
    mesh : Mesh
        Second-order mesh.
    pairs : ndarray (n_pairs, 2)
        Points that must stay images of each other; both are straightened.

    Returns
    -------
    mesh : Mesh
        Without folded cells.
    quality : MeshQuality
        Its shape, and what was done.

    Raises
    ------
    MeshError
        If cells stay folded after ``SWEEPS`` sweeps.
    """
    # 1. the two corners of every mid-side point, and its image on the other cut
    points, cells = mesh.points.copy(), mesh.cells
    touched = np.zeros(mesh.n_cells, dtype=bool)
    partner = np.arange(mesh.n_points)
    if len(pairs):
        partner[pairs[:, 0]], partner[pairs[:, 1]] = pairs[:, 1], pairs[:, 0]
    ends = np.zeros((mesh.n_points, 2), dtype=np.int64)
    ends[cells[:, 4:]] = cells[:, TET_EDGES]
    # 2. sweeps: leave a share of the bow first, none at last
    jacobian = jacobian_ratios(points, cells)
    bad = jacobian < LEAST_JACOBIAN
    for sweep in range(SWEEPS):
        if not bad.any():
            break
        touched |= bad
        mids = np.unique(cells[bad, 4:])
        mids = np.union1d(mids, partner[mids])
        mids = mids[ends[mids].any(axis=1)]
        middle = points[ends[mids]].mean(axis=1)
        length = np.linalg.norm(np.diff(points[ends[mids]], axis=1)[:, 0], axis=1)
        bow = np.linalg.norm(points[mids] - middle, axis=1) / length
        least, left = (SLIGHT_BOW, LEFT) if sweep < GENTLE else (0.0, 0.0)
        chosen = mids[bow > least]
        middle = middle[bow > least]
        points[chosen] = middle + left * (points[chosen] - middle)
        near = np.isin(cells[:, 4:], chosen).any(axis=1)
        jacobian[near] = jacobian_ratios(points, cells[near])
        bad = jacobian < LEAST_JACOBIAN
    if bad.any():
        raise MeshError(
            f"{int(bad.sum())} of {mesh.n_cells} cells stay folded after {SWEEPS} "
            "sweeps; mesh finer, or change the fillet that is tightest"
        )
    # 3. dents: how far the points of the surface moved
    outer = np.unique(boundary_faces(cells))
    moved = np.linalg.norm(points[outer] - mesh.points[outer], axis=1)
    edges = np.linalg.norm(np.diff(points[ends[outer]], axis=1)[:, 0], axis=1)
    dents = tuple(
        Dent(_triple(mesh.points[outer[k]]), float(moved[k]), float(edges[k]))
        for k in np.flatnonzero(moved > DEEP)
    )
    quality = MeshQuality(
        float(jacobian.min()),
        float(cell_shapes(points, cells).min()),
        int(touched.sum()),
        float(moved.max()),
        dents=dents,
    )
    return replace(mesh, points=points), quality


def _triple(point: FloatArray) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])
