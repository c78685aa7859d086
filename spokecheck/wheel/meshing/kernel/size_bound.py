"""Estimate of the cells of a mesh before it is made, so that too large a one is not."""

import sys
from collections.abc import Mapping, Sequence

import gmsh
import numpy as np

from spokecheck.errors import InputError, MemoryLimitError
from spokecheck.wheel.meshing.kernel.task import Refinement

PER_SQUARE = 6.5
"""Cells for each square of the edge length on the surface, where walls are thin and the
surface decides."""

PER_CUBE = 8.5
"""Cells for each cube of the largest edge inside: regular tetrahedra of that edge have
0.118 of its volume."""

MOST_CELLS = 5_000_000
"""Cells of a mesh.  A whole wheel, every edge a quarter of the default, has about two
million, more than the solver can take."""

GIGABYTES, GIGABYTES_PER_CELL = 0.12, 1.4e-6
"""Memory that the mesher takes, from four meshes of 12 000 to 284 000 cells."""


def estimate_cells(
    volume: float,
    sizes: Mapping[int, float],
    largest: float,
    spheres: Sequence[Refinement] = (),
) -> float:
    """Cells of the solid in memory.

    On the examples and the gallery 0.8 to 1.4 times what there are, at fineness 1 to 4
    (measured).

    Parameters
    ----------
    volume : float
        Of the solid [mm^3].
    sizes : mapping of int to float
        Edge length [mm] of faces, by tag, that have one of their own.
    largest : float
        Largest edge [mm].
    spheres : sequence of Refinement
        Where the mesh is finer.
    """
    squares = sum(
        gmsh.model.occ.getMass(2, face) / sizes.get(face, largest) ** 2
        for _, face in gmsh.model.getEntities(2)
    )
    cubes = volume / largest**3 + sum(
        min(4.0 / 3.0 * np.pi * sphere.radius**3, volume) / sphere.size**3
        for sphere in spheres
    )
    return PER_SQUARE * float(squares) + PER_CUBE * float(cubes)


def check_cells(
    cells: float, what: str, remedy: str, gigabytes: float = float("inf")
) -> None:
    """Refuse a mesh that nothing here can solve, or that the mesher cannot hold.

    What is not refused is said on the standard error, where it explains a child that
    took more memory all the same.

    Parameters
    ----------
    cells : float
        Estimate.
    what, remedy : str
        Subject of the message, and what to do.
    gigabytes : float
        Memory that this process may take.

    Raises
    ------
    InputError
        If the estimate is above the limit.
    MemoryLimitError
        If so many cells need more memory.
    """
    if not cells <= MOST_CELLS:
        raise InputError(
            f"{what}: the mesh would have about {cells:.1e} cells, limit "
            f"{MOST_CELLS:.0e}; {remedy}"
        )
    needed = GIGABYTES + GIGABYTES_PER_CELL * cells
    if needed > gigabytes:
        raise MemoryLimitError(
            f"{what}: the mesh would have about {cells:.1e} cells and the mesher need "
            f"about {needed:.2g} GB of memory, limit {gigabytes:.2g} GB; {remedy}"
        )
    print(f"about {cells:.1e} cells by estimate", file=sys.stderr, flush=True)
