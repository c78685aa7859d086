"""Halve cells about some places until their edges are as short as required."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import scipy.sparse as sp

from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.mesh.sound_halving import (
    NO_POINTS,
    PointsPlaced,
    UnsoundPart,
    halve_soundly,
)
from spokecheck.mesh.subdivide import Subdivision
from spokecheck.units import BoolArray, FloatArray, IntArray

SLACK = 1.4
"""Cells whose mean edge exceeds the required one by this factor are halved."""

CORE = 1.0 / 3.0
"""Share of a sphere's radius within which edges are as short as required: one edge
before the refinement, since a spot may turn out to lie that far away."""

GROWTH = 0.8
"""Edges may be longer by this much for each mm away from the core."""

HALVINGS = 4
"""Most halvings in one refinement."""

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Sphere:
    """A place and how short edges must be there.

    Attributes
    ----------
    centre : tuple of float
        x, y, z [mm].
    size : float
        Largest mean edge of a cell [mm].
    radius : float
        Its core, ``CORE`` of it [mm], is halved in any case.
    """

    centre: Point
    size: float
    radius: float


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
class HalvedCells:
    """A mesh some of whose cells were halved.

    Attributes
    ----------
    mesh : Mesh
    cyclic : Cyclic
    carry : csr_array (n_points, n_points_before)
        Values at the points from values at those before, which come first.
    parent : ndarray (n_cells,)
        Cell before that each one is a part of.
    halved : ndarray (n_cells,) of bool
        Whether it is only a part.
    given_up : tuple of CoarseSpot
        Places about which cells had to stay whole.
    """

    mesh: Mesh
    cyclic: Cyclic
    carry: sp.csr_array
    parent: IntArray
    halved: BoolArray
    given_up: tuple[CoarseSpot, ...] = ()


def halve_about(
    mesh: Mesh,
    cyclic: Cyclic,
    spheres: Sequence[Sphere],
    edges: FloatArray,
    place: Callable[[Mesh, Subdivision], PointsPlaced] | None = None,
    kept: IntArray = NO_POINTS,
) -> HalvedCells:
    """Halve cells about some places.

    Parameters
    ----------
    mesh, cyclic
        A body.
    spheres : sequence of Sphere
        Places and required edges.
    edges : ndarray (n_spheres,)
        Mean edge [mm] of the cells at each centre now.
    place : callable, optional
        From the mesh before a halving and its outcome to where the points are put;
        where the shape functions of the parents have them if not given.
    kept : ndarray (n,), optional
        Mid-side points whose edges must not be halved.

    Returns
    -------
    HalvedCells
        All parts of cells are sound, see ``halve_soundly``; places where cells had to
        stay whole for that are ``given_up``.
    """
    # carry interpolates from the mesh before
    carry, halved = sp.eye_array(mesh.n_points), np.zeros(mesh.n_cells, dtype=bool)
    parent = np.arange(mesh.n_cells)
    given_up: dict[Point, CoarseSpot] = {}
    for turn in range(HALVINGS):
        far, wanted = _wanted(mesh, cyclic, spheres, turn == 0)
        put = None if place is None else partial(place, mesh)
        marked = np.asarray(wanted.any(axis=0))
        halving = halve_soundly(mesh, marked, cyclic.pairs, put, kept)
        at_centre = far < edges[:, None]
        for k in np.flatnonzero((wanted & at_centre & halving.whole).any(axis=1)):
            spot = _coarse_spot(spheres[int(k)].centre, cyclic, halving.unsound)
            given_up.setdefault(spot.centre, spot)
        step = halving.step
        if not step.halved.any():
            break
        mesh, cyclic = step.mesh, replace(cyclic, pairs=step.pairs)
        carry, parent = step.carry @ carry, parent[step.parent]
        halved = halved[step.parent] | step.halved
    return HalvedCells(
        mesh=mesh,
        cyclic=cyclic,
        carry=sp.csr_array(carry),
        parent=parent,
        halved=halved,
        given_up=tuple(given_up.values()),
    )


def mean_edges(mesh: Mesh) -> FloatArray:
    """Mean edge [mm] of each cell."""
    ends = mesh.points[mesh.cells[:, TET_EDGES]]
    return np.asarray(
        np.linalg.norm(ends[:, :, 1] - ends[:, :, 0], axis=2).mean(axis=1)
    )


def _wanted(
    mesh: Mesh, cyclic: Cyclic, spheres: Sequence[Sphere], first: bool
) -> tuple[FloatArray, BoolArray]:
    """Distances [mm] of cells from each sphere's centre, and which it wants halved.

    Both (n_spheres, n_cells).  Wanted are cells whose edges are longer than the sphere
    allows there; at first all of its core, so that a spot never lies between finer
    cells and such as were short enough before.
    """
    edges, middles = mean_edges(mesh), mesh.points[mesh.cells[:, :4]].mean(axis=1)
    far = np.array([distance(middles, np.array(s.centre), cyclic) for s in spheres])
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
    nearest = int(distance(places, np.array(centre), cyclic).argmin())
    return CoarseSpot(centre, f"not refined to its end: {unsound[nearest].reason}")


def distance(points: FloatArray, centre: FloatArray, cyclic: Cyclic) -> FloatArray:
    """Distance [mm] of points from a place or the nearest of its images beside it."""
    turns = (0,) if cyclic.count == 1 else (-1, 0, 1)
    images = [rotation(turn * cyclic.alpha) @ centre for turn in turns]
    gaps = [np.linalg.norm(points - image, axis=1) for image in images]
    return np.asarray(np.min(gaps, axis=0))
