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
from spokecheck.fem.submodel import Submodel, make_submodel
from spokecheck.mesh.quality import measured
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.mesh.sound_halving import UnsoundPart, halve_soundly
from spokecheck.mesh.subdivide import Subdivision
from spokecheck.units import BoolArray, FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.mesh_check import check_mesh
from spokecheck.wheel.shape.true_surface import TrueSurfaces

SLACK = 1.4
"""Cells whose mean edge exceeds the required one by this factor are halved."""

CORE = 1.0 / 3.0
"""Share of a sphere's radius within which edges are as short as required: one edge
before the refinement, since a spot may turn out to lie that far away."""

GROWTH = 0.8
"""Edges may be longer by this much for each mm away from the core."""

HALVINGS = 4
"""Most halvings in one refinement."""

REACH = 3.0
"""Radius of what is solved again, in edges before it was refined: at 3 to 4 the held
edge costs 0.2 to 0.5 % of the stress."""

UPDATED = 0.6
"""Share of that radius within which stress is updated; beyond, it changes by less than
the held edge leaves uncertain."""


Point = tuple[float, float, float]


@dataclass(frozen=True)
class CoarseSpot:
    """A place whose cells are not as short as wanted, since parts would be unsound.

    Attributes
    ----------
    centre : tuple of float
        Of the refinement [mm] that was given up.
    reason : str
        In words.
    """

    centre: Point
    reason: str


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
    given_up: tuple[CoarseSpot, ...] = ()

    def on(self, wheel: Wheel) -> Wheel:
        """The wheel on the finer mesh.

        Raises
        ------
        MeshError
            If points of the cuts are no images of each other any more.
        """
        parts = replace(self.mesh, cells=self.mesh.cells[self.halved])
        quality = measured(parts, wheel.quality)
        proof = check_mesh(parts, self.cyclic, quality)
        return replace(
            wheel, mesh=self.mesh, cyclic=self.cyclic, quality=quality, proof=proof
        )


def refine_locally(
    mesh: Mesh,
    cyclic: Cyclic,
    elastic: Elastic,
    spheres: Sequence[Refinement],
    true: TrueSurfaces | None = None,
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

    Returns
    -------
    RefinedCells
        All parts of cells are sound, see ``halve_soundly``; places where cells had to
        stay whole for that are ``given_up``.
    """
    # 1. edges asked for are those of faces; cells below them may have longer ones
    centres = np.array([sphere.centre for sphere in spheres])
    within, outside = _edges_at(mesh, centres)
    reach, sizes = REACH * within, np.array([sphere.size for sphere in spheres])
    spheres = [
        replace(sphere, size=float(size))
        for sphere, size in zip(spheres, sizes * within / outside, strict=True)
    ]
    # 2. halve until no edge is too long; carry interpolates from the mesh before
    carry, halved = sp.eye_array(mesh.n_points), np.zeros(mesh.n_cells, dtype=bool)
    given_up: dict[Point, CoarseSpot] = {}
    for turn in range(HALVINGS):
        far, wanted = _wanted(mesh, cyclic, spheres, turn == 0)
        marked = np.asarray(wanted.any(axis=0))
        place = None if true is None else partial(on_true_surfaces, true, cyclic, mesh)
        halving = halve_soundly(mesh, marked, cyclic.pairs, place)
        at_centre = far < within[:, None]
        for k in np.flatnonzero((wanted & at_centre & halving.whole).any(axis=1)):
            spot = _coarse_spot(spheres[k].centre, cyclic, halving.unsound)
            given_up.setdefault(spot.centre, spot)
        step = halving.step
        if not step.halved.any():
            break
        mesh, cyclic = step.mesh, replace(cyclic, pairs=step.pairs)
        carry, elastic = step.carry @ carry, elastic.of(step.parent)
        halved = halved[step.parent] | step.halved
    # 3. points solved again, and among them those whose stress is updated
    free = np.zeros(mesh.n_points, dtype=bool)
    free[mesh.cells[halved]] = True
    updated = free.copy()
    for centre, radius in zip(centres, reach, strict=True):
        far = _distance(mesh.points, centre, cyclic)
        free |= far < radius
        updated |= far < UPDATED * radius
    updated[cyclic.pairs] = updated[cyclic.pairs].any(axis=1, keepdims=True)
    return RefinedCells(
        mesh=mesh,
        cyclic=cyclic,
        elastic=elastic,
        carry=sp.csr_array(carry),
        near=make_submodel(mesh, cyclic, elastic, free),
        updated=updated,
        halved=halved,
        given_up=tuple(given_up.values()),
    )


def on_true_surfaces(
    true: TrueSurfaces, cyclic: Cyclic, before: Mesh, step: Subdivision
) -> FloatArray:
    """Points (n_points, 3) of halved cells, the new ones on the true surfaces.

    So are mid-side points that have become corners: no cell is left whole at those.
    """
    mesh, parts = step.mesh, step.mesh.cells[step.halved]
    movable = np.arange(mesh.n_points) >= before.n_points
    movable[parts[:, :4]] = True
    movable[before.cells[:, :4]] = False
    on = {
        name: nodes[movable[nodes]]
        for name, nodes in ((name, mesh.nodes(name)) for name in mesh.surfaces)
    }
    edges = np.zeros(mesh.n_points)
    edges[parts] = _mean_edges(replace(mesh, cells=parts))[:, None]
    points = true.onto(mesh.points, on, edges)
    low, high = step.pairs[movable[step.pairs].all(axis=1)].T
    points[high] = points[low] @ rotation(cyclic.alpha).T
    return points


def _edges_at(mesh: Mesh, centres: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean edges [mm] of cells and of outer faces at the surface point nearest to each.

    The edge of a spot is that of its faces; cells of a thin wall have longer ones.
    """
    faces = np.concatenate(list(mesh.surfaces.values()))[:, :3]
    sides = mesh.points[faces] - mesh.points[np.roll(faces, 1, axis=1)]
    lengths, edges = np.linalg.norm(sides, axis=2).mean(axis=1), _mean_edges(mesh)
    corners = np.unique(faces)
    _, nearest = cKDTree(mesh.points[corners]).query(centres)
    cells = [(mesh.cells[:, :4] == corner).any(axis=1) for corner in corners[nearest]]
    outer = [(faces == corner).any(axis=1) for corner in corners[nearest]]
    return (
        np.array([edges[members].mean() for members in cells]),
        np.array([lengths[members].mean() for members in outer]),
    )


def _mean_edges(mesh: Mesh) -> FloatArray:
    """Mean edge [mm] of each cell."""
    ends = mesh.points[mesh.cells[:, TET_EDGES]]
    return np.asarray(
        np.linalg.norm(ends[:, :, 1] - ends[:, :, 0], axis=2).mean(axis=1)
    )


def _wanted(
    mesh: Mesh, cyclic: Cyclic, spheres: Sequence[Refinement], first: bool
) -> tuple[FloatArray, BoolArray]:
    """Distances [mm] of cells from each sphere's centre, and which it wants halved.

    Both (n_spheres, n_cells).  Wanted are cells whose edges are longer than the sphere
    allows there; at first all of its core, so that a spot never lies between finer
    cells and such as were short enough before.
    """
    edges, middles = _mean_edges(mesh), mesh.points[mesh.cells[:, :4]].mean(axis=1)
    far = np.array([_distance(middles, np.array(s.centre), cyclic) for s in spheres])
    cores = CORE * np.array([[sphere.radius] for sphere in spheres])
    sizes = np.array([[sphere.size] for sphere in spheres])
    beyond = np.maximum(far - cores, 0.0)
    too_long = edges > SLACK * (sizes + GROWTH * beyond)
    return far, np.asarray(too_long | (first & (beyond == 0.0)))


def _coarse_spot(
    centre: Point, cyclic: Cyclic, unsound: Sequence[UnsoundPart]
) -> CoarseSpot:
    """A place that is given up for the nearest of some parts."""
    places = np.array([part.place for part in unsound])
    nearest = int(_distance(places, np.array(centre), cyclic).argmin())
    return CoarseSpot(centre, f"not refined to its end: {unsound[nearest].reason}")


def _distance(points: FloatArray, centre: FloatArray, cyclic: Cyclic) -> FloatArray:
    """Distance [mm] of points from a place or the nearest of its images beside it."""
    turns = (0,) if cyclic.count == 1 else (-1, 0, 1)
    images = [rotation(turn * cyclic.alpha) @ centre for turn in turns]
    gaps = [np.linalg.norm(points - image, axis=1) for image in images]
    return np.asarray(np.min(gaps, axis=0))
