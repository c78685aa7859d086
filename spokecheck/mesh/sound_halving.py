"""Halve cells, but leave whole those whose parts would not be sound.

Of a mesh that keeps ``LEAST_JACOBIAN`` no part is folded.
Flat parts can come of flat parents, and of cells that are fitted to finer neighbours
again and again; a mesh from elsewhere may hold anything.
"""

from dataclasses import dataclass

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


def halve_soundly(mesh: Mesh, marked: BoolArray, pairs: IntArray) -> SoundHalving:
    """Halve marked cells as far as all parts are sound.

    Parameters
    ----------
    mesh : Mesh
        Second-order mesh.
    marked : ndarray (n_cells,) of bool
        Cells to halve.
    pairs : ndarray (n_pairs, 2)
        Points that must stay images of each other.

    Returns
    -------
    SoundHalving
        Without unsound parts the cells that ``subdivide`` gives.
    """
    whole, unsound = np.zeros(mesh.n_cells, dtype=bool), list[UnsoundPart]()
    while True:
        step = subdivide(mesh, marked & ~whole, pairs)
        found = _unsound_parts(step)
        if not found:
            return SoundHalving(step, whole, tuple(unsound))
        unsound += found.values()
        parents = step.parent[np.array(list(found))]
        whole |= _about(mesh, pairs, whole, parents)


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
