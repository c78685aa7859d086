"""The stress history over one turn of the load, as a short Fourier series.

Turn the load by phi about the axle and every stress is
``S(phi) = Re sum_m S_m exp(-i m phi)``: order 0 is steady, order 1 turns with a load of
constant size, a load spread over a patch of the circumference brings a few more.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True, eq=False)
class StressHistory:
    """Complex stress fields, one per order of the turn angle.

    Attributes
    ----------
    orders : ndarray (n_orders,)
        Orders m, sorted, without repetition, none negative.
    stress : ndarray (n_orders, n_points, 6)
        Complex stress S_m [MPa]; Re S_m belongs to cos(m phi), Im S_m to sin(m phi).
        The imaginary part of order 0 has no effect.

    Raises
    ------
    FatigueError
        If shapes disagree, orders are not as stated, or a value is not finite.
    """

    orders: IntArray
    stress: ComplexArray

    def __post_init__(self) -> None:
        if self.orders.ndim != 1 or self.stress.shape[:1] != self.orders.shape:
            raise FatigueError(
                f"stress history: orders {self.orders.shape} and stress "
                f"{self.stress.shape} must share their first length; pass one field "
                "per order"
            )
        if self.stress.ndim != 3 or self.stress.shape[2] != 6:
            raise FatigueError(
                f"stress history: stress has shape {self.stress.shape}, "
                "must be (n_orders, n_points, 6); pass Voigt components last"
            )
        if np.any(self.orders < 0) or np.any(np.diff(self.orders) <= 0):
            raise FatigueError(
                f"stress history: orders {self.orders.tolist()} must be sorted, "
                "without repetition and not negative; fold -m into m by conjugation"
            )
        if not np.all(np.isfinite(self.stress)):
            raise FatigueError(
                "stress history: a stress is not finite; look for an unsupported body "
                "or a failed recovery before this stage"
            )

    @property
    def n_points(self) -> int:
        """Number of points."""
        return int(self.stress.shape[1])

    @property
    def max_order(self) -> int:
        """Greatest order, 0 for a steady or empty history."""
        return int(self.orders.max(initial=0))

    @property
    def mean(self) -> FloatArray:
        """Steady stress [MPa], ndarray (n_points, 6); zeros without order 0."""
        total: FloatArray = self.stress[self.orders == 0].real.sum(axis=0)
        return total

    @property
    def turning(self) -> tuple[IntArray, ComplexArray]:
        """Orders above 0 and their fields, (n_turning, n_points, 6)."""
        above: BoolArray = self.orders > 0
        return self.orders[above], self.stress[above]

    @property
    def single(self) -> bool:
        """Whether one turning order at most is present: the path is an ellipse."""
        return int(np.count_nonzero(self.orders > 0)) <= 1

    def ellipse(self) -> tuple[FloatArray, FloatArray]:
        """Cosine and sine tensors of the one turning order.

        Returns
        -------
        cosine, sine : ndarray (n_points, 6)
            A and B [MPa] of ``A cos(m phi) + B sin(m phi)``; zeros if nothing turns.

        Raises
        ------
        FatigueError
            If several orders turn.
        """
        orders, fields = self.turning
        if len(orders) > 1:
            raise FatigueError(
                f"stress history: orders {orders.tolist()} turn together, the closed "
                "form holds for one; sample the turn instead"
            )
        if not len(orders):
            return np.zeros((self.n_points, 6)), np.zeros((self.n_points, 6))
        return fields[0].real.copy(), fields[0].imag.copy()

    def sample(self, n_turns: int) -> FloatArray:
        """Stress at equally spaced turn angles.

        Parameters
        ----------
        n_turns : int
            Number of angles 2 pi k / n_turns, k = 0, 1, ...

        Returns
        -------
        ndarray (n_turns, n_points, 6)
            Stress [MPa].  Large: take a chunk of the points first.
        """
        if n_turns < 1:
            raise FatigueError(f"n_turns = {n_turns}: need at least 1 angle")
        angle = 2.0 * np.pi / n_turns * np.outer(np.arange(n_turns), self.orders)
        basis = np.hstack([np.cos(angle), np.sin(angle)])
        flat = self.stress.reshape(len(self.orders), -1)
        parts = np.vstack([flat.real, flat.imag])
        # Re S_m cos(m phi) + Im S_m sin(m phi), summed over the orders
        return (basis @ parts).reshape(n_turns, self.n_points, 6)

    def scaled(self, factor: float, steady: float | None = None) -> "StressHistory":
        """Copy with another load size.

        Parameters
        ----------
        factor : float
            Multiplies the turning orders.
        steady : float, optional
            Multiplies order 0; `factor` if not given.
        """
        still = factor if steady is None else steady
        gain = np.where(self.orders == 0, still, factor)
        return StressHistory(self.orders, self.stress * gain[:, None, None])

    def take(self, points: IntArray | Sequence[int] | slice) -> "StressHistory":
        """Copy with some of the points, by number or slice."""
        chosen = points if isinstance(points, slice) else np.asarray(points, np.int64)
        return StressHistory(self.orders, self.stress[:, chosen])
