"""Halve cells, but leave whole those whose parts would not be sound.

Of a mesh that keeps ``LEAST_JACOBIAN`` no part is folded.
Flat parts can come of flat parents, and of cells that are fitted to finer neighbours
again and again; a mesh from elsewhere may hold anything.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from spokecheck.mesh.jacobian_bounds import cell_shapes, jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN, LEAST_SHAPE
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.subdivide import Subdivision, subdivide
from spokecheck.units import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class UnsoundPart:
    """A part that a halved cell would have had.

    Attributes
    ----------
    place : ndarray (3,)
        Where [mm].
    reason : str
        What is wrong with it.
    """

    place: FloatArray
    reason: str


@dataclass(frozen=True)
class SoundHalving:
    """What became of cells that were to be halved.

    Attributes
    ----------
    step : Subdivision
        All its parts are sound.
    whole : ndarray (n_cells_before,) of bool
        Cells that were not to be marked: parents of unsound parts, and those about.
    unsound : tuple of UnsoundPart
        Why.
    """

    step: Subdivision
    whole: BoolArray
    unsound: tuple[UnsoundPart, ...]


NO_POINTS: IntArray = np.empty(0, dtype=np.int64)

KEPT = "edges beside it have to stay as they are"
"""Why a cell is left whole beside an edge that must not be halved."""

PointsPlaced = Callable[[BoolArray], FloatArray]
"""From the points (n_points,) that must stay to all points (n_points, 3)."""

Placement = Callable[[Subdivision], PointsPlaced]
"""From a subdivision to its points, those of its parts moved a little."""


def halve_soundly(
    mesh: Mesh,
    marked: BoolArray,
    pairs: IntArray,
    place: Placement | None = None,
    kept: IntArray = NO_POINTS,
) -> SoundHalving:
    """Halve marked cells as far as all parts are sound.

    Parameters
    ----------
    mesh : Mesh
        Second-order mesh.
    marked : ndarray (n_cells,) of bool
        Cells to halve.
    pairs : ndarray (n_pairs, 2)
        Points that must stay images of each other.
    place : callable, optional
        Puts points of the parts onto the true surface; left out at parts that would
        not be sound for it.
    kept : ndarray (n,), optional
        Mid-side points whose edges must not be halved.

    Returns
    -------
    SoundHalving
        Without unsound parts the cells that ``subdivide`` gives.
    """
    whole, unsound = np.zeros(mesh.n_cells, dtype=bool), list[UnsoundPart]()
    while True:
        step = subdivide(mesh, marked & ~whole, pairs)
        lost = np.intersect1d(kept, step.mesh.cells[step.halved, :4])
        if len(lost):
            about = np.isin(mesh.cells, lost).any(axis=1)
            unsound += [UnsoundPart(mesh.points[point], KEPT) for point in lost]
            whole |= _about(mesh, pairs, whole, np.flatnonzero(about))
            continue
        if place is not None:
            step = _placed(step, place)
        found = _unsound_parts(step)
        if not found:
            return SoundHalving(step, whole, tuple(unsound))
        unsound += found.values()
        parents = step.parent[np.array(list(found))]
        whole |= _about(mesh, pairs, whole, parents)


def _placed(step: Subdivision, place: Placement) -> Subdivision:
    """Parts with their points placed, as far as they are sound."""
    stay, placed = np.zeros(step.mesh.n_points, dtype=bool), place(step)
    while True:
        points = placed(stay)
        moved = replace(step, mesh=replace(step.mesh, points=points))
        spoiled = np.array(list(_unsound_parts(moved)), dtype=np.int64)
        back = np.zeros(len(points), dtype=bool)
        back[step.mesh.cells[spoiled]] = True
        back[step.pairs] |= back[step.pairs].any(axis=1, keepdims=True)
        back &= (points != step.mesh.points).any(axis=1)
        if not back.any():
            return moved
        stay |= back


def _unsound_parts(step: Subdivision) -> dict[int, UnsoundPart]:
    """Parts that are folded or flat, by the number of their cell."""
    mesh, parts = step.mesh, np.flatnonzero(step.halved)
    ratios = jacobian_ratios(mesh.points, mesh.cells[parts])
    shapes = cell_shapes(mesh.points, mesh.cells[parts])
    found = {}
    for k in np.flatnonzero((ratios < LEAST_JACOBIAN) | (shapes < LEAST_SHAPE)):
        what = (
            f"Jacobian {ratios[k]:.3g} of its largest (limit {LEAST_JACOBIAN:g})"
            if ratios[k] < LEAST_JACOBIAN
            else f"shape {shapes[k]:.3g} (1 is regular, limit {LEAST_SHAPE:g})"
        )
        place = mesh.points[mesh.cells[parts[k], :4]].mean(axis=0)
        at = ", ".join(f"{x:.1f}" for x in place)
        reason = f"a cell at ({at}) mm would have parts that are not sound: {what}"
        found[int(parts[k])] = UnsoundPart(place, reason)
    return found


def _about(mesh: Mesh, pairs: IntArray, whole: BoolArray, cells: IntArray) -> BoolArray:
    """Some cells and all that touch them, across cuts too.

    By further layers until there is one that is not whole already.
    """
    about = np.zeros(mesh.n_cells, dtype=bool)
    about[cells] = True
    while True:
        touched = np.zeros(mesh.n_points, dtype=bool)
        touched[mesh.cells[about]] = True
        touched[pairs] |= touched[pairs].any(axis=1, keepdims=True)
        wider = np.asarray(touched[mesh.cells].any(axis=1))
        if (wider & ~whole).any() or (wider == about).all():
            return wider
        about = wider
