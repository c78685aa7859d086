"""Value of a nodal field at any point of a body."""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import barycentric, invert, tet_gradients, tet_values
from spokecheck.units import FloatArray, IntArray

MARGIN = 0.05
"""Cells are tried whose bounding box, wider by this share, holds the point."""

OUTSIDE = 0.02
"""How far, in barycentric coordinates, a point may lie outside its cell: the faces of
a curved boundary and the boundary itself differ by about that much on coarse meshes."""


@dataclass(frozen=True)
class Location:
    """Where a point lies in a mesh.

    Attributes
    ----------
    cell : int
        Cell number.
    weights : ndarray (10,)
        Shape functions of the cell at the point.
    """

    cell: int
    weights: FloatArray

    def value(self, mesh: Mesh, field: FloatArray) -> FloatArray:
        """Nodal field (n_points, ...) of that mesh, interpolated there."""
        return np.asarray(np.tensordot(self.weights, field[mesh.cells[self.cell]], 1))


class Locator:
    """Finds the cells of a mesh that hold points.

    Parameters
    ----------
    mesh : Mesh
        The body.
    """

    def __init__(self, mesh: Mesh) -> None:
        corners = mesh.points[mesh.cells]
        low, high = corners.min(axis=1), corners.max(axis=1)
        widen = MARGIN * (high - low).max(axis=1, keepdims=True)
        self._mesh, self._low, self._high = mesh, low - widen, high + widen

    def at(self, position: FloatArray) -> Location:
        """Find the cell that holds a point.

        Parameters
        ----------
        position : ndarray (3,)
            The point [mm].

        Returns
        -------
        Location

        Raises
        ------
        ModelError
            If the point lies outside the body.
        """
        mesh, target = self._mesh, np.asarray(position, dtype=float)
        holds = ((self._low <= target) & (target <= self._high)).all(axis=1)
        near = np.flatnonzero(holds)
        if not len(near):
            raise _outside(mesh, target)
        xi = _invert_map(mesh.points, mesh.cells[near], target)
        inside = barycentric(xi).min(axis=1)
        best = int(np.argmax(np.where(np.isnan(inside), -np.inf, inside)))
        if not inside[best] >= -OUTSIDE:
            raise _outside(mesh, target)
        return Location(int(near[best]), tet_values(xi[best][None, :])[0])


def locate(mesh: Mesh, position: FloatArray) -> Location:
    """Find the cell that holds one point [mm], see ``Locator.at``."""
    return Locator(mesh).at(position)


def _outside(mesh: Mesh, target: FloatArray) -> ModelError:
    low, high = mesh.points.min(axis=0), mesh.points.max(axis=0)
    return ModelError(
        f"point {_text(target)} mm: not in the body, which spans "
        f"{_text(low)} to {_text(high)} mm; ask for a point inside"
    )


def _invert_map(points: FloatArray, cells: IntArray, target: FloatArray) -> FloatArray:
    """Reference coordinates (n_cells, 3) of one position, by Newton's method."""
    xi = np.full((len(cells), 3), 0.25)
    x = points[cells]
    with np.errstate(all="ignore"):
        for _ in range(12):
            here = np.einsum("ea,eai->ei", tet_values(xi), x)
            J = np.einsum("eai,ead->eid", x, tet_gradients(xi))
            step = np.einsum("edi,ei->ed", invert(J)[0], target - here)
            xi = np.clip(xi + np.nan_to_num(step), -5.0, 5.0)
    return xi


def _text(x: FloatArray) -> str:
    return "(" + ", ".join(f"{c:.4g}" for c in x) + ")"
