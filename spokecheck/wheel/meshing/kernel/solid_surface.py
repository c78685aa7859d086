"""The surface of a solid from elsewhere: points on its faces, and how far off it lies.

Distances are to the faces themselves, so no mesh and no integral of the kernel
enters.
"""

from dataclasses import dataclass

import gmsh
import numpy as np

from spokecheck.units import BoolArray, FloatArray
from spokecheck.wheel.meshing.kernel.faces import edge_points

SPACING = 8.0
"""Distance of the points on a face [mm]; a smaller feature has faces of its own."""

LEAST, MOST = 4, 60
"""Points along one parameter of a face."""

SAME = 0.01
"""A point nearer to a surface than this lies on it [mm]: own choice, ten times what
STEP files of patterned features differ by."""

REACH = 1.0
"""Distances are measured up to this [mm]."""


@dataclass(frozen=True)
class Face:
    """One face of the solid.

    Attributes
    ----------
    tag : int
    kind : str
        Plane, cylinder and so on, as the kernel calls it.
    area : float
        [mm^2].
    centre : ndarray (3,)
        Of its area [mm].
    box : ndarray (2, 3)
        Lowest and highest coordinates [mm].
    points : ndarray (n, 3)
        On it, about ``SPACING`` apart [mm].
    """

    tag: int
    kind: str
    area: float
    centre: FloatArray
    box: FloatArray
    points: FloatArray


class SolidSurface:
    """All faces of the one solid in memory."""

    def __init__(self) -> None:
        self.faces = tuple(_face(tag) for _, tag in gmsh.model.getEntities(2))
        self._edges = [
            (tag, np.reshape(gmsh.model.getBoundingBox(1, tag), (2, 3)))
            for _, tag in gmsh.model.getEntities(1)
        ]

    def gaps(self, points: FloatArray) -> FloatArray:
        """Distance (n,) of points (n, 3) to the surface, at most ``REACH`` [mm]."""
        gaps = np.full(len(points), REACH)
        for face in self.faces:
            near = np.flatnonzero(_in_box(points, face.box) & (gaps > SAME))
            if len(near):
                gaps[near] = np.minimum(gaps[near], _face_gaps(face.tag, points[near]))
        # a point on an edge can be outside both of its faces by rounding
        for tag, box in self._edges:
            near = np.flatnonzero(_in_box(points, box) & (gaps > SAME))
            if len(near):
                closest, _ = gmsh.model.getClosestPoint(1, tag, points[near].ravel())
                off = np.linalg.norm(closest.reshape(-1, 3) - points[near], axis=1)
                gaps[near] = np.minimum(gaps[near], off)
        return gaps


def _in_box(points: FloatArray, box: FloatArray) -> BoolArray:
    """Whether points (n, 3) lie in a box or within reach of it."""
    inside = (points > box[0] - REACH) & (points < box[1] + REACH)
    return np.asarray(inside.all(axis=1))


def _face_gaps(tag: int, points: FloatArray) -> FloatArray:
    """Distance (n,) to a face; infinite where the foot lies outside of its edges."""
    feet, at = gmsh.model.getClosestPoint(2, tag, points.ravel())
    gaps = np.linalg.norm(feet.reshape(-1, 3) - points, axis=1)
    for k, parameters in enumerate(np.reshape(at, (-1, 2))):
        if gaps[k] < REACH and not gmsh.model.isInside(2, tag, parameters, True):
            gaps[k] = np.inf
    return np.asarray(gaps)


def _face(tag: int) -> Face:
    occ = gmsh.model.occ
    return Face(
        tag,
        gmsh.model.getType(2, tag),
        float(occ.getMass(2, tag)),
        np.array(occ.getCenterOfMass(2, tag)),
        np.reshape(gmsh.model.getBoundingBox(2, tag), (2, 3)),
        _spread(tag),
    )


def _spread(tag: int) -> FloatArray:
    """Points (n, 3) spread over a face, inside of its edges where it has room."""
    low, high = gmsh.model.getParametrizationBounds(2, tag)
    coarse = _grid(low, high, (LEAST, LEAST))
    x = np.reshape(gmsh.model.getValue(2, tag, coarse.ravel()), (LEAST, LEAST, 3))
    # longest line of each parameter over the grid, whose ends lie half a step inside
    lengths = [
        np.linalg.norm(np.diff(x, axis=axis), axis=2).sum(axis=axis).max()
        for axis in (1, 0)
    ]
    shape = [
        int(np.clip(LEAST / (LEAST - 1) * length / SPACING, LEAST, MOST))
        for length in lengths
    ]
    at = _grid(low, high, (shape[0], shape[1]))
    inside = [bool(gmsh.model.isInside(2, tag, uv, True)) for uv in at]
    if not any(inside):  # a narrow strip across its parameters
        return edge_points(tag)
    return np.reshape(gmsh.model.getValue(2, tag, at[inside].ravel()), (-1, 3))


def _grid(low: FloatArray, high: FloatArray, shape: tuple[int, int]) -> FloatArray:
    """Middles (n, 2) of a grid over the parameters, the first running fastest."""
    u, v = (
        low[k] + (high[k] - low[k]) * (np.arange(shape[k]) + 0.5) / shape[k]
        for k in (0, 1)
    )
    return np.stack(np.meshgrid(u, v), axis=-1).reshape(-1, 2)
