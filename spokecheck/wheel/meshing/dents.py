"""Meshes with a dented surface are made again, finer about the dents.

A dent is a notch that the wheel does not have: a hot spot there would be false.
"""

import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Protocol, TypeVar

from spokecheck.errors import MeshError
from spokecheck.mesh.quality import MeshQuality
from spokecheck.wheel.meshing.kernel.task import Refinement

SHARES = (0.5, 0.4)
"""Edges about a dent as a share of the one that was straightened, from try to try: a
bow falls with the square of the edge."""

REACH = 1.5
"""How far the finer edges reach, in lengths of that edge."""


SLOW = 30.0
"""A mesh that took longer than this [s] is not made again: its dents are reported."""


class Made(Protocol):
    """Result of meshing."""

    @property
    def quality(self) -> MeshQuality:
        """What was done for its cells."""
        ...


T = TypeVar("T", bound=Made)


def least_dented(
    build: Callable[[Sequence[Refinement]], T], refinements: Sequence[Refinement]
) -> T:
    """Build with refinements, and again with more of them about any dents.

    Parameters
    ----------
    build : callable
        Makes a mesh with refinements.
    refinements : sequence of Refinement
        Where the mesh has to be finer anyway.

    Returns
    -------
    T
        The least dented one.

    Raises
    ------
    MeshError
        If the first mesh fails; if a later one fails, those before it count.
    """
    start, spheres = time.monotonic(), list(refinements)
    made = [build(refinements)]
    if time.monotonic() - start > SLOW:
        return made[0]
    for share in SHARES:
        dents = made[-1].quality.dents
        if not dents:
            break
        spheres += [Refinement(d.place, share * d.edge, REACH * d.edge) for d in dents]
        with suppress(MeshError):
            made.append(build(tuple(spheres)))
    return min(made, key=lambda wheel: wheel.quality.deviation)
