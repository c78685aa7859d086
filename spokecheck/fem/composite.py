"""A body some of whose cells were halved, solved as a whole with the factor of before.

The body before has been factored; the finer one differs at a few places.
Its exact answer follows by turns: the places about the halved cells are solved with all
else held, and what this leaves out of balance is solved on the body before and carried
over.
Between the turns the residual force f - K u stands only where a place meets the rest,
so no stiffness but that of the places is ever made, on both meshes:

    K u = K_f u + E (K_c - K_p) u_c        for u carried over from u_c

with K_f of the fine cells of the places, K_p of their parents, K_c of the body before,
and E the points before among those of the finer mesh.

References
----------
McCormick, Fast adaptive composite grid (FAC) methods, in: Defect Correction Methods,
Computing Suppl. 5 (1984) 115-121 (from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse as sp

from spokecheck.errors import ModelError
from spokecheck.fem.body import Body, Elastic
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.fem.sector import SupportedFactor
from spokecheck.fem.stiffness import Stiffness, make_stiffness
from spokecheck.fem.submodel import (
    Submodel,
    SubmodelBody,
    extract,
    make_submodel,
    touching,
)
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray, IntArray

OVERLAP = 2
"""Layers of cells beyond the halved ones that are solved with them."""

SMALL = 1.0e-3
"""A turn that moves no point by more than this share of the largest displacement is
the last."""

MOST_TURNS = 25
"""Turns after which the body is solved in another way."""


@dataclass(frozen=True)
class CompositeBody:
    """A body on a finer mesh, and the body before.

    Attributes
    ----------
    before : Body
    mesh, cyclic, elastic
        The finer body.
    carry : csr_array (n_points, n_points_before)
        Values at the points from values at those before, which come first.
    parent : ndarray (n_cells,)
        Cell of the mesh before that each cell is, or is part of.
    """

    before: Body
    mesh: Mesh
    cyclic: Cyclic
    elastic: Elastic
    carry: sp.csr_array
    parent: IntArray

    def places(self) -> "Places":
        """All cells that were halved and some layers about them, on both meshes."""
        parts = np.bincount(self.parent, minlength=self.before.mesh.n_cells)
        free = np.zeros(self.mesh.n_points, dtype=bool)
        free[self.mesh.cells[parts[self.parent] > 1]] = True
        for _ in range(OVERLAP):
            free[self.mesh.cells[touching(self.mesh, free)]] = True
        near = make_submodel(self.mesh, self.cyclic, self.elastic, free)
        parents = np.zeros(self.before.mesh.n_cells, dtype=bool)
        parents[self.parent[touching(self.mesh, near.free)]] = True
        before = self.before
        coarse = extract(before.mesh, before.cyclic, before.elastic, parents)
        return Places(near, coarse)


@dataclass(frozen=True)
class Places:
    """Where the finer body is solved by itself.

    Attributes
    ----------
    near : Submodel
        On the finer mesh.
    coarse : SubmodelBody
        The parents of its cells.
    """

    near: Submodel
    coarse: SubmodelBody

    @cached_property
    def coarse_stiffness(self) -> Stiffness:
        """Stiffness of the parents."""
        coarse = self.coarse
        return make_stiffness(coarse.mesh, coarse.cyclic, coarse.elastic.lame)

    def fine_forces(self, u: ComplexArray, forces: ComplexArray) -> None:
        """Subtract K_f u from forces (n, n_points, 3), in place."""
        points = self.near.region.points
        own = np.ascontiguousarray(u[:, points])
        forces[:, points] -= self.near.stiffness.times(own)

    def coarse_forces(self, u: ComplexArray, forces: ComplexArray) -> None:
        """Add E K_p u_c to forces (n, n_points, 3), in place."""
        points = self.coarse.points
        own = np.ascontiguousarray(u[:, points])
        forces[:, points] += self.coarse_stiffness.times(own)


Solve = Callable[[Sequence[OrderLoad]], ComplexArray]
"""Displacements (n_loads, n_points, 3) [mm] of a body from loads of any orders."""


@dataclass(frozen=True)
class Solved:
    """A load case solved on the body before.

    Attributes
    ----------
    loads : sequence of OrderLoad
        Nothing is prescribed.
    u : ndarray (n_loads, n_points, 3)
        Complex displacement [mm].
    solve : callable
        Displacements (n, n_points, 3) [mm] of the body before, under the same supports,
        from loads of any orders.
    """

    loads: Sequence[OrderLoad]
    u: ComplexArray
    solve: Solve


def solve_composite(
    body: CompositeBody,
    places: Places,
    supports: Supports,
    loads: Sequence[OrderLoad],
    before: Solved,
) -> ComplexArray:
    """Solve the finer body as a whole.

    Parameters
    ----------
    body : CompositeBody
    places : Places
        Of the body.
    supports, loads
        Of the finer body; the same load case as before.
    before : Solved
        The load case on the body before.

    Returns
    -------
    ndarray (n_loads, n_points, 3)
        Complex displacement [mm].

    Raises
    ------
    ModelError
        If the turns do not settle.
    """
    n_before, carry = body.before.mesh.n_points, body.carry
    back = sp.csr_array(carry.T)
    # 1. start from what the body before says, and the residual that leaves
    u = _each(carry, before.u)
    forces = np.array([load.nodal for load in loads], dtype=complex)
    places.fine_forces(u, forces)
    forces[:, :n_before] -= np.array([load.nodal for load in before.loads])
    places.coarse_forces(before.u, forces)
    # 2. factor of the places, all else held
    near = places.near
    held = supports.held | ~near.free[:, None]
    held[supports.coupled] = True
    region = near.region
    local = SupportedFactor(
        near.stiffness, region.cyclic, Supports(held[region.points])
    )
    orders = np.array([load.order for load in loads])
    zero = np.zeros(3, dtype=complex)
    size = float(np.abs(u).max())
    for _ in range(MOST_TURNS):
        # 3. the places by themselves
        moved = np.zeros_like(u)
        own = np.ascontiguousarray(forces[:, region.points])
        moved[:, region.points] = local.solve(own, orders)
        u += moved
        places.fine_forces(moved, forces)
        # 4. what is left, on the body before
        left = _each(back, forces)
        rest = [
            OrderLoad(int(m), f, zero, zero) for m, f in zip(orders, left, strict=True)
        ]
        turn = before.solve(rest)
        moved = _each(carry, turn)
        u += moved
        places.fine_forces(moved, forces)
        forces[:, :n_before] -= left
        places.coarse_forces(turn, forces)
        if float(np.abs(moved).max()) < SMALL * size:
            own = np.ascontiguousarray(forces[:, region.points])
            u[:, region.points] += local.solve(own, orders)
            return u
    raise ModelError(
        f"the finer body did not settle in {MOST_TURNS} turns with the one before: "
        "solve it by itself"
    )


def _each(matrix: sp.csr_array, fields: ComplexArray) -> ComplexArray:
    """A real sparse matrix times each of some fields (n, n_points, 3)."""
    return np.stack([matrix @ field for field in fields])
