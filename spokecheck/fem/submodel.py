"""A submodel: part of a body solved again on a finer mesh.

The displacement of the whole body, carried over to a mesh of which some cells were
halved, is in balance everywhere but near these.
The residual forces are put right within a region whose boundary stays where the coarser
mesh had it.
The wider the region, the less its boundary matters: the stiffness about a notch hardly
changes with the mesh, the stress in it does.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import Cyclic, numbered_within
from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.fem.recovery import patch_recovery
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
    region : SubmodelBody
        All cells that touch points that may move.
    """

    free: BoolArray
    region: SubmodelBody

    @cached_property
    def stiffness(self) -> Stiffness:
        """Stiffness of the region."""
        region = self.region
        return make_stiffness(region.mesh, region.cyclic, region.elastic.lame)


def make_submodel(
    mesh: Mesh, cyclic: Cyclic, elastic: Elastic, free: BoolArray
) -> Submodel:
    """Part of a body that is to be solved again.

    Parameters
    ----------
    mesh, cyclic
        The body.
    elastic : Elastic
        Constants of its cells.
    free : ndarray (n_points,) of bool
        Points that may move; their images on the other cut move with them.

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
    free = with_images(cyclic, free)
    return Submodel(free, extract(mesh, cyclic, elastic, touching(mesh, free)))


def recovered_at(
    mesh: Mesh,
    cyclic: Cyclic,
    elastic: Elastic,
    u: ComplexArray,
    orders: IntArray,
    points: IntArray,
) -> ComplexArray:
    """Stress recovered at a few points, from the cells about them alone.

    Parameters
    ----------
    mesh, cyclic, elastic
        The body.
    u : ndarray (n_orders, n_points, 3)
        Complex displacement [mm].
    orders : ndarray (n_orders,)
        Fourier order of each field.
    points : ndarray (n,)
        Points asked for.

    Returns
    -------
    ndarray (n_orders, n, 6)
        Complex stress [MPa], as ``Response.stress`` has it.
    """
    # cells that the patches of the points, and of the corners beside them, reach
    touched = np.zeros(mesh.n_points, dtype=bool)
    touched[points] = True
    for _ in range(LAYERS + 1):
        touched = with_images(cyclic, touched)
        members = touching(mesh, touched)
        touched[mesh.cells[members]] = True
    part = extract(mesh, cyclic, elastic, members)
    own = part.mesh
    recovery = patch_recovery(own.points, own.cells, part.cyclic, part.elastic.groups)
    near = np.ascontiguousarray(u[:, part.points])
    raw = cell_stress(own.points, own.cells, near, part.elastic.lame)
    stress = recovery.nodal(raw, orders)
    return np.asarray(stress[:, np.searchsorted(part.points, points)])


def with_images(cyclic: Cyclic, marked: BoolArray) -> BoolArray:
    """Marked points, and their images on the other cut."""
    twice = marked.copy()
    twice[cyclic.pairs] = marked[cyclic.pairs].any(axis=1, keepdims=True)
    return twice


def touching(mesh: Mesh, marked: BoolArray) -> BoolArray:
    """Cells (n_cells,) with a marked point."""
    return np.asarray(marked[mesh.cells].any(axis=1))


def extract(
    mesh: Mesh, cyclic: Cyclic, elastic: Elastic, members: BoolArray
) -> SubmodelBody:
    """Cells (n_cells,) of bool as a body of their own."""
    points, flat = np.unique(mesh.cells[members], return_inverse=True)
    part = Mesh(mesh.points[points], flat.reshape(-1, 10))
    own = numbered_within(cyclic, points, mesh.n_points)
    return SubmodelBody(points, part, own, elastic.of(members))


def solve_submodel(
    submodel: Submodel,
    supports: Supports,
    loads: Sequence[OrderLoad],
    u: ComplexArray,
) -> ComplexArray:
    """Bring a submodel into balance.

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
    ndarray (n_loads, n_points, 3)
        Displacements [mm] of the whole body.
    """
    region = submodel.region
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
    return corrected
