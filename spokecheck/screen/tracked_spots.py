"""Convergence history of a hot spot, and the error bar that follows from it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

UNDERRATED = 1.6
"""Jump estimates are too small by about this on fillets of two edges a quarter arc."""

LEAST_REFINED = 2
"""Refinements before a spot can count as settled: three meshes, as is common practice
for a claim of convergence."""

FIRST = 3.0
"""The move of a first refinement counts so many times in the error bar of a spot that
was refined once: the mesh before may not have seen the notch."""

REFINED = 0.8
"""A spot counts as refined if its edges shrank to this share or less."""

LEAST_BAR = 0.02
"""No error bar is smaller: geometry and integration have errors of their own, and where
cells are halved in place the rest of the wheel stays as coarse as it was.  That cost
1.1 % on a shoulder fillet whose first mesh had one cell to 22 degrees, the worst case
tried, and 0.2 to 0.5 % on wheels (``tests/screen/test_local_refinement.py``)."""

UNREFINED = 7.0
"""Jump estimates of coarse meshes are too small: by 1 to 4 times on the first meshes of
examples and gallery, against their settled values, and by 6.6 times at one place of the
lattice; by 2.3 times on a shoulder fillet (D 60, d 40, r 5) with edges longer than its
radius."""


@dataclass(frozen=True, kw_only=True)
class TrackedSpot:
    """A hot spot as the loop tracks it.

    Attributes
    ----------
    label : str
        Spots with other labels are never the same.
    position : tuple of float
        x, y, z [mm].
    value : float
        What has to settle, such as an amplitude [MPa].
    edge : float
        Edge length of the mesh there [mm].
    jump : float
        Estimated relative error of the stress, from the jump between cells.
    band : bool
        Whether the spot may wander along a band from mesh to mesh.
    allowed : float
        Largest edge [mm] that the mesh requirements allow there, whatever the error;
        infinite if they are met.
    margin : float
        By which spots are in order; falls as the value grows.
    """

    label: str
    position: tuple[float, float, float]
    value: float
    edge: float
    jump: float
    band: bool = False
    allowed: float = float("inf")
    margin: float = float("inf")


@dataclass(frozen=True)
class SpotHistory:
    """How a hot spot changed by its refinements.

    Attributes
    ----------
    spot : TrackedSpot
    move : float
        Relative change by its last refinement, ``FIRST`` times that by a first one;
        infinite without any.
    refined : int
        Number of its refinements.
    """

    spot: TrackedSpot
    move: float = float("inf")
    refined: int = 0

    @property
    def doubt(self) -> float:
        """Relative error it may still have: its move, or its estimate if larger.

        If the error falls with the square of the edge length, and edges shrank to 0.7
        or less, what is left is at most 0.96 of the move.
        Infinite before its third mesh.
        """
        if self.refined < LEAST_REFINED:
            return float("inf")
        return max(self.move, UNDERRATED * self.spot.jump)

    @property
    def least_margin(self) -> float:
        """Margin at the upper end of its error bar."""
        return self.spot.margin / (1.0 + error_bar(self.move, self.spot.jump))


def spot_history(
    spot: TrackedSpot,
    before: Sequence[SpotHistory],
    gap: Callable[[TrackedSpot, TrackedSpot], float],
    reach: float,
) -> SpotHistory:
    """History of a spot, by what is known of it on the mesh before.

    Parameters
    ----------
    spot : TrackedSpot
    before : sequence of SpotHistory
        Those of the mesh before.
    gap : callable
        Distance of two spots [mm], symmetric copies being one place.
    reach : float
        Spots of one label nearer than this [mm] are the same place.

    Returns
    -------
    SpotHistory

    Notes
    -----
    Where the mesh is the same as before, an unchanged value proves nothing: there the
    move of an earlier refinement counts, unless this one is larger.
    """
    same = [
        one
        for one in before
        if one.spot.label == spot.label and gap(one.spot, spot) < reach
    ]
    if not same:
        return SpotHistory(spot)
    old = min(same, key=lambda one: gap(one.spot, spot))
    change = abs(spot.value - old.spot.value) / spot.value
    if spot.edge > REFINED * old.spot.edge:
        return SpotHistory(spot, max(change, old.move), old.refined)
    move = change if old.refined else FIRST * change
    return SpotHistory(spot, move, old.refined + 1)


def error_bar(move: float, jump: float) -> float:
    """Relative error bar of a stress.

    Parameters
    ----------
    move : float
        Relative change in the last refinement; infinite if there was none.
    jump : float
        Estimate from the jumps between cells.

    Returns
    -------
    float
        The move where the spot was refined: if the error falls with the square of the
        edge length and edges shrank to 0.7 or less, what is left is at most 0.96 of it.
        The jump estimate if that is larger, as where the mesh was fine enough at once.
        Without a refinement, the jump estimate times ``UNREFINED``.
    """
    if not np.isfinite(move):
        return max(UNREFINED * jump, LEAST_BAR)
    return max(move, jump, LEAST_BAR)
