"""Meshes with a dented surface are made again, finer about the dents.

A dent is a notch that the wheel does not have: a hot spot there would be false.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Protocol, TypeVar

from spokecheck.errors import MeshError
from spokecheck.mesh.quality import DEEP, MeshQuality
from spokecheck.mesh.record import Mesh
from spokecheck.wheel.meshing.kernel.task import Refinement

SHARES = (0.5, 0.4)
"""Edges about a dent as a share of the one that was straightened, from try to try: a
bow falls with the square of the edge."""

REACH = 1.5
"""How far the finer edges reach, in lengths of that edge."""

MOST_CELLS = 100_000
"""A mesh of more cells is not made again, since that would take minutes: its dents are
reported."""


class Made(Protocol):
    """Result of meshing."""

    @property
    def quality(self) -> MeshQuality:
        """What was done for its cells."""
        ...

    @property
    def mesh(self) -> Mesh:
        """Its cells."""
        ...


T = TypeVar("T", bound=Made)


def least_dented(build: Callable[[Sequence[Refinement]], T]) -> T:
    """Build a mesh, and again with finer cells about any dents.

    Parameters
    ----------
    build : callable
        Makes a mesh with refinements, none at first.

    Returns
    -------
    T
        The least dented one.

    Raises
    ------
    MeshError
        If the first mesh fails; if a later one fails, those before it count.
    """
    spheres, made = list[Refinement](), [build(())]
    for share in SHARES:
        dents = made[-1].quality.dents
        if not dents or made[-1].mesh.n_cells > MOST_CELLS:
            break
        spheres += [Refinement(d.place, share * d.edge, REACH * d.edge) for d in dents]
        with suppress(MeshError):
            made.append(build(tuple(spheres)))
    return min(made, key=lambda wheel: wheel.quality.deviation)


def surface_remarks(quality: MeshQuality) -> tuple[str, ...]:
    """How far the surface of a mesh lies off what was drawn, if by more than ``DEEP``.

    Parameters
    ----------
    quality : MeshQuality

    Returns
    -------
    tuple of str
        One sentence without a full stop, or none.
    """
    if quality.deviation <= DEEP:
        return ()
    where = "cells that could not stand on it were taken off"
    if quality.dents:
        deepest = max(quality.dents, key=lambda dent: dent.depth)
        at = ", ".join(f"{x:.0f}" for x in deepest.place)
        number = len(quality.dents)
        where = (
            f"edges of folded cells were straightened at {number} "
            f"place{'s' if number > 1 else ''}, most at ({at}) mm"
        )
    return (
        f"the meshed surface lies up to {quality.deviation:.1f} mm off the drawn one: "
        f"{where}; stress beside them is that of the moved surface, mesh finer to "
        "lessen it",
    )
