"""The impact indication: where a struck wheel is stressed most, against yield.

Kept out of ranking and verdict: it is static and elastic, the test is neither.
"""

from dataclasses import dataclass, field

import numpy as np

from spokecheck.cases.impact import STRUCK, Drop, peak_force, strike_case
from spokecheck.fatigue.tensors import von_mises
from spokecheck.fem.body import Body, Response, balance, respond
from spokecheck.screen.hotspots import (
    EDGE_RADIUS,
    Surface,
    distinct_peaks,
    in_rim,
    near,
)
from spokecheck.screen.places import name_place
from spokecheck.units import BoolArray, ComplexArray, FloatArray
from spokecheck.wheel.build import Wheel

STRUCK_RADIUS = 25.0
"""Around the struck flange [mm] the stress is that of the striker: left out, as the
standards do not count damage there either (SAE J175 in a secondary digest)."""

STRUCK_AT = ("at a spoke", "between spokes")
STRUCK_ANYWHERE = ("at +x", "half a spoke spacing further")
"""Where the wheel is struck, by whether it is known how the spokes lie."""

LISTED = 3
"""Places told for each strike."""

WARNING = (
    "Indication only: static, linear elastic, no tyre, no inertia, no plastic flow. "
    "It is no part of the ranking or the verdict and says nothing about passing the "
    "impact test."
)


@dataclass(frozen=True)
class ImpactSpot:
    """A highly stressed place under a strike.

    Attributes
    ----------
    place : str
    alloy : str
    von_mises : float
        Static von Mises stress at the peak force [MPa].
    of_yield : float
        That over Rp0.2; above 1 the figure only says that metal would flow.
    """

    place: str
    alloy: str
    von_mises: float
    of_yield: float


@dataclass(frozen=True)
class Strike:
    """One position of the striker.

    Attributes
    ----------
    where : str
        ``at a spoke`` or ``between spokes``.
    stiffness : float
        Wheel's stiffness at the strike, along the fall [N/mm].
    force : float
        Peak force with the rig's mounts as a spring in a row [N].
    force_rigid : float
        Peak force on rigid mounts [N], an upper bound.
    spots : tuple of ImpactSpot
        Highest first, at ``force``.
    """

    where: str
    stiffness: float
    force: float
    force_rigid: float
    spots: tuple[ImpactSpot, ...]


@dataclass(frozen=True)
class ImpactIndication:
    """What the static stand-in for the 13-degree impact shows.

    Attributes
    ----------
    fall : Drop
        Energy and its derivation.
    strikes : tuple of Strike
        At a spoke and between two.
    balance : float
        Misfit of forces and moments, a share of the load.
    warning : str
        What it is not.
    """

    fall: Drop
    strikes: tuple[Strike, ...]
    balance: float
    warning: str = field(default=WARNING, repr=False)


def indicate_impact(
    wheel: Wheel, body: Body, surface: Surface, fall: Drop
) -> ImpactIndication:
    """Strike a wheel at a spoke and between two.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    body : Body
        Its elastic body.
    surface : Surface
        Its outer surface.
    fall : Drop
        What falls.

    Returns
    -------
    ImpactIndication
    """
    case = strike_case(wheel, fall)
    response = respond(body, case.supports, case.loads)
    points = wheel.mesh.points
    at = points[surface.nodes]
    left_out = near(at, points[case.supports.held.any(axis=1)], EDGE_RADIUS)
    left_out |= near(at, points[wheel.mesh.nodes(STRUCK)], STRUCK_RADIUS)
    forces = np.stack([load.nodal for load in case.loads])
    half = np.pi / wheel.design.spokes.count
    words = STRUCK_AT if wheel.design.aligned else STRUCK_ANYWHERE
    strikes = tuple(
        _strike(wheel, surface, fall, response, forces, left_out, where, angle)
        for where, angle in zip(words, (0.0, half), strict=True)
    )
    misfit = balance(body, case.supports, case.loads, response)
    return ImpactIndication(fall, strikes, misfit)


def _strike(
    wheel: Wheel,
    surface: Surface,
    fall: Drop,
    response: Response,
    forces: ComplexArray,
    left_out: BoolArray,
    where: str,
    angle: float,
) -> Strike:
    """One position of the striker, from the fields of all orders."""
    orders, cyclic = response.orders, wheel.cyclic
    compliance, highest = 0.0, np.zeros(len(surface.nodes))
    fields = response.stress[:, surface.nodes]
    for sector in range(cyclic.count):
        phase = np.exp(1j * orders * (cyclic.alpha * sector - angle))
        pushed = _at(phase, forces)
        moved = _at(phase, response.displacements.u)
        compliance += float((pushed * moved).sum())
        highest = np.maximum(highest, von_mises(_at(phase, fields)))
    force = peak_force(fall.energy, compliance + 1.0 / fall.mount_stiffness)
    return Strike(
        where,
        1.0 / compliance,
        force,
        peak_force(fall.energy, compliance),
        _spots(wheel, surface, force * highest, left_out),
    )


def _at(phase: ComplexArray, fields: ComplexArray) -> FloatArray:
    """Real field of one sector from its orders (n_orders, n, k)."""
    return np.asarray(np.tensordot(phase, fields, axes=1).real)


def _spots(
    wheel: Wheel, surface: Surface, stress: FloatArray, left_out: BoolArray
) -> tuple[ImpactSpot, ...]:
    rim = in_rim(wheel, surface)
    share = stress / np.where(rim, wheel.rim_alloy.rp02, wheel.alloy.rp02)
    found = []
    for peak in distinct_peaks(wheel, surface, share, left_out, LISTED):
        k = peak.index
        label = surface.labels[surface.names[k]]
        place = name_place(wheel, label, wheel.mesh.points[surface.nodes[k]])
        alloy = wheel.rim_alloy if rim[k] else wheel.alloy
        found.append(ImpactSpot(place, alloy.id, float(stress[k]), float(share[k])))
    return tuple(found)
