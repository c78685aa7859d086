"""Stress at the outer surface of a wheel joined of two parts, sector by sector.

The faces of all copies of a sector are alike, so that their weights are made once; each
copy's displacement and tractions are turned back to it, and its stress is turned out.
Points on cuts and ring, where copies meet, take theirs from the joined mesh.
"""

from collections.abc import Iterator

import numpy as np

from spokecheck.cases.loadcase import LoadCase
from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import rotation, stress_rotation
from spokecheck.fem.joined import Joined, JoinedPart
from spokecheck.fem.surface_stress import FaceTractions, surface_stress
from spokecheck.screen.outer_stress import (
    acting,
    known_faces,
    outer_faces,
    outer_stress,
    untold,
)
from spokecheck.units import BoolArray, ComplexArray, IntArray


def copied_stress(
    joined: Joined, elastic: Elastic, case: LoadCase, u: ComplexArray
) -> tuple[IntArray, ComplexArray]:
    """Stress at all points of the outer surface.

    Parameters
    ----------
    joined : Joined
        The wheel, its supports alike in all copies of a sector.
    elastic : Elastic
        Constants of the joined mesh's cells.
    case : LoadCase
        What is held, coupled, and acts on the surface.
    u : ndarray (n_loads, n_points, 3)
        Complex displacement [mm].

    Returns
    -------
    ndarray (n,)
        Points of the joined mesh, sorted.
    ndarray (n_loads, n, 6)
        Complex stress [MPa] there, as ``outer_stress`` has it.
    """
    mesh = joined.mesh
    nodes = np.unique(outer_faces(mesh)[0])
    slot = np.full(mesh.n_points, -1)
    slot[nodes] = np.arange(len(nodes))
    stress = np.empty((len(u), len(nodes), 6), dtype=complex)
    # 1. inside the sectors, where the traction is known
    left = np.ones(mesh.n_points, dtype=bool)
    for part in joined.parts:
        for points, found in _of_copies(joined, part, elastic, case, u):
            stress[:, slot[points]] = found
            left[points] = False
    # 2. all others on the joined mesh
    rest, found = outer_stress(mesh, joined.cyclic, elastic, case, u, left)
    stress[:, slot[rest]] = found
    return nodes, stress


def _inner(part: JoinedPart) -> BoolArray:
    """Points (n_points,) of a sector that lie neither on its cuts nor on the ring."""
    sector = part.sector
    inner = np.ones(sector.mesh.n_points, dtype=bool)
    inner[sector.cyclic.pairs] = False
    inner[sector.ring] = False
    return inner


def _of_copies(
    joined: Joined, part: JoinedPart, elastic: Elastic, case: LoadCase, u: ComplexArray
) -> Iterator[tuple[IntArray, ComplexArray]]:
    """Points of the joined mesh inside each copy of a sector, and their stress."""
    mesh, inner = part.sector.mesh, _inner(part)
    own = elastic.of(np.arange(part.cells.start, part.cells.stop))
    faces, numbers = outer_faces(mesh)
    known = known_faces(faces, untold(case)[part.number[0]], inner)
    surface = surface_stress(
        mesh.points, mesh.cells, faces[known], own.lame, groups=own.groups
    )
    at = np.flatnonzero(inner[surface.nodes])
    steady = np.zeros(len(u), dtype=np.int64)
    for j, number in enumerate(part.number):
        R = rotation(j * part.sector.cyclic.alpha)
        pressed = acting(case, joined.mesh.points[number], surface, known, numbers)
        back = FaceTractions(pressed.faces, pressed.values @ R)
        found = surface.at_nodes(u[:, number] @ R, steady, back)
        yield number[surface.nodes[at]], found[:, at] @ stress_rotation(R).T
