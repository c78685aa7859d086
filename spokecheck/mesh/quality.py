"""Shape of cells, and volume, mass and inertia of a body."""

from dataclasses import dataclass, replace

import numpy as np

from spokecheck.mesh.jacobian_bounds import cell_shapes, jacobian_ratios
from spokecheck.mesh.quadrature import conical_rule
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import invert, jacobians, tet_gradients, tet_values
from spokecheck.units import FloatArray, IntArray

LEAST_JACOBIAN = 0.02
"""Smallest admissible Jacobian of a cell, as a share of its largest."""

LEAST_SHAPE = 0.003
"""Least shape of a cell, see ``cell_shapes``: first meshes have 0.008 and more, and
three halvings brought that down to a seventh at worst (39 wheels); own choice."""

TIGHT = 0.1
"""Cells below this share are opened where that leaves the surface alone."""

DEEP = 0.1
"""Depth [mm] at which a place counts as dented."""


@dataclass(frozen=True)
class Dent:
    """A place where straightening an edge moved the surface.

    Attributes
    ----------
    place : tuple of float
        Where the surface was [mm].
    depth : float
        How far it was moved [mm].
    edge : float
        Length of the edge [mm].
    """

    place: tuple[float, float, float]
    depth: float
    edge: float


@dataclass(frozen=True)
class MeshQuality:
    """Shape of a mesh's cells.

    Attributes
    ----------
    least_jacobian : float
        Smallest Jacobian anywhere in a cell as a share of the cell's largest, by bounds
        of both; 1 for straight cells.
    least_shape : float
        Smallest of the cells' shapes, see ``cell_shapes``; 1 for the regular
        tetrahedron.
    straightened : int
        Cells whose edges had to be straightened.
    deviation : float
        Largest distance [mm] that the surface was moved.
    peeled : int
        Flat or folded cells that were taken off the surface, see ``peel``.
    dents : tuple of Dent
        Where the surface was moved by more than ``DEEP``.
    """

    least_jacobian: float
    least_shape: float
    straightened: int
    deviation: float
    peeled: int = 0
    dents: tuple[Dent, ...] = ()


def radius_ratios(points: FloatArray, cells: IntArray) -> FloatArray:
    """Radius ratio 3 r_in / r_out of the straight cells, (n_cells,).

    References
    ----------
    Liu, Joe, Relationship between tetrahedron shape measures, BIT 34 (1994) 268-287
    (from memory).
    """
    p = points[cells[:, :4]]
    a, b, c = (p[:, k] - p[:, 0] for k in (1, 2, 3))
    volume = np.abs(np.einsum("ei,ei->e", a, np.cross(b, c))) / 6.0
    area = sum(
        np.linalg.norm(np.cross(p[:, j] - p[:, i], p[:, k] - p[:, i]), axis=1) / 2.0
        for i, j, k in ((0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3))
    )
    sizes = [np.linalg.norm(v, axis=1) for v in (a, b, c, b - c, c - a, a - b)]
    x, y, z = (sizes[k] * sizes[k + 3] for k in range(3))
    # 24 V r_out = sqrt(product), r_in = 3 V / area
    product = (x + y + z) * (x + y - z) * (x - y + z) * (y + z - x)
    below = area * np.sqrt(np.maximum(product, 0.0))  # 24 area volume r_out
    none = np.zeros_like(volume)
    ratio = np.divide(216.0 * volume**2, below, out=none, where=below > 0.0)
    return np.asarray(ratio)


def measured(parts: Mesh, before: MeshQuality) -> MeshQuality:
    """Quality of a mesh some of whose cells were halved into ``parts``."""
    jacobian = float(jacobian_ratios(parts.points, parts.cells).min(initial=1.0))
    shape = float(cell_shapes(parts.points, parts.cells).min(initial=1.0))
    return replace(
        before,
        least_jacobian=min(before.least_jacobian, jacobian),
        least_shape=min(before.least_shape, shape),
    )


@dataclass(frozen=True)
class Bulk:
    """Volume, mass and inertia of a body.

    Attributes
    ----------
    volume : float
        [mm^3].
    mass : float
        [t].
    centre : ndarray (3,)
        Centre of mass [mm].
    inertia : ndarray (3, 3)
        About the origin of coordinates [t mm^2].
    """

    volume: float
    mass: float
    centre: FloatArray
    inertia: FloatArray


def bulk(mesh: Mesh, density: float) -> Bulk:
    """Volume, mass and inertia of a mesh of one density [t/mm^3]."""
    rule = conical_rule(3, 4)
    N = tet_values(rule.points)
    _, det = invert(jacobians(mesh.points, mesh.cells, tet_gradients(rule.points)))
    dV = det * rule.weights
    x = np.einsum("qa,eai->eqi", N, mesh.points[mesh.cells])
    volume = float(dV.sum())
    first = np.einsum("eq,eqi->i", dV, x)
    second = np.einsum("eq,eqi,eqj->ij", dV, x, x, optimize=True)
    # I = integral of rho (x.x 1 - x x)
    inertia = density * (np.trace(second) * np.eye(3) - second)
    return Bulk(volume, density * volume, first / volume, inertia)
