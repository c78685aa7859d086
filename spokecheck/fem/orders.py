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
    coupling : Coupling or None
        At most one rigid coupling; its points must not be held.
    frames : ndarray (n_points, 3, 3) or None
        Columns are the axes of each point's own frame, for oblique supports; None
        where all points keep x, y, z.
    springs : Springs or None
        Springs to the ground.
    """

    held: BoolArray
    coupling: Coupling | None = None
    frames: FloatArray | None = None
    springs: Springs | None = None


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
    force, moment : ndarray (3,)
        Complex resultant [N] and moment [N mm] on the coupling of the whole body,
        about its centre; zero where there is none.
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


def coupling_work(load: OrderLoad, count: int) -> ComplexArray:
    """Work of the coupling's force and moment on its motions, one sector's share."""
    work = [
        np.vdot(motion[0], load.force) + np.vdot(motion[1], load.moment)
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
