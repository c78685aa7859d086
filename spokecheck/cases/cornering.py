"""Cornering fatigue: one rim flange clamped, a moment of constant size turning.

The load arm is bolted to the attachment face; it brings in a turning force at its far
end, hence a moment about the attachment face and the shear that goes with it.
Arm and fixture are rigid here: the attachment face moves as one.
The field is of order 1 alone, but for the bolts' clamp force if a torque is given.

References
----------
UN Regulation No. 124, Annex 6 (from memory).
"""

import numpy as np

from spokecheck.cases.loadcase import LoadCase
from spokecheck.cases.steady import clamp_forces, clamp_traction
from spokecheck.fem.orders import Coupling, OrderLoad, Supports
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.tables.surface_names import ATTACHMENT, BOLT_SEAT, FLANGES

ARM_LENGTH = 800.0
"""Load arm [mm], common practice 0.6 to 1 m; it sets the shear that goes with M."""

CONTACT = (
    "the attachment face moves as one with the load arm: the contact under the pad "
    "neither opens nor slides, and stress there is the model's"
)
"""Remark on the hub contact."""


def cornering_case(
    wheel: Wheel, moment: float, clamped: str = "inboard", clamp: float = 0.0
) -> LoadCase:
    """Load case of the cornering test.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    moment : float
        Moment about the centre of the attachment face [N mm].
    clamped : {"inboard", "outboard"}
        Flange that is clamped.
    clamp : float
        Clamp force of one bolt [N], steady; 0 leaves the bolts out.

    Returns
    -------
    LoadCase
        Order 1, and order 0 for the bolts.
        At turn angle phi = 0 the moment vector points along -y, the force along +x.

    Notes
    -----
    Force ``f (1, i, 0)`` at distance L inboard of the face gives the moment
    ``i L f (1, i, 0)`` about it.
    """
    mesh = wheel.mesh
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes(FLANGES[clamped])] = True
    nodes = mesh.nodes(ATTACHMENT)
    centre = np.array([0.0, 0.0, wheel.design.attachment])
    turning = np.array([1.0, 1.0j, 0.0])
    force = moment / ARM_LENGTH
    load = OrderLoad(
        1,
        np.zeros((mesh.n_points, 3), dtype=complex),
        np.asarray(force * turning, dtype=complex),
        1j * moment * turning,
    )
    supports = Supports(held, (Coupling(nodes, centre),))
    if clamp == 0.0:
        return LoadCase("cornering", supports, (load,), moment, notes=(CONTACT,))
    total = clamp * wheel.design.bolts.count
    bolts = OrderLoad(
        0,
        clamp_forces(wheel, clamp).astype(complex),
        np.array([0.0, 0.0, total], dtype=complex),
        np.zeros(3, dtype=complex),
    )
    return LoadCase(
        "cornering",
        supports,
        (load, bolts),
        moment,
        (1,),
        pressed=(BOLT_SEAT,),
        notes=(CONTACT,),
        tractions=((), (clamp_traction(wheel, clamp),)),
    )
