"""All orders of a load on a body, whole or one sector of it, by one real factor.

Everything but the two cuts is eliminated once, in real arithmetic (``fronts``).
What is left couples the low cut and the high one, and each residue of the order modulo
N has a small dense Hermitian matrix of its own (``cuts``).
A whole body has no cuts, and nothing is left.
Rigid couplings come in behind the factor, as a Schur complement of two to six unknowns
each, since their dense columns would fill the factor.
"""

from collections.abc import Sequence
from typing import TypeVar

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.cuts import TiedCuts
from spokecheck.fem.cyclic import Cyclic, rigid_field, turning_motions
from spokecheck.fem.fronts import FrontalFactor
from spokecheck.fem.joined_stiffness import JoinedStiffness
from spokecheck.fem.orders import (
    Displacements,
    OrderLoad,
    Supports,
    coupling_work,
)
from spokecheck.fem.ring import JoinedFactor
from spokecheck.fem.stiffness import Stiffness, to_columns, to_fields
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray

Values = TypeVar("Values", FloatArray, BoolArray)


def solve_sector(
    stiffness: Stiffness | JoinedStiffness,
    points: FloatArray,
    cyclic: Cyclic,
    supports: Supports,
    loads: Sequence[OrderLoad],
) -> Displacements:
    """Solve all orders of a load.

    Parameters
    ----------
    stiffness : Stiffness or JoinedStiffness
        Of the sector, or of the whole body; without springs.
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cyclic : Cyclic
        Symmetry and the point pairs of the two cuts.
    supports : Supports
        Held, coupled and sprung points.
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
    return SectorSolver(stiffness, points, cyclic, supports).solve(loads)


class SectorSolver:
    """A body under given supports, factored once and then loaded as often as wanted.

    Parameters
    ----------
    stiffness, points, cyclic, supports
        As for ``solve_sector``.
    """

    def __init__(
        self,
        stiffness: Stiffness | JoinedStiffness,
        points: FloatArray,
        cyclic: Cyclic,
        supports: Supports,
    ) -> None:
        if supports.springs is not None:
            stiffness = stiffness.with_springs(supports.springs)
        self._stiffness, self._points = stiffness, points
        self._cyclic, self._supports = cyclic, supports
        self._factor = _factored(stiffness, cyclic, supports)
        self._borders: dict[int, Border | None] = {}

    def solve(self, loads: Sequence[OrderLoad]) -> Displacements:
        """Solve all orders of a load; see ``solve_sector``."""
        # 1. what is prescribed moves to the right-hand side: u = v + w, K w = f - K v
        forces, prescribed = _right_hand_sides(self._stiffness, loads)
        # 2. rigid motions G of the coupled points, and the forces K G they need
        orders = np.array([load.order for load in loads])
        fresh = [m for m in dict.fromkeys(orders.tolist()) if m not in self._borders]
        motions = {m: self._motions(m) for m in fresh}
        stacked = np.concatenate(
            [np.zeros((0, *self._points.shape)), *motions.values()]
        )
        pulled = self._stiffness.times(stacked) if len(stacked) else stacked
        # 3. one solution for all sides: the loads first, then the forces of the motions
        width = np.array([len(motions[m]) for m in fresh], dtype=np.int64)
        of_side = np.concatenate([orders, np.repeat(np.array(fresh, int), width)])
        solved = self._factor.solve(np.concatenate([forces, pulled]), of_side)
        ends = np.cumsum(width)
        for m, end in zip(fresh, ends.tolist(), strict=True):
            of_order = slice(end - len(motions[m]), end)
            answers = solved[len(loads) :][of_order]
            self._borders[m] = (
                Border(motions[m], pulled[of_order], answers) if len(answers) else None
            )
        # 4. the small system of the coupling, order by order
        u = np.empty((len(loads), *self._points.shape), dtype=complex)
        for k, load in enumerate(loads):
            u[k] = solved[k] + prescribed[k]
            border = self._borders[load.order]
            if border is not None:
                n_couplings = len(self._supports.couplings)
                work = coupling_work(load, self._cyclic.count, n_couplings)
                push = border.work(forces[k]) + work
                u[k] = border.solve(push, solved[k])[0] + prescribed[k]
        return Displacements(orders, u)

    def _motions(self, order: int) -> ComplexArray:
        return _motions(self._points, self._cyclic, self._supports, order)


def _factored(
    stiffness: Stiffness | JoinedStiffness, cyclic: Cyclic, supports: Supports
) -> "SupportedFactor | JoinedFactor":
    """Factor of a sector or whole body, or of one joined of two parts' sectors."""
    if isinstance(stiffness, JoinedStiffness):
        return JoinedFactor(stiffness, supports)
    return SupportedFactor(stiffness, cyclic, supports)


def _right_hand_sides(
    stiffness: Stiffness | JoinedStiffness, loads: Sequence[OrderLoad]
) -> tuple[ComplexArray, ComplexArray]:
    """Forces f - K v and prescribed displacements v, both (n_loads, n_points, 3)."""
    forces = np.array([load.nodal for load in loads], dtype=complex)
    prescribed = np.zeros_like(forces)
    for v, load in zip(prescribed, loads, strict=True):
        if load.prescribed is not None:
            v[:] = load.prescribed
    if prescribed.any():
        forces -= stiffness.times(prescribed)
    return forces, prescribed


def _motions(
    points: FloatArray, cyclic: Cyclic, supports: Supports, order: int
) -> ComplexArray:
    """Rigid motions (n_motions, n_points, 3) of the coupled points, zero elsewhere.

    Those of the first coupling come first.
    """
    fields = [np.zeros((0, *points.shape), dtype=complex)]
    for coupling in supports.couplings:
        for _, motion in turning_motions(order, cyclic.count):
            field = np.zeros(points.shape, dtype=complex)
            moving = points[coupling.nodes]
            field[coupling.nodes] = rigid_field(moving, motion, coupling.centre)
            fields.append(field[None])
    return np.concatenate(fields)


class Border:
    """The few unknowns of a rigid coupling beside the factor of all others.

    With u = w + G a, where w moves the free points and G are the motions of the coupled
    ones, the bordered system is

        [  K     K G   ] [w]   [ f                           ]
        [ G^H K  G^H K G ] [a] = [ G^H f + work on the coupling ]

    Parameters
    ----------
    motions : ndarray (n_motions, n_points, 3)
        G, zero but at the coupled points.
    pulled : ndarray (n_motions, n_points, 3)
        K G.
    answers : ndarray (n_motions, n_points, 3)
        K^-1 (K G) at the free points, zero elsewhere.
    """

    def __init__(
        self, motions: ComplexArray, pulled: ComplexArray, answers: ComplexArray
    ) -> None:
        self._motions, self._pulled, self._answers = motions, pulled, answers
        # Schur complement of the free points: G^H K G - (K G)^H K^-1 (K G)
        self._schur = _inner(motions, pulled) - _inner(pulled, answers)

    def work(self, force: ComplexArray) -> ComplexArray:
        """Work (n_motions,) of nodal forces (n_points, 3) on the motions."""
        return _inner(self._motions, force[None])[:, 0]

    def solve(
        self, push: ComplexArray, answer: ComplexArray
    ) -> tuple[ComplexArray, ComplexArray]:
        """Displacement (n_points, 3), and the amplitudes (n_motions,) of the motions.

        Parameters
        ----------
        push : ndarray (n_motions,)
            Work of all forces on the motions.
        answer : ndarray (n_points, 3)
            K^-1 f, the coupled points held.

        Raises
        ------
        ModelError
            If the coupled part is free to move.
        """
        rest = push - _inner(self._pulled, answer[None])[:, 0]
        try:
            amplitudes = np.linalg.solve(self._schur, rest)
        except np.linalg.LinAlgError as failure:
            raise ModelError(
                "the coupled part is free to move: hold the body"
            ) from failure
        moved = self._motions - self._answers
        field = answer + np.tensordot(amplitudes, moved, axes=1)
        return np.asarray(field), np.asarray(amplitudes)


def _inner(left: ComplexArray, right: ComplexArray) -> ComplexArray:
    """Inner products (n_left, n_right) of fields (n, n_points, 3)."""
    flat = left.reshape(len(left), -1).conj()
    return np.asarray(flat @ right.reshape(len(right), -1).T)


def _in_order(values: Values, position: IntArray) -> Values:
    """Values of the points (n_points, ...) in the order of elimination."""
    ordered = np.empty_like(values)
    ordered[position] = values
    return ordered


class SupportedFactor:
    """The factor of a body under given supports, its cuts tied order by order.

    Parameters
    ----------
    stiffness : Stiffness
        Springs included.
    cyclic : Cyclic
        Symmetry and the point pairs of the two cuts.
    supports : Supports
        Held and coupled points, both at zero here.

    Raises
    ------
    ModelError
        If the body is free to move; on a sector only when an order is solved.
    """

    def __init__(
        self, stiffness: Stiffness, cyclic: Cyclic, supports: Supports
    ) -> None:
        position = stiffness.dissection.position
        coupled = np.zeros(len(position), dtype=bool)
        coupled[supports.coupled] = True
        free = ~(supports.held | coupled[:, None])
        cut = cyclic.pairs[~coupled[cyclic.pairs[:, 0]]]
        # cuts are held in the low one's frame, and only once they are tied
        free_low = free[cut[:, 0]].ravel()
        free[cut] = True
        self._position, self._frames = position, None
        pairs, low_frames = stiffness.pairs, np.tile(np.eye(3), (len(cut), 1, 1))
        if supports.frames is not None:
            # all other points are counted in their own frames
            low_frames = supports.frames[cut[:, 0]]
            self._frames = supports.frames.copy()
            self._frames[cut] = np.eye(3)
            pairs = pairs.turned(_in_order(self._frames, position))
        self._free = _in_order(free, position).ravel()
        self._factor = FrontalFactor(pairs, stiffness.dissection, self._free)
        self._cuts = None
        if len(cut):
            self._cuts = TiedCuts(
                self._factor, position[cut], free_low, low_frames, cyclic
            )

    def solve(self, sides: ComplexArray, orders: IntArray) -> ComplexArray:
        """Displacements of the free points, zero at all others.

        Parameters
        ----------
        sides : ndarray (n_sides, n_points, 3)
            Right-hand sides [N], in x, y, z.
        orders : ndarray (n_sides,)
            Order of each; a whole body does not ask.

        Returns
        -------
        ndarray (n_sides, n_points, 3)
        """
        if self._frames is not None:
            sides = np.einsum("nji,snj->sni", self._frames, sides)
        columns, retained = to_columns(sides, self._position), self._factor.retained
        columns[~self._free] = 0.0
        self._factor.forward(columns)
        if self._cuts is not None:
            n = len(sides)
            left = columns[retained, :n] + 1j * columns[retained, n:]
            u = self._cuts.solve(left, orders)
            columns[retained] = np.hstack([u.real, u.imag])
        self._factor.backward(columns)
        fields = to_fields(columns, self._position)
        if self._frames is not None:
            fields = np.einsum("nij,snj->sni", self._frames, fields)
        return fields
