"""Local refinement: halve cells about the hot spots, and set up the submodel there.

It costs a tenth of a new mesh, and the mesh elsewhere stays the same, so a hot spot
changes by its own refinement alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import scipy.sparse as sp
from scipy.spatial import cKDTree

from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.fem.local_halving import (
    CoarseSpot,
    Sphere,
    distance,
    halve_about,
    mean_edges,
)
from spokecheck.fem.submodel import Submodel, make_submodel
from spokecheck.mesh.quality import MeshQuality, measured
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.mesh.sound_halving import KEPT, NO_POINTS, PointsPlaced
from spokecheck.mesh.subdivide import Subdivision
from spokecheck.units import BoolArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.mesh_check import MeshProof, check_mesh
from spokecheck.wheel.shape.true_surface import TrueSurfaces

REACH = 3.0
"""Radius of what is solved again, in edges before it was refined: at 3 to 4 the held
edge costs 0.2 to 0.5 % of the stress."""

UPDATED = 0.6
"""Share of that radius within which stress is updated; beyond, it changes by less than
the held edge leaves uncertain."""


@dataclass(frozen=True, kw_only=True)
class RefinedCells:
    """A body some of whose cells were halved, and where to solve it again.

    Attributes
    ----------
    mesh : Mesh
    cyclic : Cyclic
    elastic : Elastic
        Constants of its cells.
    carry : csr_array (n_points, n_points_before)
        Values at the points from values at those before, which come first.
    near : Submodel
        Where to solve again; all new points lie in it.
    updated : ndarray (n_points,) of bool
        Points whose stress is to be found anew.
    halved : ndarray (n_cells,) of bool
        Cells that are parts of cells before.
    parent : ndarray (n_cells,)
        Cell before that each is, or is part of.
    given_up : tuple of CoarseSpot
        Refinements about whose centre cells had to stay whole.
    """

    mesh: Mesh
    cyclic: Cyclic
    elastic: Elastic
    carry: sp.csr_array
    near: Submodel
    updated: BoolArray
    halved: BoolArray
    parent: IntArray
    given_up: tuple[CoarseSpot, ...] = ()

    @property
    def stopped(self) -> tuple[CoarseSpot, ...]:
        """Places given up since edges that must not be halved are in the way."""
        return tuple(spot for spot in self.given_up if KEPT in spot.reason)

    def checked(self, before: MeshQuality) -> tuple[MeshQuality, MeshProof]:
        """Quality with the halved cells, and the proof that these are sound.

        Raises
        ------
        MeshError
            If points of the cuts are no images of each other any more.
        """
        parts = replace(self.mesh, cells=self.mesh.cells[self.halved])
        quality = measured(parts, before)
        return quality, check_mesh(parts, self.cyclic, quality)

    def on(self, wheel: Wheel) -> Wheel:
        """The wheel on the finer mesh.

        Raises
        ------
        MeshError
            If points of the cuts are no images of each other any more.
        """
        quality, proof = self.checked(wheel.quality)
        return replace(
            wheel,
            mesh=self.mesh,
            cyclic=self.cyclic,
            quality=quality,
            proof=proof,
            joined=None,
        )


def refine_locally(
    mesh: Mesh,
    cyclic: Cyclic,
    elastic: Elastic,
    spheres: Sequence[Refinement],
    true: TrueSurfaces | None = None,
    kept: IntArray = NO_POINTS,
) -> RefinedCells:
    """Halve cells about hot spots until their edges are as short as required.

    Parameters
    ----------
    mesh, cyclic, elastic
        A body that has been solved.
    spheres : sequence of Refinement
        Places and required edges; how far the finer cells reach is decided here.
    true : TrueSurfaces, optional
        Surfaces onto which points of the parts are put.
    kept : ndarray (n,), optional
        Mid-side points whose edges must not be halved.

    Returns
    -------
    RefinedCells
        All parts of cells are sound, see ``halve_soundly``; places where cells had to
        stay whole for that are ``given_up``.
    """
    # 1. edges asked for are those of faces; cells below them may have longer ones
    centres = np.array([sphere.centre for sphere in spheres])
    within, outside = _edges_at(mesh, centres)
    wanted = [
        Sphere(sphere.centre, sphere.size * float(longer), sphere.radius)
        for sphere, longer in zip(spheres, within / outside, strict=True)
    ]
    # 2. halve until no edge is too long
    place = None if true is None else partial(on_true_surfaces, true, cyclic)
    done = halve_about(mesh, cyclic, wanted, within, place, kept)
    mesh, cyclic, halved = done.mesh, done.cyclic, done.halved
    elastic, reach = elastic.of(done.parent), REACH * within
    # 3. points solved again, and among them those whose stress is updated
    free = np.zeros(mesh.n_points, dtype=bool)
    free[mesh.cells[halved]] = True
    updated = free.copy()
    for centre, radius in zip(centres, reach, strict=True):
        far = distance(mesh.points, centre, cyclic)
        free |= far < radius
        updated |= far < UPDATED * radius
    updated[cyclic.pairs] = updated[cyclic.pairs].any(axis=1, keepdims=True)
    return RefinedCells(
        mesh=mesh,
        cyclic=cyclic,
        elastic=elastic,
        carry=done.carry,
        near=make_submodel(mesh, cyclic, elastic, free),
        updated=updated,
        halved=halved,
        parent=done.parent,
        given_up=done.given_up,
    )


def on_true_surfaces(
    true: TrueSurfaces, cyclic: Cyclic, before: Mesh, step: Subdivision
) -> PointsPlaced:
    """Put new points of halved cells onto the true surfaces.

    So are mid-side points that have become corners: no cell is left whole at those.
    Where a corner must stay off its surface, a new point beside it stays off by half as
    much: one on the surface would make a notch of the other.
    """
    mesh, parts = step.mesh, step.mesh.cells[step.halved]
    new = np.arange(mesh.n_points) >= before.n_points
    corner = np.zeros(mesh.n_points, dtype=bool)
    corner[parts[:, :4]] = True
    # 1. how far each point of the parts lies off its surfaces
    nodes = {name: mesh.nodes(name) for name in mesh.surfaces}
    on = {name: some[(corner | new)[some]] for name, some in nodes.items()}
    edges = np.zeros(mesh.n_points)
    edges[parts] = mean_edges(replace(mesh, cells=parts))[:, None]
    off = true.onto(mesh.points, on, edges) - mesh.points
    outer = np.zeros(mesh.n_points, dtype=bool)
    outer[np.concatenate(list(on.values()))] = True
    outer[before.cells[:, :4]] = False
    ends, mids = parts[:, TET_EDGES].reshape(-1, 2), parts[:, 4:].ravel()
    ends, mids = ends[new[mids]], mids[new[mids]]

    def placed(stay: BoolArray) -> FloatArray:
        movable = outer & ~stay
        # 2. what corners keep of it; mid-side points keep the mean of both their ends
        left = np.where((corner & movable)[:, None], 0.0, off)
        kept = np.zeros_like(off)
        kept[mids] = left[ends].mean(axis=1)
        points = mesh.points + np.where(movable[:, None], off - kept, 0.0)
        low, high = step.pairs[movable[step.pairs].all(axis=1)].T
        points[high] = points[low] @ rotation(cyclic.alpha).T
        return points

    return placed


def _edges_at(mesh: Mesh, centres: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean edges [mm] of cells and of outer faces at the surface point nearest to each.

    The edge of a spot is that of its faces; cells of a thin wall have longer ones.
    """
    faces = np.concatenate(list(mesh.surfaces.values()))[:, :3]
    sides = mesh.points[faces] - mesh.points[np.roll(faces, 1, axis=1)]
    lengths, edges = np.linalg.norm(sides, axis=2).mean(axis=1), mean_edges(mesh)
    corners = np.unique(faces)
    _, nearest = cKDTree(mesh.points[corners]).query(centres)
    cells = [(mesh.cells[:, :4] == corner).any(axis=1) for corner in corners[nearest]]
    outer = [(faces == corner).any(axis=1) for corner in corners[nearest]]
    return (
        np.array([edges[members].mean() for members in cells]),
        np.array([lengths[members].mean() for members in outer]),
    )
