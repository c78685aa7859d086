"""The planes, cylinders, cones and tori that the faces of a solid lie on.

The kernel says of which kind a face is; its measures follow from points and normals.

References
----------
Pottmann, Wallner, Computational Line Geometry, 2001, ch. 3 and 6: the normals of a
surface of revolution all meet its axis, a linear condition on the axis (from memory).
"""

import gmsh
import numpy as np

from spokecheck.plane.curves import Arc, Curve, Line, as_point
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.true_surface import RevolvedFace

SAMPLES = 7
"""Points along each parameter of a face."""

OFF = 1.0e-3
"""A face whose points lie further [mm] off what was fitted is left out."""

MARGIN = 1.0
"""How far [mm] beyond its box a face still counts."""


def true_faces() -> tuple[RevolvedFace, ...]:
    """All faces of the model in memory that are of a kind known here."""
    found = (_fitted(tag) for _, tag in gmsh.model.getEntities(2))
    return tuple(face for face in found if face is not None)


def _fitted(tag: int) -> RevolvedFace | None:
    """A face as a line or arc revolved about an axis; None for any other kind."""
    kind = gmsh.model.getType(2, tag)
    if kind not in ("Plane", "Cylinder", "Cone", "Torus"):
        return None
    points, normals = _samples(tag)
    # an axis (foot, direction) about which the face turns into itself
    if kind == "Plane":
        foot, axis = points[0], normals[0]
    elif kind == "Cylinder":
        axis = np.linalg.svd(normals)[2][2]
        foot = _circle_foot(points, axis)
    else:
        foot, axis = _axis(points, normals)
    off = points - foot
    height = off @ axis
    section = np.column_stack(
        [np.linalg.norm(off - height[:, None] * axis, axis=1), height]
    )
    curve = _arc(section) if kind == "Torus" else _line(section, kind)
    box = np.reshape(gmsh.model.getBoundingBox(2, tag), (2, 3))
    box = box + MARGIN * np.array([[-1.0], [1.0]])
    face = RevolvedFace(foot, axis, curve, box)
    good = float(np.abs(face.gaps(points)).max()) < OFF
    return face if good else None


def _samples(tag: int) -> tuple[FloatArray, FloatArray]:
    """Points (n, 3) and unit normals (n, 3) over the parameters of a face."""
    low, high = gmsh.model.getParametrizationBounds(2, tag)
    u, v = (np.linspace(low[k], high[k], SAMPLES) for k in (0, 1))
    at = np.stack(np.meshgrid(u, v), axis=-1).ravel()
    points = np.reshape(gmsh.model.getValue(2, tag, at), (-1, 3))
    return points, np.reshape(gmsh.model.getNormal(tag, at), (-1, 3))


def _axis(points: FloatArray, normals: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Foot and direction of the axis that all normals meet.

    A normal n through x has the moment m = x × n; it meets the axis (a, b = foot × a)
    if n · b + m · a = 0.
    """
    centre = points.mean(axis=0)
    size = float(np.abs(points - centre).max())
    x = (points - centre) / size
    conditions = np.hstack([np.cross(x, normals), normals])
    a, b = np.split(np.linalg.svd(conditions)[2][-1], 2)
    length = float(np.linalg.norm(a))
    axis = a / max(length, 1e-12)
    return centre + size * np.cross(axis, b / max(length, 1e-12)), axis


def _circle_foot(points: FloatArray, axis: FloatArray) -> FloatArray:
    """Point of a cylinder's axis: the centre of its circle, seen along the axis."""
    across = np.linalg.svd(axis[None])[2][1:]
    return np.asarray(_centre(points @ across.T) @ across)


def _centre(xy: FloatArray) -> FloatArray:
    """Centre (2,) of the circle through points (n, 2), by least squares.

    |p|^2 = 2 c · p + (r^2 - |c|^2) is linear in c.
    """
    middle = xy.mean(axis=0)
    p = xy - middle
    A = np.column_stack([2.0 * p, np.ones(len(p))])
    found, *_ = np.linalg.lstsq(A, (p**2).sum(axis=1), rcond=None)
    return np.asarray(middle + found[:2])


def _arc(section: FloatArray) -> Curve:
    """Circle of a torus in its section (rho, h)."""
    centre = _centre(section)
    ends = as_point(section[0]), as_point(section[-1])
    return Arc(*ends, as_point(centre), "")


def _line(section: FloatArray, kind: str) -> Curve:
    """Line of a plane, cylinder or cone in its section (rho, h)."""
    start = section.mean(axis=0)
    along = np.linalg.svd(section - start)[2][0]
    if kind != "Cone":
        along = np.array([1.0, 0.0] if kind == "Plane" else [0.0, 1.0])
    return Line(as_point(start), as_point(start + along), "")
