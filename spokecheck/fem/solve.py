"""Solve the orders of a turning load on a body or on one sector of it.

Orders whose residue modulo N is the same, or its mirror image, share one factor.
A rigid coupling is brought in behind the factor (a Schur complement of two to six
unknowns), so that it leaves the sparse matrix sparse.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.cyclic import rotation, turning_motions
from spokecheck.fem.factor import Factor
from spokecheck.fem.reduction import Reduction
from spokecheck.units import ComplexArray, FloatArray, IntArray


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
    """

    order: int
    nodal: ComplexArray
    force: ComplexArray
    moment: ComplexArray


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


def solve_orders(reduction: Reduction, loads: Sequence[OrderLoad]) -> Displacements:
    """Solve all orders of a load.

    Parameters
    ----------
    reduction : Reduction
        Reduced stiffness.
    loads : sequence of OrderLoad
        One for each order.

    Returns
    -------
    Displacements
        In the order of ``loads``.

    Raises
    ------
    ModelError
        If the body is free to move.
    """
    classes: dict[int, list[int]] = {}
    for index, load in enumerate(loads):
        residue, _ = reduction.cyclic.phase_class(load.order)
        classes.setdefault(residue, []).append(index)
    u = np.zeros((len(loads), *reduction.points.shape), dtype=complex)
    for residue, members in classes.items():
        factor = Factor(reduction.matrix(residue), reduction.order)
        systems = [_System(reduction, loads[index]) for index in members]
        solved = factor.solve(np.hstack([system.rhs for system in systems]))
        start = 0
        for index, system in zip(members, systems, strict=True):
            width = system.rhs.shape[1]
            u[index] = system.displacement(solved[:, start : start + width])
            start += width
    return Displacements(np.array([load.order for load in loads]), u)


class _System:
    """Right-hand sides of one order, and the way back from their solutions.

    The coupled motions have columns of their own; the order's small system for them is
    a Schur complement of those.
    """

    def __init__(self, reduction: Reduction, load: OrderLoad) -> None:
        m, cyclic = load.order, reduction.cyclic
        self._reduction, self._load = reduction, load
        self._conjugate = cyclic.phase_class(m)[1]
        self._motions = reduction.motions(m)
        low, high = reduction.to_coupled
        phase = np.exp(-1j * m * cyclic.alpha)
        self._coupled = (low + phase * high) @ self._motions
        f = np.asarray(load.nodal, dtype=complex).reshape(-1, 1)
        own = np.hstack([reduction.gather(f, m), self._coupled])
        self.rhs = own.conj() if self._conjugate else own

    def displacement(self, solved: ComplexArray) -> ComplexArray:
        """Displacement (n_points, 3) from the solutions of ``rhs``."""
        reduction, motions = self._reduction, self._motions
        x = solved.conj() if self._conjugate else solved
        if not motions.shape[1]:
            return reduction.spread(x[:, :1], self._load.order).reshape(-1, 3)
        back = self._coupled.conj().T
        schur = motions.conj().T @ (reduction.within @ motions) - back @ x[:, 1:]
        f = np.asarray(self._load.nodal, dtype=complex).reshape(-1, 1)
        push = motions.conj().T @ f[reduction.coupled]
        push += drive(self._load, reduction.cyclic.count)[:, None] - back @ x[:, :1]
        amplitudes = solve_small(schur, push)
        u = reduction.spread(x[:, :1] - x[:, 1:] @ amplitudes, self._load.order)
        u[reduction.coupled] = motions @ amplitudes
        return u.reshape(-1, 3)


def solve_small(schur: ComplexArray, push: ComplexArray) -> ComplexArray:
    """Amplitudes of the coupled motions from their small system.

    Raises
    ------
    ModelError
        If it is singular.
    """
    try:
        return np.asarray(np.linalg.solve(schur, push), dtype=complex)
    except np.linalg.LinAlgError as failure:
        raise ModelError("the coupled part is free to move: hold the body") from failure


def drive(load: OrderLoad, count: int) -> ComplexArray:
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
    angle = 2.0 * np.pi / count
    turn = np.zeros((3, 3), dtype=complex)
    for k in range(count):
        turn += np.exp(1j * order * k * angle) * rotation(k * angle)
    return np.asarray(turn @ force), np.asarray(turn @ moment)
