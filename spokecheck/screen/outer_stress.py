"""Stress at a wheel's outer surface: that of its faces where the traction is known.

On held and coupled faces, whose traction is not known, it is the mean of the cells.
"""

from collections.abc import Callable

import numpy as np

from spokecheck.cases.loadcase import LoadCase
from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.error import plain_stress, surface_errors
from spokecheck.fem.surface_stress import (
    FaceTractions,
    SurfaceStress,
    surface_stress,
    tractions_of,
)
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray

StressAt = Callable[[IntArray], ComplexArray]
"""From points of the mesh (n,) to their stress (n_loads, n, 6)."""


def outer_faces(mesh: Mesh) -> tuple[IntArray, dict[str, IntArray]]:
    """Faces (n_faces, 6) of the outer surface, sector cuts excepted, and their numbers.

    The numbers are those of each named surface.
    """
    names = [name for name in mesh.surfaces if not name.startswith("cut ")]
    ends = np.cumsum([len(mesh.surfaces[name]) for name in names])
    numbers = np.split(np.arange(ends[-1]), ends[:-1])
    return mesh.faces(names), dict(zip(names, numbers, strict=True))


def outer_stress(
    mesh: Mesh,
    cyclic: Cyclic,
    elastic: Elastic,
    case: LoadCase,
    u: ComplexArray,
    wanted: BoolArray | None = None,
) -> tuple[IntArray, ComplexArray]:
    """Stress at points of the outer surface.

    Parameters
    ----------
    mesh, cyclic, elastic
        The wheel.
    case : LoadCase
        What is held, coupled, and acts on the surface.
    u : ndarray (n_loads, n_points, 3)
        Complex displacement [mm].
    wanted : ndarray (n_points,) of bool, optional
        Points asked for, on both cuts alike; all of the surface if not given.

    Returns
    -------
    ndarray (n,)
        Points of the mesh.
    ndarray (n_loads, n, 6)
        Complex stress [MPa] there.
    """
    faces, numbers = outer_faces(mesh)
    orders = np.array([load.order for load in case.loads])
    asked = np.unique(faces)
    if wanted is not None:
        asked = asked[wanted[asked]]
    # 1. faces whose traction is known
    known = known_faces(faces, untold(case), wanted)
    surface = surface_stress(
        mesh.points, mesh.cells, faces[known], elastic.lame, cyclic, elastic.groups
    )
    tractions = acting(case, mesh.points, surface, known, numbers)
    found = surface.at_nodes(u, orders, tractions)
    # 2. the mean of the cells where it is not
    stress = np.empty((len(u), len(asked), 6), dtype=complex)
    at = np.minimum(np.searchsorted(surface.nodes, asked), len(surface.nodes) - 1)
    free = surface.nodes[at] == asked
    stress[:, free] = found[:, at[free]]
    if not free.all():
        sector = cyclic, orders
        rest = asked[~free]
        stress[:, ~free] = plain_stress(
            mesh, elastic.lame, u, rest, sector, elastic.groups
        )
    return asked, stress


def untold(case: LoadCase) -> BoolArray:
    """Points (n_points,) that are held or coupled: their traction is not known."""
    unknown = np.asarray(case.supports.held.any(axis=1))
    unknown[case.supports.coupled] = True
    return unknown


def known_faces(
    faces: IntArray, unknown: BoolArray, wanted: BoolArray | None = None
) -> BoolArray:
    """Faces (n_faces,) at points asked for whose traction is known."""
    taken: BoolArray = np.asarray(~unknown[faces].all(axis=1))
    if wanted is not None:
        taken &= wanted[faces].any(axis=1)
    return taken


def acting(
    case: LoadCase,
    points: FloatArray,
    surface: SurfaceStress,
    known: BoolArray,
    numbers: dict[str, IntArray],
) -> FaceTractions:
    """What the loads of a case do to the faces of known traction.

    ``numbers`` are those of each named surface's faces, of all faces.
    """
    place = np.cumsum(known) - 1
    loads = [
        [
            (place[mine[known[mine]]], one.at)
            for one in tractions
            for mine in (numbers[name] for name in one.where if name in numbers)
        ]
        for tractions in case.tractions or ((),) * len(case.loads)
    ]
    return tractions_of(points, surface, loads)


def outer_errors(
    mesh: Mesh,
    elastic: Elastic,
    cyclic: Cyclic,
    u: ComplexArray,
    stress: StressAt,
    case: LoadCase,
    points: IntArray,
) -> FloatArray:
    """Relative error (n,) of the stress at points of the outer surface.

    Of the turning loads' stress, which makes the amplitude; of all if none turns.
    ``u`` as for ``outer_stress``, of each load by itself; ``stress`` gives that of all
    loads at some points of the surface.
    """
    orders = np.array([load.order for load in case.loads])
    turning = orders != 0
    if not turning.any():
        turning[:] = True
    weights = case.weights()[turning, None, None]
    faces, _ = outer_faces(mesh)
    faces = faces[np.isin(faces, points).any(axis=1)]
    nodes, flat = np.unique(faces, return_inverse=True)
    sector = cyclic, orders[turning]
    plain = plain_stress(mesh, elastic.lame, u[turning], nodes, sector, elastic.groups)
    own = stress(nodes)[turning]
    at = np.searchsorted(nodes, points)
    return surface_errors(flat.reshape(-1, 6), weights * own, weights * plain, at)
