"""What a body is asked: the load of each Fourier order, and what supports it.

These records know no mesh and no factor, so that load cases can be written, and an
independent solver be asked the same question.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.fem.cyclic import rotation, turning_motions
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class Coupling:
    """Points that move as one rigid body.

    Attributes
    ----------
    nodes : ndarray (n_nodes,)
        Point numbers.
    centre : ndarray (3,)
        Point [mm] about which the rigid rotation is counted; on the z axis if the body
        is a sector.
    """

    nodes: IntArray
    centre: FloatArray


@dataclass(frozen=True)
class Springs:
    """Stiffness that is added between pairs of points, such as a foundation's.

    Attributes
    ----------
    rows, columns : ndarray (n_pairs,)
        Points of each pair; they must share a cell, and every pair of different points
        stands in both orders.
    blocks : ndarray (n_pairs, 3, 3)
        Stiffness [N/mm]; entries of equal pairs add up.
    """

    rows: IntArray
    columns: IntArray
    blocks: FloatArray


@dataclass(frozen=True)
class Supports:
    """What is held, coupled and sprung.

    Attributes
    ----------
    held : ndarray (n_points, 3) of bool
        Components, counted in ``frames``, whose displacement is prescribed: zero,
        unless the load says otherwise.  On the high cut of a sector those of the low
        cut count.
    couplings : tuple of Coupling
        Rigid couplings; their points must not be held, and belong to one only.
    frames : ndarray (n_points, 3, 3) or None
        Columns are the axes of each point's own frame, for oblique supports; None
        where all points keep x, y, z.
    springs : Springs or None
        Springs to the ground.
    """

    held: BoolArray
    couplings: tuple[Coupling, ...] = ()
    frames: FloatArray | None = None
    springs: Springs | None = None

    @property
    def coupled(self) -> IntArray:
        """All points that a coupling moves (n_coupled,)."""
        nodes = [coupling.nodes for coupling in self.couplings]
        return np.concatenate([np.empty(0, dtype=np.int64), *nodes])


@dataclass(frozen=True)
class OrderLoad:
    """The load of one Fourier order.

    Attributes
    ----------
    order : int
        m, zero or positive.
    nodal : ndarray (n_points, 3)
        Complex nodal forces [N] of the sector; a force on a shared cut point may sit
        on either side.
    force, moment : ndarray (3,) or (n_couplings, 3)
        Complex resultant [N] and moment [N mm] on each coupling of the whole body, or
        on the first, about its centre; zero where there is none.
    prescribed : ndarray (n_points, 3) or None
        Complex displacement [mm] in x, y, z of what is held, zero along what is free;
        None if all of it is zero.  On a sector it must meet the condition of the order
        at the cuts.
    """

    order: int
    nodal: ComplexArray
    force: ComplexArray
    moment: ComplexArray
    prescribed: ComplexArray | None = None

    def on_couplings(self, count: int) -> tuple[ComplexArray, ComplexArray]:
        """Force and moment (count, 3) on each of so many couplings."""
        both = np.zeros((2, count, 3), dtype=complex)
        for whole, given in zip(both, (self.force, self.moment), strict=True):
            rows = given.reshape(-1, 3)[:count]
            whole[: len(rows)] = rows
        return both[0], both[1]


@dataclass(frozen=True)
class Displacements:
    """Solution of a list of orders.

    Attributes
    ----------
    orders : ndarray (n_orders,)
    u : ndarray (n_orders, n_points, 3)
        Complex nodal displacement [mm]; at turn angle phi it is
        ``Re sum_m u_m exp(-i m phi)``.
    """

    orders: IntArray
    u: ComplexArray


def coupling_work(load: OrderLoad, count: int, n_couplings: int) -> ComplexArray:
    """Work of the couplings' forces and moments on their motions, one sector's share.

    The motions of the first coupling come first.
    """
    work = [
        np.vdot(motion[0], force) + np.vdot(motion[1], moment)
        for force, moment in zip(*load.on_couplings(n_couplings), strict=True)
        for _, motion in turning_motions(load.order, count)
    ]
    return np.array(work, dtype=np.complex128) / complex(count)


def whole_body_resultant(
    points: FloatArray,
    forces: ComplexArray,
    order: int,
    count: int,
    centre: FloatArray,
) -> tuple[ComplexArray, ComplexArray]:
    """Resultant of nodal forces over all sectors.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Sector coordinates [mm].
    forces : ndarray (n_points, 3)
        Nodal forces [N] of one order on the sector.
    order, count : int
        Order m and number of sectors N.
    centre : ndarray (3,)
        Moment centre [mm], on the z axis.

    Returns
    -------
    force, moment : ndarray (3,)
        Complex force [N] and moment [N mm] of the whole body.
    """
    force = forces.sum(axis=0)
    moment = np.cross(points - centre, forces).sum(axis=0)
    # sector k carries exp(i m k alpha) R^k times the vectors of the first one
    angle = 2.0 * np.pi / count
    turn = np.zeros((3, 3), dtype=complex)
    for k in range(count):
        turn += np.exp(1j * order * k * angle) * rotation(k * angle)
    return np.asarray(turn @ force), np.asarray(turn @ moment)
