"""The stiffness of a joined body, kept as that of its two sectors."""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.joined import Joined
from spokecheck.fem.orders import Springs
from spokecheck.fem.stiffness import Stiffness, make_stiffness
from spokecheck.units import ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class JoinedStiffness:
    """The stiffness of a joined body, kept as that of its two sectors.

    Attributes
    ----------
    joined : Joined
    parts : tuple of Stiffness
        Of the outer and the inner sector; points of cuts and ring are retained.
    """

    joined: Joined
    parts: tuple[Stiffness, Stiffness]

    def times(self, u: ComplexArray) -> ComplexArray:
        """Nodal forces (n_fields, n_points, 3) of displacements of that shape."""
        total = np.zeros(u.shape, dtype=complex)
        for part, stiffness in zip(self.joined.parts, self.parts, strict=True):
            alpha = part.sector.cyclic.alpha
            for j, number in enumerate(part.number):
                R = rotation(j * alpha)
                own = u[:, number]
                if own.any():
                    # all points of a copy are different, so += adds each once
                    total[:, number] += stiffness.times(own @ R) @ R.T
        return total

    def times_at(self, u: ComplexArray, points: IntArray) -> ComplexArray:
        """Nodal forces (n_fields, n, 3) at some points (n,), sorted, alone."""
        found = np.zeros((len(u), len(points), 3), dtype=complex)
        asked = np.full(u.shape[1], -1)
        asked[points] = np.arange(len(points))
        for part, stiffness in zip(self.joined.parts, self.parts, strict=True):
            alpha = part.sector.cyclic.alpha
            for j, number in enumerate(part.number):
                own = np.flatnonzero(asked[number] >= 0)
                if len(own):
                    R = rotation(j * alpha)
                    forces = stiffness.times_at(u[:, number] @ R, own) @ R.T
                    found[:, asked[number[own]]] += forces
        return found

    def with_springs(self, springs: Springs) -> "JoinedStiffness":
        """Springs know no sectors.

        Raises
        ------
        ModelError
            Always.
        """
        raise ModelError(
            f"{len(springs.rows)} springs on a body joined of sectors: solve it whole"
        )


def make_joined_stiffness(
    joined: Joined, lame: tuple[FloatArray, FloatArray]
) -> JoinedStiffness:
    """Assemble the stiffness of both sectors.

    Parameters
    ----------
    joined : Joined
    lame : tuple of ndarray (n_cells,)
        Lamé constants [MPa] of the cells of the joined mesh, the same in all copies.

    Returns
    -------
    JoinedStiffness
    """
    outer, inner = (
        make_stiffness(
            part.sector.mesh,
            part.sector.cyclic,
            (lame[0][part.cells], lame[1][part.cells]),
            part.sector.ring.ravel(),
        )
        for part in joined.parts
    )
    return JoinedStiffness(joined, (outer, inner))
