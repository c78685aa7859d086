"""The boundary of a mesh as flat facets, with the measures that identify surfaces."""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.csgraph import connected_components

from spokecheck.mesh.record import Mesh, boundary_faces
from spokecheck.units import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class Facets:
    """Boundary faces, each by its three corners.

    Attributes
    ----------
    faces : ndarray (n, 6)
        TRI6 faces, outward.
    middle : ndarray (n, 3)
        [mm].
    normal : ndarray (n, 3)
        Unit vectors, outward.
    area : ndarray (n,)
        [mm^2].
    """

    faces: IntArray
    middle: FloatArray
    normal: FloatArray
    area: FloatArray

    @property
    def r(self) -> FloatArray:
        """Distance from the axle (n,) [mm]."""
        return np.asarray(np.hypot(self.middle[:, 0], self.middle[:, 1]))

    @property
    def z(self) -> FloatArray:
        """Axial position (n,) [mm]."""
        return np.asarray(self.middle[:, 2])

    @property
    def outward(self) -> FloatArray:
        """Radial part (n,) of the normals."""
        radial = self.middle[:, :2] / np.maximum(self.r, 1e-9)[:, None]
        return np.asarray(np.einsum("fi,fi->f", radial, self.normal[:, :2]))

    @property
    def axial(self) -> FloatArray:
        """Axial part (n,) of the normals, positive outboard."""
        return np.asarray(self.normal[:, 2])

    def patches(self, some: BoolArray) -> IntArray:
        """Number (n,) of the connected patch of each facet among some; else -1."""
        rows = np.flatnonzero(some)
        ends = np.sort(self.faces[rows][:, [[0, 1], [1, 2], [2, 0]]], axis=2)
        _, edge = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True)
        owner = np.repeat(np.arange(len(rows)), 3)
        shape = (len(rows), int(edge.max(initial=-1)) + 1)
        meets = sp.csr_array((np.ones(len(owner)), (owner, edge.ravel())), shape=shape)
        labels = np.full(len(some), -1)
        _, label = connected_components(meets @ meets.T, directed=False)
        labels[rows] = label
        return labels


def facets_of(mesh: Mesh) -> Facets:
    """Facets of the whole boundary of a mesh."""
    faces = boundary_faces(mesh.cells)
    a, b, c = np.moveaxis(mesh.points[faces[:, :3]], 1, 0)
    cross = np.cross(b - a, c - a)
    double = np.linalg.norm(cross, axis=1)
    normal = cross / np.maximum(double, 1e-30)[:, None]
    return Facets(faces, (a + b + c) / 3.0, normal, double / 2.0)
