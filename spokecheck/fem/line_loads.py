"""Forces per length along edges of the mesh."""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.loads import VectorField
from spokecheck.fem.supports import Edge, Vector, Where, select, vector
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.units import FloatArray, IntArray

GAUSS = np.polynomial.legendre.leggauss(5)
"""Points on (-1, 1) and weights, exact to degree 9."""


@dataclass(frozen=True)
class LineLoad:
    """Force per length [N/mm] along a line, constant or a function of position."""

    where: Where
    value: FloatArray | VectorField

    def nodal(self, mesh: Mesh) -> FloatArray:
        """Nodal forces (n_points, 3) [N].

        Raises
        ------
        ModelError
            If no edge of the mesh lies on the line.
        """
        edges = edges_on(mesh, self.where)
        s, w = GAUSS
        # shape functions of a three-node line, ends first, and their derivatives
        N = np.column_stack([s * (s - 1.0) / 2.0, s * (s + 1.0) / 2.0, 1.0 - s * s])
        dN = np.column_stack([s - 0.5, s + 0.5, -2.0 * s])
        x = np.einsum("qa,eai->eqi", N, mesh.points[edges])
        length = np.linalg.norm(
            np.einsum("qa,eai->eqi", dN, mesh.points[edges]), axis=2
        )
        value = self.value(x.reshape(-1, 3)) if callable(self.value) else self.value
        force = np.broadcast_to(value, (x.shape[0] * x.shape[1], 3)).reshape(x.shape)
        total = np.zeros((mesh.n_points, 3))
        np.add.at(total, edges, np.einsum("qa,eqi,eq,q->eai", N, force, length, w))
        return total


def line_load(where: Where, value: Vector | VectorField) -> LineLoad:
    """Force per length [N/mm] along a line.

    Parameters
    ----------
    where : Where
        An ``Edge`` of two surfaces, or a test of positions that edges of the mesh pass.
    value : sequence of three float, or callable
        Constant, or a function of position.

    Returns
    -------
    LineLoad
        Stress on the line has no limit, see ``Edge``.
    """
    return LineLoad(where, value if callable(value) else vector(value, "line load"))


def edges_on(mesh: Mesh, where: Where) -> IntArray:
    """Edges (n_edges, 3) of the mesh on a line: two ends and the middle.

    Raises
    ------
    ModelError
        If there are none.
    """
    if isinstance(where, Edge):
        sides = [_sides(mesh.faces(name)) for name in (where.first, where.second)]
        middles = np.intersect1d(sides[0][:, 2], sides[1][:, 2])
        edges = sides[0][np.isin(sides[0][:, 2], middles)]
    else:
        on = np.zeros(mesh.n_points, dtype=bool)
        on[select(mesh, where)] = True
        ends = mesh.cells[:, TET_EDGES]
        every = np.concatenate([ends, mesh.cells[:, 4:, None]], axis=2).reshape(-1, 3)
        edges = every[on[every].all(axis=1)]
    if not len(edges):
        raise ModelError(
            f"line {where}: no edge of the mesh lies on it; name two surfaces that "
            "meet, or lay the line along edges of the mesh"
        )
    _, first = np.unique(edges[:, 2], return_index=True)
    return np.asarray(edges[first])


def _sides(faces: IntArray) -> IntArray:
    """Edges (3 n_faces, 3) of TRI6 faces: two ends and the middle."""
    return faces[:, [[0, 1, 3], [1, 2, 4], [2, 0, 5]]].reshape(-1, 3)
