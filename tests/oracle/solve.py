"""Solve the orders of a turning load on a body or on one sector of it.

Orders whose residue modulo N is the same, or its mirror image, share one factor.
A rigid coupling is brought in behind the factor (a Schur complement of two to six
unknowns), so that it leaves the sparse matrix sparse.
"""

from collections.abc import Sequence

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.cyclic import turning_motions
from spokecheck.fem.orders import Displacements, OrderLoad
from spokecheck.units import ComplexArray
from tests.oracle.factor import Factor
from tests.oracle.reduction import Reduction


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
        own = np.hstack([reduction.restrict(f, m), self._coupled])
        self.rhs = own.conj() if self._conjugate else own

    def displacement(self, solved: ComplexArray) -> ComplexArray:
        """Displacement (n_points, 3) from the solutions of ``rhs``."""
        reduction, motions = self._reduction, self._motions
        x = solved.conj() if self._conjugate else solved
        if not motions.shape[1]:
            return reduction.expand(x[:, :1], self._load.order).reshape(-1, 3)
        back = self._coupled.conj().T
        schur = motions.conj().T @ (reduction.within @ motions) - back @ x[:, 1:]
        f = np.asarray(self._load.nodal, dtype=complex).reshape(-1, 1)
        push = motions.conj().T @ f[reduction.coupled]
        push += drive(self._load, reduction.cyclic.count)[:, None] - back @ x[:, :1]
        amplitudes = solve_small(schur, push)
        u = reduction.expand(x[:, :1] - x[:, 1:] @ amplitudes, self._load.order)
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
