"""The first mesh of a drawing that is sound, of all ways to build and mesh it."""

from collections.abc import Callable
from typing import Protocol, TypeVar

from spokecheck.errors import MeshError
from spokecheck.mesh.quality import MeshQuality
from spokecheck.wheel.meshing.kernel.task import RawMesh
from spokecheck.wheel.meshing.kernel.trials import TRIALS

WELL_SHAPED = 0.01
"""Shape of the worst cell at which no more is tried."""

MOST_CELLS = 200_000
"""With a sound mesh of more cells no more is tried, since that would take minutes."""


class Checked(Protocol):
    """A mesh that meets the requirements."""

    @property
    def quality(self) -> MeshQuality:
        """Shape of its cells."""
        ...


T = TypeVar("T", bound=Checked)


def sound_trial(mesh: Callable[[int], RawMesh], sound: Callable[[RawMesh], T]) -> T:
    """Mesh a drawing until it is sound and well shaped.

    Parameters
    ----------
    mesh : callable
        Makes a mesh by the trial of a number, or the next at which the mesher succeeds.
    sound : callable
        Opens its folded cells and checks it.

    Returns
    -------
    T
        Of all sound ones the best shaped.

    Raises
    ------
    MeshError
        If there is none, with the reason of the first.
    """
    checked, failures, trial = list[T](), list[MeshError](), 0
    while trial < len(TRIALS):
        try:
            raw = mesh(trial)
        except MeshError as failure:
            failures.append(failure)
            break
        trial = raw.trial + 1
        try:
            checked.append(sound(raw))
        except MeshError as failure:
            failures.append(failure)
            continue
        fine = raw.mesh.n_cells > MOST_CELLS
        if fine or checked[-1].quality.least_shape >= WELL_SHAPED:
            break
    if not checked:
        raise failures[0]
    return max(checked, key=lambda made: made.quality.least_shape)
