"""Stress at a wheel's outer surface: that of its faces where the traction is known.

On held and coupled faces, whose traction is not known, it is the mean of the cells.
"""

import numpy as np

from spokecheck.cases.loadcase import LoadCase
from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.error import plain_stress, surface_errors
from spokecheck.fem.surface_stress import surface_stress, tractions_of
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


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
    near = slice(None) if wanted is None else wanted[faces].any(axis=1)
    asked = np.unique(faces[near])
    if wanted is not None:
        asked = asked[wanted[asked]]
    # 1. faces whose traction is known
    unknown = np.asarray(case.supports.held.any(axis=1))
    unknown[case.supports.coupled] = True
    taken: BoolArray = np.zeros(len(faces), dtype=bool)
    taken[near] = ~unknown[faces[near]].all(axis=1)
    place = np.cumsum(taken) - 1
    surface = surface_stress(
        mesh.points, mesh.cells, faces[taken], elastic.lame, cyclic, elastic.groups
    )
    loads = [
        [
            (place[mine[taken[mine]]], acting.at)
            for acting in tractions
            for mine in (numbers[name] for name in acting.where)
        ]
        for tractions in case.tractions or ((),) * len(u)
    ]
    known = tractions_of(mesh.points, surface, loads)
    found = surface.at_nodes(u, orders, known)
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


def outer_errors(
    mesh: Mesh,
    elastic: Elastic,
    cyclic: Cyclic,
    u: ComplexArray,
    stress: ComplexArray,
    orders: IntArray,
    points: IntArray,
) -> FloatArray:
    """Relative error (n,) of the stress at points of the outer surface.

    Of the turning loads' stress, which makes the amplitude; of all if none turns.
    ``u`` as for ``outer_stress``, ``stress`` at all points, at the level of the test.
    """
    turning = orders != 0
    if not turning.any():
        turning[:] = True
    faces, _ = outer_faces(mesh)
    faces = faces[np.isin(faces, points).any(axis=1)]
    nodes, flat = np.unique(faces, return_inverse=True)
    sector = cyclic, orders[turning]
    plain = plain_stress(mesh, elastic.lame, u[turning], nodes, sector, elastic.groups)
    own = stress[turning][:, nodes]
    return surface_errors(
        flat.reshape(-1, 6), own, plain, np.searchsorted(nodes, points)
    )
