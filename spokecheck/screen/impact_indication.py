"""The impact indication: where a struck wheel is stressed most, against yield.

Kept out of ranking and verdict: it is static and elastic, the test is neither.
"""

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
from spokecheck.screen.impact_findings import ImpactIndication, Strike, StruckPlace
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
"""Places listed for each strike."""

WARNING = (
    "Indication only: static, linear elastic, no tyre, no inertia, no plastic flow. "
    "It is no part of the ranking or the verdict and says nothing about passing the "
    "impact test."
)


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
    on_surface = points[surface.nodes]
    excluded = near(on_surface, points[case.supports.held.any(axis=1)], EDGE_RADIUS)
    excluded |= near(on_surface, points[wheel.mesh.nodes(STRUCK)], STRUCK_RADIUS)
    forces = np.stack([load.nodal for load in case.loads])
    half = np.pi / wheel.design.spokes.count
    words = STRUCK_AT if wheel.design.aligned else STRUCK_ANYWHERE
    strikes = tuple(
        _strike(wheel, surface, fall, response, forces, excluded, where, angle)
        for where, angle in zip(words, (0.0, half), strict=True)
    )
    misfit = balance(body, case.supports, case.loads, response)
    return ImpactIndication(
        warning=WARNING,
        procedure=fall.procedure,
        energy_n_mm=fall.energy,
        mount_stiffness_n_per_mm=fall.mount_stiffness,
        derivation=fall.derivation,
        balance_misfit=misfit,
        strikes=strikes,
    )


def _strike(
    wheel: Wheel,
    surface: Surface,
    fall: Drop,
    response: Response,
    forces: ComplexArray,
    excluded: BoolArray,
    where: str,
    angle: float,
) -> Strike:
    """One position of the striker, from the fields of all orders."""
    orders, cyclic = response.orders, wheel.cyclic
    # unit strike: work on its own displacement, and highest stress over all sectors
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
        where=where,
        wheel_stiffness_n_per_mm=1.0 / compliance,
        peak_force_n=force,
        peak_force_rigid_mounts_n=peak_force(fall.energy, compliance),
        places=_places(wheel, surface, force * highest, excluded),
    )


def _at(phase: ComplexArray, fields: ComplexArray) -> FloatArray:
    """Real field of one sector from its orders (n_orders, n, k)."""
    return np.asarray(np.tensordot(phase, fields, axes=1).real)


def _places(
    wheel: Wheel, surface: Surface, stress: FloatArray, excluded: BoolArray
) -> tuple[StruckPlace, ...]:
    """Highest places by stress over yield."""
    rim = in_rim(wheel, surface)
    share = stress / np.where(rim, wheel.rim_alloy.rp02, wheel.alloy.rp02)
    places = []
    for peak in distinct_peaks(wheel, surface, share, excluded)[:LISTED]:
        k = peak.index
        label = surface.labels[surface.names[k]]
        place = name_place(wheel, label, wheel.mesh.points[surface.nodes[k]])
        alloy = wheel.rim_alloy if rim[k] else wheel.alloy
        places.append(
            StruckPlace(
                place=place,
                alloy=alloy.id,
                von_mises_mpa=float(stress[k]),
                of_yield=float(share[k]),
            )
        )
    return tuple(places)
