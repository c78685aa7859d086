"""Narrow faces of the rim's outline, meshed in rows along the circumference.

Where two faces meet without an edge, a cell with a triangle on each has a Jacobian of
next to nothing there: the flatter the two triangles lie to each other, the less.
Left to itself the mesher puts such cells beside every tight rounding of a flange, has
to be forced to keep the triangles there, and most of its cells fold.
One row of like triangles across a rounding of 90 degrees leaves 5 degrees between the
curved faces, a Jacobian of 0.04 of a cell's largest; two rows leave 1 degree.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import gmsh
import numpy as np

from spokecheck.fem.cyclic import rotation
from spokecheck.wheel.meshing.kernel.task import MeshTask


@dataclass(frozen=True)
class Row:
    """How the faces of one name are divided.

    Attributes
    ----------
    widest : float
        Faces that are wider across [mm] are left to the mesher.
    across : float
        Longest edge [mm] across.
    along : float
        Longest edge [mm] along the circumference.
    """

    widest: float
    across: float
    along: float


ROWS = {
    "flange edge": Row(widest=7.0, across=7.0, along=7.0),
    "flange": Row(widest=3.2, across=3.2, along=7.0),
    "hump": Row(widest=9.0, across=3.0, along=4.0),
}
"""By the first words of a surface's name, the longest that fits."""


def divide_rows(task: MeshTask, names: Mapping[str, Sequence[int]]) -> None:
    """Ask gmsh for rows of triangles on the narrow faces of the rim.

    Parameters
    ----------
    task : MeshTask
        Where a refinement asks for edges shorter than a face is wide, it is left to
        the mesher.
    names : mapping
        CAD faces by the name of their surface.
    """
    for name, faces in names.items():
        fitting = [words for words in ROWS if name.startswith(words)]
        if not fitting:
            continue
        row = ROWS[max(fitting, key=len)]
        for face in faces:
            _divide(task, face, row)


def _divide(task: MeshTask, face: int, row: Row) -> None:
    """Rows on one face, if it lies between two arcs of the cuts and is narrow."""
    mesh, occ = gmsh.model.mesh, gmsh.model.occ
    curves = {tag for _, tag in gmsh.model.getBoundary([(2, face)], oriented=False)}
    if len(curves) != 4:
        return
    length = {curve: occ.getMass(1, curve) for curve in curves}
    *ends, inner, outer = sorted(length, key=lambda curve: length[curve])
    width = max(length[end] for end in ends)
    if width > row.widest or _asked_finer(task, face, width):
        return
    along = min(row.along, task.largest)
    for end in ends:
        mesh.setTransfiniteCurve(end, _edges(width, row.across) + 1)
    for side in (inner, outer):
        mesh.setTransfiniteCurve(side, _edges(length[outer], along) + 1)
    mesh.setTransfiniteSurface(face)


def _edges(length: float, longest: float) -> int:
    return int(np.ceil(length / longest - 1e-6))


def _asked_finer(task: MeshTask, face: int, width: float) -> bool:
    """Whether a refinement sphere, or a copy of it, asks for shorter edges there."""
    low, high = np.reshape(gmsh.model.getBoundingBox(2, face), (2, 3))
    for sphere in task.refinements:
        if sphere.size >= width:
            continue
        for angle in task.turns:
            centre = rotation(angle) @ np.array(sphere.centre)
            beyond = centre - np.clip(centre, low, high)
            if np.linalg.norm(beyond) < sphere.radius:
                return True
    return False
