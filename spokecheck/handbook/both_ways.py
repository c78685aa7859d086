"""The same body whole and by one of its sectors: the two must agree to rounding.

The whole is made of copies of the sector's own mesh, so both solve the same equations,
in other unknowns.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from spokecheck.fem.body import Body, Response
from spokecheck.fem.cyclic import cyclic_from_faces
from spokecheck.fem.elasticity import Material
from spokecheck.fem.own_surface import STEADY
from spokecheck.fem.solution import Solution
from spokecheck.handbook.case import Quantity
from spokecheck.mesh.blocks import turned_copies
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray, IntArray

ROUNDING = 1e-7
"""Allowed gap over the largest stress: the condition number is about 1e6."""


@dataclass(frozen=True)
class BothWays:
    """A body as one sector and as the whole.

    Attributes
    ----------
    sector, whole : Body
    copy : ndarray (n_sector_points,)
        Point of the whole at each point of the sector.
    """

    sector: Body
    whole: Body
    copy: IntArray


def both_ways(sector: Mesh, count: int, material: Material) -> BothWays:
    """A ring sector, from surface ``start`` to ``end``, and the ring of its copies."""
    cyclic = cyclic_from_faces(sector, count, "start", "end")
    whole = turned_copies(sector, count, 2.0 * np.pi / count)
    _, copy = cKDTree(whole.points).query(sector.points)
    return BothWays(
        Body(sector, material, cyclic=cyclic),
        Body(whole, material),
        np.asarray(copy),
    )


def stress_gap(bodies: BothWays, whole: FloatArray, stress: FloatArray) -> float:
    """Largest gap between the whole's stress (n, 6) and the sector's, relative.

    The sector's is that at turn angle zero.
    """
    gap = np.abs(whole[bodies.copy] - stress).max()
    return float(gap / np.abs(whole).max())


def response_gap(bodies: BothWays, whole: Solution, response: Response) -> float:
    """The same for a response in Fourier orders, whose stress is recovered.

    It knows no planes of symmetry, so the whole is recovered without them too.
    """
    samples = whole.cell_stress[None].astype(complex)
    of_whole = np.array(whole.body.recovery.nodal(samples, STEADY)[0].real)
    return stress_gap(bodies, of_whole, response.stress.sum(axis=0).real)


WHOLE_FINENESS = 1
"""Fineness at which a case also solves the whole: the identity holds on any mesh, and a
whole body costs as much as all its sectors."""


def agreement() -> Quantity:
    """One sector against the whole, from the study's entry ``gap``."""
    return Quantity(
        "stress of one sector against the whole",
        "",
        lambda p: 0.0,
        lambda s, p: float(s["gap"]),
        ROUNDING,
        "the same equations in other unknowns, on a coarse mesh: only rounding",
    )
