"""Nodal forces that do the same work as tractions, pressures and body forces.

All results are (n_points, 3) in N, so that they can be added, and so that their sum is
the resultant and ``sum x X f`` the moment.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spokecheck.fem.assembly import chunks, shape_gradients
from spokecheck.mesh.quadrature import TRI_6, Rule, conical_rule
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import tet_values, tri_gradients, tri_values
from spokecheck.units import FloatArray, IntArray

VectorField = Callable[[FloatArray], FloatArray]
"""From positions (n, 3) [mm] to vectors (n, 3)."""

ScalarField = Callable[[FloatArray], FloatArray]
"""From positions (n, 3) [mm] to numbers (n,)."""


@dataclass(frozen=True)
class FaceSamples:
    """Integration points of a set of TRI6 faces.

    Attributes
    ----------
    faces : ndarray (n_faces, 6)
        Connectivity.
    positions : ndarray (n_faces, n_q, 3)
        Integration points in space [mm].
    areas : ndarray (n_faces, n_q, 3)
        Outward normal times weighted surface element [mm^2].
    values : ndarray (n_q, 6)
        Shape functions at the integration points.
    """

    faces: IntArray
    positions: FloatArray
    areas: FloatArray
    values: FloatArray

    @property
    def total_area(self) -> float:
        """Area of all faces [mm^2]."""
        return float(np.linalg.norm(self.areas, axis=-1).sum())

    def spread(self, forces: FloatArray, n_points: int) -> FloatArray:
        """Nodal forces (n_points, 3) of forces (n_faces, n_q, 3) [N]."""
        nodal = np.einsum("qa,fqi->fai", self.values, forces)
        total = np.zeros((n_points, 3))
        np.add.at(total, self.faces, nodal)
        return total


def sample_faces(
    points: FloatArray, faces: IntArray, rule: Rule = TRI_6
) -> FaceSamples:
    """Integration points and area vectors of TRI6 faces.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    faces : ndarray (n_faces, 6)
        Connectivity, outward.
    rule : Rule
        Rule on the reference triangle.

    Returns
    -------
    FaceSamples
    """
    values = tri_values(rule.points)
    tangents = np.einsum("fai,qad->fqid", points[faces], tri_gradients(rule.points))
    normal = np.cross(tangents[..., 0], tangents[..., 1])
    positions = np.einsum("qa,fai->fqi", values, points[faces])
    return FaceSamples(faces, positions, normal * rule.weights[:, None], values)


def traction_forces(
    mesh: Mesh, faces: IntArray, traction: VectorField | FloatArray, rule: Rule = TRI_6
) -> FloatArray:
    """Nodal forces of a traction [MPa] on faces.

    Parameters
    ----------
    mesh : Mesh
        Body.
    faces : ndarray (n_faces, 6)
        Loaded faces.
    traction : callable or ndarray (3,)
        Force per area [MPa], constant or as a function of position.
    rule : Rule
        Raise its degree for steep fields.

    Returns
    -------
    ndarray (n_points, 3)
        Nodal forces [N].
    """
    samples = sample_faces(mesh.points, faces, rule)
    size = np.linalg.norm(samples.areas, axis=-1, keepdims=True)
    if callable(traction):
        value = traction(samples.positions.reshape(-1, 3)).reshape(samples.areas.shape)
    else:
        value = np.broadcast_to(np.asarray(traction, dtype=float), samples.areas.shape)
    return samples.spread(value * size, mesh.n_points)


def pressure_forces(
    mesh: Mesh, faces: IntArray, pressure: ScalarField | float, rule: Rule = TRI_6
) -> FloatArray:
    """Nodal forces of a pressure [MPa], positive into the body.

    Parameters and result as for ``traction_forces``.
    """
    samples = sample_faces(mesh.points, faces, rule)
    if callable(pressure):
        p = pressure(samples.positions.reshape(-1, 3)).reshape(samples.areas.shape[:2])
    else:
        p = np.full(samples.areas.shape[:2], float(pressure))
    return samples.spread(-p[..., None] * samples.areas, mesh.n_points)


def body_forces(mesh: Mesh, density: VectorField | FloatArray) -> FloatArray:
    """Nodal forces of a force per volume.

    Parameters
    ----------
    mesh : Mesh
        Body.
    density : callable or ndarray (3,)
        Force per volume [N/mm^3], constant or as a function of position.

    Returns
    -------
    ndarray (n_points, 3)
        Nodal forces [N].
    """
    rule = conical_rule(3, 4)
    N = tet_values(rule.points)
    total = np.zeros((mesh.n_points, 3))
    for part in chunks(mesh.n_cells):
        cells = mesh.cells[part]
        _, dV = shape_gradients(mesh.points, cells, rule)
        x = np.einsum("qa,eai->eqi", N, mesh.points[cells])
        if callable(density):
            b = density(x.reshape(-1, 3)).reshape(x.shape)
        else:
            b = np.broadcast_to(np.asarray(density, dtype=float), x.shape)
        np.add.at(total, cells, np.einsum("qa,eqi,eq->eai", N, b, dV, optimize=True))
    return total


def resultant(
    points: FloatArray, forces: FloatArray, centre: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Force (3,) [N] and moment (3,) [N mm] about ``centre`` of nodal forces."""
    about = np.zeros(3) if centre is None else centre
    return forces.sum(axis=0), np.cross(points - about, forces).sum(axis=0)
