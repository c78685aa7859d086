"""A submodel: part of a body solved again on a finer mesh.

The displacement of the whole body, carried over to a mesh of which some cells were
halved, is in balance everywhere but near these.
The residual forces are put right within a region whose boundary stays where the coarser
mesh had it, and stress is recovered anew there.
The wider the region, the less its boundary matters: the stiffness about a notch hardly
changes with the mesh, the stress in it does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.fem.parallel import both
from spokecheck.fem.recovery import Recovery, patch_recovery
from spokecheck.fem.sector import solve_sector
from spokecheck.fem.stiffness import Stiffness, make_stiffness
from spokecheck.fem.stress import cell_stress
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, ComplexArray, IntArray

LAYERS = 2
"""Layers of cells beyond a point that its recovered stress may ask for."""


@dataclass(frozen=True)
class SubmodelBody:
    """Some cells of a body as a body of their own.

    Attributes
    ----------
    points : ndarray (n_own_points,)
        Points of the body, sorted.
    mesh : Mesh
        The cells, their points numbered within ``points``.
    cyclic : Cyclic
        Its pairs on the cuts.
    elastic : Elastic
        Constants of its cells.
    """

    points: IntArray
    mesh: Mesh
    cyclic: Cyclic
    elastic: Elastic


@dataclass(frozen=True)
class Submodel:
    """Where a body is solved again.

    Attributes
    ----------
    free : ndarray (n_points,) of bool
        Points of the body that may move.
    recovered : ndarray (n_points,) of bool
        Points of the body whose stress is recovered anew.
    region : SubmodelBody
        All cells that touch points that may move.
    stiffness : Stiffness
        Of ``region``.
    patches : SubmodelBody
        The cells that stress at the recovered points asks for.
    recovery : Recovery
        Of ``patches``, at the points of cells at recovered points.
    """

    free: BoolArray
    recovered: BoolArray
    region: SubmodelBody
    stiffness: Stiffness
    patches: SubmodelBody
    recovery: Recovery


@dataclass(frozen=True)
class SubmodelResponse:
    """What a submodel does under the orders of one load.

    Attributes
    ----------
    u : ndarray (n_orders, n_points, 3)
        Displacement of the whole body [mm].
    points : ndarray (n_recovered,)
        Points of the body whose stress is recovered anew.
    stress : ndarray (n_orders, n_recovered, 6)
        Recovered complex stress there [MPa].
    """

    u: ComplexArray
    points: IntArray
    stress: ComplexArray


def make_submodel(
    mesh: Mesh,
    cyclic: Cyclic,
    elastic: Elastic,
    free: BoolArray,
    recovered: BoolArray,
) -> Submodel:
    """Make a part of a body ready to be solved again.

    Parameters
    ----------
    mesh, cyclic
        The body.
    elastic : Elastic
        Constants of its cells.
    free : ndarray (n_points,) of bool
        Points that may move.
    recovered : ndarray (n_points,) of bool
        Points whose stress is to be recovered anew.

    Returns
    -------
    Submodel

    Raises
    ------
    ModelError
        If no point may move.
    """
    if not free.any():
        raise ModelError("no point lies near the hot spots: nothing to solve again")
    free, recovered = _with_images(cyclic, free), _with_images(cyclic, recovered)
    region = _extract(mesh, cyclic, elastic, _touching(mesh, free))
    # cells at recovered points, and the layers that their patches reach
    at_recovered = members = _touching(mesh, recovered)
    for _ in range(LAYERS):
        touched = np.zeros(mesh.n_points, dtype=bool)
        touched[mesh.cells[members]] = True
        members = _touching(mesh, _with_images(cyclic, touched))
    patches = _extract(mesh, cyclic, elastic, members)
    part, groups = patches.mesh, patches.elastic.groups
    recovery, stiffness = both(
        partial(patch_recovery, part.points, part.cells, patches.cyclic, groups),
        partial(make_stiffness, region.mesh, region.cyclic, region.elastic.lame),
    )
    needed = np.zeros(mesh.n_points, dtype=bool)
    needed[mesh.cells[at_recovered]] = True
    needed_recovery = recovery.only(needed[patches.points])
    return Submodel(free, recovered, region, stiffness, patches, needed_recovery)


def _with_images(cyclic: Cyclic, marked: BoolArray) -> BoolArray:
    """Marked points, and their images on the other cut."""
    twice = marked.copy()
    twice[cyclic.pairs] = marked[cyclic.pairs].any(axis=1, keepdims=True)
    return twice


def _touching(mesh: Mesh, marked: BoolArray) -> BoolArray:
    """Cells (n_cells,) with a marked point."""
    return np.asarray(marked[mesh.cells].any(axis=1))


def _extract(
    mesh: Mesh, cyclic: Cyclic, elastic: Elastic, members: BoolArray
) -> SubmodelBody:
    """Cells (n_cells,) of bool as a body of their own."""
    points, flat = np.unique(mesh.cells[members], return_inverse=True)
    number = np.full(mesh.n_points, -1)
    number[points] = np.arange(len(points))
    pairs = number[cyclic.pairs]
    pairs = pairs[(pairs >= 0).all(axis=1)]
    part = Mesh(mesh.points[points], flat.reshape(-1, 10))
    return SubmodelBody(points, part, replace(cyclic, pairs=pairs), elastic.of(members))


def solve_submodel(
    submodel: Submodel,
    supports: Supports,
    loads: Sequence[OrderLoad],
    u: ComplexArray,
) -> SubmodelResponse:
    """Bring a submodel into balance and recover its stress.

    Parameters
    ----------
    submodel : Submodel
        Where.
    supports : Supports
        Of the whole body, held along x, y, z; what they hold and couple stays where
        ``u`` has it.
    loads : sequence of OrderLoad
        One for each field of ``u``.
    u : ndarray (n_loads, n_points, 3)
        Displacements [mm] of the whole body, such as those carried over from a coarser
        mesh.

    Returns
    -------
    SubmodelResponse
    """
    region, patches = submodel.region, submodel.patches
    # 1. hold the boundary, and what supports hold or couple
    held = supports.held | ~submodel.free[:, None]
    held[supports.coupled] = True
    # 2. residual forces f - K u on the region
    internal = submodel.stiffness.times(np.ascontiguousarray(u[:, region.points]))
    zero = np.zeros(3, dtype=complex)
    residuals = [
        OrderLoad(load.order, load.nodal[region.points] - forces, zero, zero)
        for load, forces in zip(loads, internal, strict=True)
    ]
    # 3. the correction they cause
    mesh, fixed = region.mesh, Supports(held[region.points])
    correction = solve_sector(
        submodel.stiffness, mesh.points, region.cyclic, fixed, residuals
    )
    corrected = u.copy()
    corrected[:, region.points] += correction.u
    # 4. stress, anew at the recovered points
    part = patches.mesh
    in_patches = np.ascontiguousarray(corrected[:, patches.points])
    raw = cell_stress(part.points, part.cells, in_patches, patches.elastic.lame)
    stress = submodel.recovery.nodal(raw, correction.orders)
    recovered = submodel.recovered[patches.points]
    return SubmodelResponse(corrected, patches.points[recovered], stress[:, recovered])
