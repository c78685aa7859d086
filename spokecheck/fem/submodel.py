"""Solve a part of a body again on a finer mesh, the rest standing as it was.

The displacement of the whole body, carried over to a mesh of which some cells were
halved, is in balance everywhere but near these.
What is out of balance is put right within a neighbourhood, whose edge stays where the
coarser mesh had it, and stress is recovered anew there.
The wider the neighbourhood, the less its edge matters: the stiffness about a notch
hardly changes with the mesh, the stress in it does.
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
        The part, its points numbered within ``points``.
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
    seen : ndarray (n_points,) of bool
        Points of the body whose stress is found anew.
    inner : SubmodelBody
        All cells that touch points that may move.
    stiffness : Stiffness
        Of ``inner``.
    ring : SubmodelBody
        The cells that stress at the seen points asks for.
    recovery : Recovery
        Of ``ring``, at the points of cells at seen points.
    """

    free: BoolArray
    seen: BoolArray
    inner: SubmodelBody
    stiffness: Stiffness
    ring: SubmodelBody
    recovery: Recovery


@dataclass(frozen=True)
class SubmodelResponse:
    """What a neighbourhood does under the orders of one load.

    Attributes
    ----------
    u : ndarray (n_orders, n_points, 3)
        Displacement of the whole body [mm].
    points : ndarray (n_seen,)
        Points of the body whose stress is found anew.
    stress : ndarray (n_orders, n_seen, 6)
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
    seen: BoolArray,
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
    seen : ndarray (n_points,) of bool
        Points whose stress is wanted anew.

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
    free, seen = _with_images(cyclic, free), _with_images(cyclic, seen)
    inner = _part(mesh, cyclic, elastic, _touching(mesh, free))
    wanted = members = _touching(mesh, seen)
    for _ in range(LAYERS):
        touched = np.zeros(mesh.n_points, dtype=bool)
        touched[mesh.cells[members]] = True
        members = _touching(mesh, _with_images(cyclic, touched))
    ring = _part(mesh, cyclic, elastic, members)
    own, groups = ring.mesh, ring.elastic.groups
    recovery, stiffness = both(
        partial(patch_recovery, own.points, own.cells, ring.cyclic, groups),
        partial(make_stiffness, inner.mesh, inner.cyclic, inner.elastic.lame),
    )
    needed = np.zeros(mesh.n_points, dtype=bool)
    needed[mesh.cells[wanted]] = True
    at_them = recovery.only(needed[ring.points])
    return Submodel(free, seen, inner, stiffness, ring, at_them)


def _with_images(cyclic: Cyclic, marked: BoolArray) -> BoolArray:
    """Marked points, and their images on the other cut."""
    twice = marked.copy()
    twice[cyclic.pairs] = marked[cyclic.pairs].any(axis=1, keepdims=True)
    return twice


def _touching(mesh: Mesh, marked: BoolArray) -> BoolArray:
    """Cells (n_cells,) with a marked point."""
    return np.asarray(marked[mesh.cells].any(axis=1))


def _part(
    mesh: Mesh, cyclic: Cyclic, elastic: Elastic, members: BoolArray
) -> SubmodelBody:
    points, flat = np.unique(mesh.cells[members], return_inverse=True)
    number = np.full(mesh.n_points, -1)
    number[points] = np.arange(len(points))
    pairs = number[cyclic.pairs]
    pairs = pairs[(pairs >= 0).all(axis=1)]
    own = Mesh(mesh.points[points], flat.reshape(-1, 10))
    return SubmodelBody(points, own, replace(cyclic, pairs=pairs), elastic.of(members))


def solve_submodel(
    near: Submodel,
    supports: Supports,
    loads: Sequence[OrderLoad],
    u: ComplexArray,
) -> SubmodelResponse:
    """Bring a neighbourhood into balance and recover its stress.

    Parameters
    ----------
    near : Submodel
        Where.
    supports : Supports
        Of the whole body; what they hold and couple stays where ``u`` has it.
    loads : sequence of OrderLoad
        One for each field of ``u``.
    u : ndarray (n_loads, n_points, 3)
        Displacements [mm] of the whole body, such as those carried over from a coarser
        mesh.

    Returns
    -------
    SubmodelResponse
    """
    inner, ring = near.inner, near.ring
    held = supports.held | ~near.free[:, None]
    if supports.coupling is not None:
        held[supports.coupling.nodes] = True
    pull = near.stiffness.times(np.ascontiguousarray(u[:, inner.points]))
    zero = np.zeros(3, dtype=complex)
    left = [
        OrderLoad(load.order, load.nodal[inner.points] - own, zero, zero)
        for load, own in zip(loads, pull, strict=True)
    ]
    still = Supports(held[inner.points])
    moved = solve_sector(near.stiffness, inner.mesh.points, inner.cyclic, still, left)
    found = u.copy()
    found[:, inner.points] += moved.u
    cells = ring.mesh.cells
    own = np.ascontiguousarray(found[:, ring.points])
    raw = cell_stress(ring.mesh.points, cells, own, ring.elastic.lame)
    stress = near.recovery.nodal(raw, moved.orders)
    seen = near.seen[ring.points]
    return SubmodelResponse(found, ring.points[seen], stress[:, seen])
