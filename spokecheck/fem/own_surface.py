"""Surface stress of one's own load case: which faces are known, and what acts there.

Known are outer faces that no support holds, but for those that forces at points or
along lines act on.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from spokecheck.fem.actions import (
    FaceLoad,
    Heat,
    Load,
    PointForces,
    Pressure,
    Traction,
)
from spokecheck.fem.body import Body
from spokecheck.fem.held_body import HeldBody
from spokecheck.fem.line_loads import LineLoad
from spokecheck.fem.surface_stress import (
    TractionField,
    surface_stress,
    tractions_of,
)
from spokecheck.mesh.record import Mesh, cells_behind, face_keys
from spokecheck.units import BoolArray, FloatArray, IntArray

STEADY = np.zeros(1, dtype=np.int64)
"""Order of a steady load."""

NO_FORCE = 1e-12
"""Nodal forces below this share of their largest count as none."""


@dataclass(frozen=True)
class OwnSurface:
    """Stress of the known part of the outer surface.

    Attributes
    ----------
    nodes : ndarray (n_nodes,)
        Points of the mesh on it, sorted.
    faces : ndarray (n_faces, 6)
        Its faces, numbered within ``nodes``.
    stress : ndarray (n_nodes, 6)
        [MPa].
    """

    nodes: IntArray
    faces: IntArray
    stress: FloatArray = field(repr=False)


def own_surface(
    held: HeldBody, loads: Sequence[Load], u: FloatArray, group: int = 0
) -> OwnSurface:
    """Stress of the outer surface where the traction is known.

    Parameters
    ----------
    held : HeldBody
        The body and its supports.
    loads : sequence of Load
        What acts.
    u : ndarray (n_points, 3)
        Displacement [mm].
    group : int
        Material that points of an interface are counted to.

    Returns
    -------
    OwnSurface
        Empty if nothing is known.
    """
    body, mesh = held.body, held.body.mesh
    faces = held.free_faces
    faces = faces[~_forced(mesh, loads)[faces].any(axis=1)]
    if not len(faces):
        return OwnSurface(np.empty(0, dtype=np.int64), faces, np.empty((0, 6)))
    groups = body.groups_first(group)
    surface = surface_stress(
        mesh.points, mesh.cells, faces, body.elastic.lame, body.cyclic, groups
    )
    known = tractions_of(mesh.points, surface, [_acting(body, faces, loads)])
    hot = _thermal(body, faces, loads)
    found = surface.at_nodes(u[None].astype(complex), STEADY, known, hot)
    return OwnSurface(surface.nodes, surface.faces, np.array(found[0].real))


def _forced(mesh: Mesh, loads: Sequence[Load]) -> BoolArray:
    """Points (n_points,) at which forces of no area act."""
    forced = np.zeros(mesh.n_points, dtype=bool)
    for load in loads:
        if isinstance(load, PointForces | LineLoad):
            size = np.abs(load.nodal(mesh)).max(axis=1)
            forced |= size > NO_FORCE * size.max()
    return forced


def _acting(
    body: Body, faces: IntArray, loads: Sequence[Load]
) -> list[tuple[IntArray, TractionField]]:
    """Numbers of the faces that loads act on, and their tractions."""
    mesh = body.mesh
    keys = face_keys(faces, mesh.n_points)
    acting: list[tuple[IntArray, TractionField]] = []
    for given in loads:
        load = given.on(mesh) if isinstance(given, FaceLoad) else given
        if isinstance(load, Traction | Pressure):
            mine = face_keys(mesh.faces(load.where), mesh.n_points)
            acting.append((np.flatnonzero(np.isin(keys, mine)), load.at))
    return acting


def _thermal(body: Body, faces: IntArray, loads: Sequence[Load]) -> FloatArray | None:
    """Thermal pressure (1, n_faces, 6) [MPa] at the faces' own nodes."""
    fields = [load.value for load in loads if isinstance(load, Heat)]
    if not fields:
        return None
    mesh = body.mesh
    x = mesh.points[faces]
    T = np.zeros(faces.shape)
    for value in fields:
        hot = value(x.reshape(-1, 3)).reshape(T.shape) if callable(value) else value
        T += hot
    behind = cells_behind(faces, mesh.cells, mesh.n_points)
    return np.asarray(body.bulk_alpha[behind][None, :, None] * T)
