"""Radial fatigue: the drum presses on the tyre while the wheel rolls straight ahead.

The hub is held at the attachment face.
In place of a tyre, a cosine patch of pressure travels round both bead seats; inflation
presses on the rim and pushes the flanges apart, steadily.

References
----------
UN Regulation No. 124, Annex 7 (from memory).
Flange force of the inflated tyre, half of the sidewall's pull goes to the bead:
``T_f = p (a_t^2 - r_f^2) / (4 r_f)`` per length (form from memory; a membrane balance
agrees within 10 % for 225/45R18).
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.cases.cornering import ATTACHMENT
from spokecheck.cases.loadcase import LoadCase
from spokecheck.cases.patch import HALF_ANGLE, Patch
from spokecheck.fem.loads import pressure_forces, sample_faces, traction_forces
from spokecheck.fem.reduction import Supports
from spokecheck.fem.solve import OrderLoad, whole_body_resultant
from spokecheck.units import MPA_PER_KPA, ComplexArray, FloatArray
from spokecheck.wheel.build import Wheel

SEATS = ("bead seat inboard", "bead seat outboard")
BEAD_SIDES = {-1: "flange inboard, bead side", 1: "flange outboard, bead side"}
AIR_SIDE = (*SEATS, "rim well")


@dataclass(frozen=True)
class BeadLoad:
    """How the drum load reaches the rim.

    Attributes
    ----------
    half_angle : float
        Half-angle of the patch [deg].
    inboard_share : float
        Share of the radial load on the inboard seat; one half for straight rolling
        without camber (common practice).
    """

    half_angle: float = HALF_ANGLE
    inboard_share: float = 0.5


def radial_case(wheel: Wheel, force: float, bead: BeadLoad | None = None) -> LoadCase:
    """Load case of the radial test.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    force : float
        Drum load [N].
    bead : BeadLoad, optional
        How it reaches the rim.

    Returns
    -------
    LoadCase
        Order 0 twice, inflation and the patch's own mean, then orders 1 to M.
        At turn angle phi = 0 the patch is centred on +x and presses towards the axle.
    """
    bead = bead or BeadLoad()
    patch = Patch(float(np.deg2rad(bead.half_angle)))
    mesh = wheel.mesh
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes(ATTACHMENT)] = True
    zero = np.zeros(3, dtype=complex)
    peaks = seat_peaks(wheel, force, bead, patch)
    loads = [OrderLoad(0, inflation_forces(wheel).astype(complex), zero, zero)]
    for m in patch.orders():
        nodal = sum(
            peak * seat_forces(wheel, seat, patch, m) for seat, peak in peaks.items()
        )
        loads.append(OrderLoad(m, np.asarray(nodal), zero, zero))
    highest = loads[-1].order
    note = (
        f"patch of +/- {bead.half_angle:g} deg as orders 0 to {highest}, which carry "
        f"{100.0 * patch.energy_share(highest):.2f} % of its mean square"
    )
    return LoadCase("radial", Supports(held), tuple(loads), force, (note,))


def seat_forces(wheel: Wheel, seat: str, patch: Patch, order: int) -> ComplexArray:
    """Nodal forces (n_points, 3) [N] of one order of a patch of 1 MPa peak."""
    mesh = wheel.mesh
    weight = patch.coefficient(order) * (1.0 if order == 0 else 2.0)

    def cosine(x: FloatArray) -> FloatArray:
        return np.asarray(weight * np.cos(order * np.arctan2(x[:, 1], x[:, 0])))

    def sine(x: FloatArray) -> FloatArray:
        return np.asarray(weight * np.sin(order * np.arctan2(x[:, 1], x[:, 0])))

    faces = mesh.faces(seat)
    real = pressure_forces(mesh, faces, cosine)
    return np.asarray(real + 1j * pressure_forces(mesh, faces, sine))


def seat_resultant(wheel: Wheel, seat: str, patch: Patch) -> float:
    """Radial force [N] of a patch of 1 MPa peak on a seat, from the nodal forces."""
    nodal = seat_forces(wheel, seat, patch, 1)
    cyclic = wheel.cyclic
    force, _ = whole_body_resultant(
        wheel.mesh.points, nodal, 1, cyclic.count, np.zeros(3)
    )
    return float(-force[0].real)


def seat_peaks(
    wheel: Wheel, force: float, bead: BeadLoad, patch: Patch
) -> dict[str, float]:
    """Peak pressure [MPa] on each seat so that the nodal forces add up to the load."""
    shares = {SEATS[0]: bead.inboard_share, SEATS[1]: 1.0 - bead.inboard_share}
    return {
        seat: share * force / seat_resultant(wheel, seat, patch)
        for seat, share in shares.items()
    }


def flange_force(pressure: float, free_radius: float, flange_radius: float) -> float:
    """Axial force per length [N/mm] of an inflated tyre on a rim flange.

    Parameters
    ----------
    pressure : float
        [MPa].
    free_radius : float
        Radius of the unloaded tyre [mm], for the outer radius of the air space.
    flange_radius : float
        Radius where the bead meets the flange [mm].

    Examples
    --------
    >>> round(flange_force(0.25, 329.75, 231.0))
    15
    """
    return pressure * (free_radius**2 - flange_radius**2) / (4.0 * flange_radius)


def inflation_forces(wheel: Wheel) -> FloatArray:
    """Nodal forces (n_points, 3) [N] of the inflation pressure."""
    mesh, design = wheel.mesh, wheel.design
    pressure = design.duty.pressure_kpa * MPA_PER_KPA
    total = pressure_forces(mesh, mesh.faces(AIR_SIDE), pressure)
    radius = wheel.shape.profile.contour.seat_radius
    per_length = flange_force(pressure, design.free_radius, radius)
    for side, name in BEAD_SIDES.items():
        faces = mesh.faces(name)
        area = sample_faces(mesh.points, faces).total_area * wheel.cyclic.count
        push = side * per_length * 2.0 * np.pi * radius / area
        total = total + traction_forces(mesh, faces, np.array([0.0, 0.0, push]))
    return total
