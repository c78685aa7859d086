"""The whole body, made of copies of one sector."""

from dataclasses import dataclass

import numpy as np

from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.mesh.record import Mesh
from spokecheck.units import IntArray


@dataclass(frozen=True)
class CopiedRound:
    """A whole mesh and where each point of the sector went.

    Attributes
    ----------
    mesh : Mesh
        Of the whole body; sector cuts are no surface any more.
    number : ndarray (count, n_points)
        Number, in the whole mesh, of every sector point's copy.
    """

    mesh: Mesh
    number: IntArray


def copied_round(mesh: Mesh, cyclic: Cyclic) -> CopiedRound:
    """Turn copies of a sector round the axle and join them at the cuts.

    Parameters
    ----------
    mesh : Mesh
        One sector; surfaces whose name starts with ``cut`` are its cuts.
    cyclic : Cyclic
        Number of sectors, and the point pairs of the cuts.

    Returns
    -------
    CopiedRound
    """
    n, count = mesh.n_points, cyclic.count
    # the high cut of each copy is the low cut of the next; chains end on the axis
    same = np.arange(count * n)
    for k in range(count):
        after = (k + 1) % count
        same[k * n + cyclic.pairs[:, 1]] = after * n + cyclic.pairs[:, 0]
    while not np.array_equal(same[same], same):
        same = same[same]
    distinct, flat = np.unique(same, return_inverse=True)
    number = flat.reshape(count, n)
    turned = [mesh.points @ rotation(k * cyclic.alpha).T for k in range(count)]
    surfaces, interfaces = (
        {
            name: np.vstack([copy[faces] for copy in number])
            for name, faces in some.items()
            if not name.startswith("cut ")
        }
        for some in (mesh.surfaces, mesh.interfaces)
    )
    zones = {
        name: np.concatenate([k * mesh.n_cells + cells for k in range(count)])
        for name, cells in mesh.zones.items()
    }
    cells = np.vstack([copy[mesh.cells] for copy in number])
    points = np.vstack(turned)[distinct]
    return CopiedRound(Mesh(points, cells, surfaces, zones, interfaces), number)
