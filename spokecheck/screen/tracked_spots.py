"""How a hot spot has moved from mesh to mesh, and how far its stress may still be off.

Each refinement of a spot is one more mesh of a convergence study of its own.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from spokecheck.fem.grid_convergence import (
    LEAST_BAR,
    REFINED_SHARE,
    UNREFINED,
    falls,
    grid_convergence,
)

REFINED = 0.8
"""A spot counts as refined if its edges shrank to this share or less."""

COARSER = 1.1
"""A spot whose edges are longer than before by more than this is another place."""


@dataclass(frozen=True, kw_only=True)
class TrackedSpot:
    """A hot spot as the loop sees it.

    Attributes
    ----------
    label : str
        Spots with other labels are never the same.
    position : tuple of float
        x, y, z [mm].
    value : float
        What must settle, such as an equivalent amplitude [MPa].
    parts : tuple of float
        What must settle besides, to the same share of ``value``: amplitude and mean.
    edge : float
        Edge length of the mesh there [mm].
    error : float
        Estimated relative error of the value.
    band : bool
        Whether the spot may wander along a band from mesh to mesh.
    allowed : float
        Largest edge [mm] that may stand there, whatever the error; infinite if the
        present one may.
    margin : float
        By which spots are in order; falls as the value grows.
    images : tuple of tuple of float
        Places equal to this one by symmetry [mm], itself included.
    place : int
        The same for all tests of one place, and for places similar to it.
    local : bool
        Whether only the surroundings of the refined spots were solved.
    facing : tuple of float
        Outward normal, radial and axial: the same at images of a place.
    """

    label: str
    position: tuple[float, float, float]
    value: float
    edge: float
    error: float
    parts: tuple[float, ...] = ()
    band: bool = False
    allowed: float = float("inf")
    margin: float = float("inf")
    images: tuple[tuple[float, ...], ...] = ()
    place: int = 0
    local: bool = False
    facing: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class SpotHistory:
    """A hot spot on the meshes on which it was refined.

    Attributes
    ----------
    meshes : tuple of TrackedSpot
        As it stood on each of its own meshes, the first one first.
    """

    meshes: tuple[TrackedSpot, ...]

    @property
    def spot(self) -> TrackedSpot:
        """The spot as it stands now."""
        return self.meshes[-1]

    @property
    def refined(self) -> int:
        """Number of its refinements."""
        return len(self.meshes) - 1

    @property
    def local(self) -> int:
        """How many of the last meshes were solved about the refined spots only."""
        whole = [k for k, one in enumerate(self.meshes, start=1) if not one.local]
        return len(self.meshes) - max(whole, default=0)

    @property
    def move(self) -> float:
        """Relative change of the value by the last refinement; infinite without any."""
        if not self.refined:
            return float("inf")
        return abs(self.spot.value - self.meshes[-2].value) / self.spot.value

    @property
    def bar(self) -> float:
        """Relative error bar of the value.

        The largest of what the series of values, amplitudes and means leaves open and
        of the estimate, times ``REFINED_SHARE``; without a refinement the estimate
        alone, times ``UNREFINED``.
        """
        if not self.refined:
            return max(UNREFINED * self.spot.error, LEAST_BAR)
        edges = [one.edge for one in self.meshes]
        scale, sure = self.spot.value, falls(edges, [one.error for one in self.meshes])
        values = [one.value for one in self.meshes]
        left = [grid_convergence(edges, values, scale, sure)]
        if self._stayed:  # parts by their last move: they may trade with each other
            last = zip(self.meshes[-2].parts, self.spot.parts, strict=True)
            left += [grid_convergence(edges[-2:], pair, scale, sure) for pair in last]
        return max(*left, REFINED_SHARE * self.spot.error, LEAST_BAR)

    @property
    def _stayed(self) -> bool:
        """Whether the place is that of the mesh before, to two of its edges.

        Along a band the highest value may come from a larger amplitude on one mesh and
        from a larger mean on the next.
        """
        moved = np.subtract(self.spot.position, self.meshes[-2].position)
        return bool(np.linalg.norm(moved) <= 2.0 * self.meshes[-2].edge)

    @property
    def doubt(self) -> float:
        """The bar, but infinite without a refinement."""
        return self.bar if self.refined else float("inf")

    @property
    def least_margin(self) -> float:
        """Margin at the upper end of the error bar."""
        return self.spot.margin / (1.0 + self.bar)


def spot_history(
    spot: TrackedSpot,
    before: Sequence[SpotHistory],
    gap: Callable[[TrackedSpot, TrackedSpot], float],
    reach: float,
    same_mesh: bool = False,
) -> SpotHistory:
    """History of a spot, with what it was on the mesh now.

    Parameters
    ----------
    spot : TrackedSpot
    before : sequence of SpotHistory
        Of the spots of the mesh before.
    gap : callable
        Distance of two spots [mm], symmetric copies being one place.
    reach : float
        Spots of one label nearer than this [mm] are the same place.
    same_mesh : bool
        Whether the mesh before is this one.

    Returns
    -------
    SpotHistory

    Notes
    -----
    Where the mesh stayed as it was, a value stands still for no merit of its own: there
    the present value takes the place of the last, and the meshes before stay.
    A spot on coarser cells than one before is another place.
    """
    near = [
        history
        for history in before
        if history.spot.label == spot.label
        and gap(history.spot, spot) < reach
        and spot.edge < COARSER * history.spot.edge
    ]
    if not near:
        return SpotHistory((spot,))
    old = min(near, key=lambda history: gap(history.spot, spot))
    if same_mesh or spot.edge > REFINED * old.spot.edge:
        # beside the place of the mesh before edges may be longer, for no new mesh
        spot = replace(spot, edge=min(spot.edge, old.spot.edge))
        return SpotHistory((*old.meshes[:-1], spot))
    return SpotHistory((*old.meshes, spot))


def solved_whole(history: SpotHistory, before: SpotHistory) -> SpotHistory:
    """History of a spot whose last mesh was solved as a whole, local ones corrected.

    Parameters
    ----------
    history : SpotHistory
        With the value of the whole solution last.
    before : SpotHistory
        The same with that of the local one.

    Returns
    -------
    SpotHistory
        All values that were found with the same edge held are shifted like the last:
        what the held edge costs is no part of how the mesh converges.
    """
    if not before.local or len(history.meshes) != len(before.meshes):
        return SpotHistory(history.meshes)
    new, old = history.spot, before.spot
    shifts = [a - b for a, b in zip(new.parts, old.parts, strict=True)]

    def shifted(spot: TrackedSpot) -> TrackedSpot:
        parts = (a + b for a, b in zip(spot.parts, shifts, strict=True))
        value = spot.value + new.value - old.value
        return replace(spot, value=value, parts=tuple(parts), local=False)

    first = len(history.meshes) - before.local
    local = (shifted(spot) for spot in history.meshes[first:-1])
    return SpotHistory((*history.meshes[:first], *local, new))
