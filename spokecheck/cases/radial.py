"""Radial fatigue: the drum presses on the tyre while the wheel rolls straight ahead.

The hub is held at the attachment face.
In place of a tyre, a cosine patch of pressure travels round both bead seats; inflation
presses on the rim and pushes the flanges apart, steadily.
The patch presses across the seats, so their 5-degree taper pushes them apart by 8.7 %
of the load; the flanges carry inflation alone (the drop of the sidewall's pull under
the patch is left out, as in the papers named here).

References
----------
UN Regulation No. 124, Annex 7 (from memory).
Flange force of the inflated tyre, half of the sidewall's pull goes to the bead:
``T_f = p (a_t^2 - r_f^2) / (4 r_f)`` per length (form from memory; a membrane balance
agrees within 10 % for 225/45R18).
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.cases.loadcase import Assumption, LoadCase, SurfaceTraction
from spokecheck.cases.steady import (
    centrifugal_forces,
    clamp_forces,
    clamp_traction,
)
from spokecheck.cases.tyre_patch import HALF_ANGLE, Patch
from spokecheck.fem.loads import pressure_forces, sample_faces, traction_forces
from spokecheck.fem.orders import OrderLoad, Supports, whole_body_resultant
from spokecheck.units import ComplexArray, FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.tables.surface_names import (
    ATTACHMENT,
    BEAD_SIDES,
    BOLT_SEAT,
    HUMPS,
    SEATS,
    WELL,
    WELL_CORNER,
)

AIR_SIDE = (*SEATS, WELL)
AIR_SIDE_TOO = (WELL_CORNER, *HUMPS)
"""Parts of the air side that not every wheel has, or has by name."""


USUAL_PRESSURE = 0.45
"""Inflation [MPa] of most drum tests (from memory); procedures give their own."""

CONTACT = (
    "the attachment face is held: the contact under the pad neither opens nor slides, "
    "and stress there is the model's"
)
"""Remark on the hub contact."""

SOLVED_ANGLE = 40.0
"""Half-angle [deg] of the patch that is solved; no order of it vanishes, so that every
other patch is the same solution with other weights of its orders."""

SHOWN_ANGLES = (30.0, 35.0, 40.0)
"""Half-angles [deg] whose margins are reported: the range of the literature."""


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


@dataclass(frozen=True)
class Steady:
    """What presses and pulls steadily while the wheel rolls.

    Attributes
    ----------
    pressure : float
        Inflation [MPa].
    spin : float
        Turning speed [rad/s]; 0 leaves the centrifugal load out.
    clamp : float
        Clamp force of one bolt [N]; 0 leaves the bolts out.
    """

    pressure: float = USUAL_PRESSURE
    spin: float = 0.0
    clamp: float = 0.0


def radial_case(
    wheel: Wheel,
    force: float,
    bead: BeadLoad | None = None,
    steady: Steady | None = None,
) -> LoadCase:
    """Load case of the radial test.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    force : float
        Drum load [N].
    bead : BeadLoad, optional
        How it reaches the rim.
    steady : Steady, optional
        What acts beside it.

    Returns
    -------
    LoadCase
        Order 0 for inflation, spin, bolts and the patch's own mean, then orders 1 to M.
        At turn angle phi = 0 the patch is centred on +x and presses towards the axle.
        Orders of the solved patch are weighted to give the patch asked for.
    """
    bead, steady = bead or BeadLoad(), steady or Steady()
    patch, solved = Patch(bead.half_angle), Patch(SOLVED_ANGLE)
    mesh = wheel.mesh
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes(ATTACHMENT)] = True
    peaks = seat_peaks(wheel, force, bead, solved)
    still = [inflation_forces(wheel, steady.pressure)]
    tractions = [inflation_tractions(wheel, steady.pressure)]
    if steady.spin:
        still.append(centrifugal_forces(wheel, steady.spin))
        tractions.append(())
    if steady.clamp:
        still.append(clamp_forces(wheel, steady.clamp))
        tractions.append((clamp_traction(wheel, steady.clamp),))
    loads = [_load(0, nodal.astype(complex)) for nodal in still]
    orders = max(patch.orders(), solved.orders(), key=len)
    for m in orders:
        nodal = sum(
            peak * seat_forces(wheel, seat, solved, m) for seat, peak in peaks.items()
        )
        loads.append(_load(m, np.asarray(nodal)))
        tractions.append(
            tuple(
                SurfaceTraction((seat,), peak * _weight(solved, m), m)
                for seat, peak in peaks.items()
            )
        )
    ones = np.ones(len(still))
    gains = {a: np.concatenate([ones, _gains(a, orders)]) for a in SHOWN_ANGLES}
    note = (
        f"patch of +/- {bead.half_angle:g} deg as orders 0 to {orders[-1]}, which "
        f"carry {100.0 * patch.energy_share(orders[-1]):.2f} % of its mean square"
    )
    return LoadCase(
        "radial",
        Supports(held),
        tuple(loads),
        force,
        tuple(range(len(still))),
        np.concatenate([ones, _gains(bead.half_angle, orders)]),
        {Assumption("patch half-angle", a, "deg"): gain for a, gain in gains.items()},
        (BOLT_SEAT,) if steady.clamp else (),
        (note, CONTACT),
        tuple(tractions),
    )


def _load(order: int, nodal: ComplexArray) -> OrderLoad:
    zero = np.zeros(3, dtype=complex)
    return OrderLoad(order, nodal, zero, zero)


def _gains(degrees: float, orders: range) -> FloatArray:
    """Weights of the solved patch's orders that make another patch of equal force.

    The force comes from order 1 alone, so each order counts relative to it.
    """
    asked, solved = Patch(degrees), Patch(SOLVED_ANGLE)
    ratio = np.array([asked.coefficient(m) / solved.coefficient(m) for m in orders])
    return np.asarray(ratio / ratio[1])


def _weight(patch: Patch, order: int) -> float:
    """Pressure [MPa] of one order of a patch of 1 MPa peak, ``exp(i m theta)``."""
    return patch.coefficient(order) * (1.0 if order == 0 else 2.0)


def seat_forces(wheel: Wheel, seat: str, patch: Patch, order: int) -> ComplexArray:
    """Nodal forces (n_points, 3) [N] of one order of a patch of 1 MPa peak."""
    mesh = wheel.mesh
    weight = _weight(patch, order)

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


def inflation_forces(wheel: Wheel, pressure: float) -> FloatArray:
    """Nodal forces (n_points, 3) [N] of an inflation pressure [MPa]."""
    mesh = wheel.mesh
    air, *sides = inflation_tractions(wheel, pressure)
    total = pressure_forces(mesh, mesh.faces(air.where), air.pressure)
    for side in sides:
        faces = mesh.faces(side.where)
        total = total + traction_forces(mesh, faces, np.array(side.push))
    return total


def inflation_tractions(wheel: Wheel, pressure: float) -> tuple[SurfaceTraction, ...]:
    """Pressure [MPa] on the air side, and the tyre's push on either flange."""
    mesh, design = wheel.mesh, wheel.design
    air = (*AIR_SIDE, *(name for name in AIR_SIDE_TOO if name in mesh.surfaces))
    radius = wheel.landmarks.seat_radius
    per_length = flange_force(pressure, design.free_radius, radius)
    acting = [SurfaceTraction(air, pressure)]
    for side, name in BEAD_SIDES.items():
        faces = mesh.faces(name)
        area = sample_faces(mesh.points, faces).total_area * wheel.cyclic.count
        push = side * per_length * 2.0 * np.pi * radius / area
        acting.append(SurfaceTraction((name,), push=(0.0, 0.0, push)))
    return tuple(acting)
