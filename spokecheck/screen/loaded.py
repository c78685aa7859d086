"""A wheel under one test: the stress history on its surface, and what to distrust."""

from dataclasses import dataclass, field

import numpy as np

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.loadcase import LoadCase
from spokecheck.cases.procedure import Requirement
from spokecheck.cases.radial import BeadLoad, radial_case
from spokecheck.fatigue.history import StressHistory
from spokecheck.fem.body import Body, Response, balance, make_body, respond
from spokecheck.fem.elasticity import Material
from spokecheck.screen.hotspots import EDGE_RADIUS, Surface, near
from spokecheck.units import BoolArray, FloatArray
from spokecheck.wheel.build import Wheel

INBOARD = "inboard"


@dataclass(frozen=True)
class LoadedCase:
    """Surface stress of one test at its full load.

    Attributes
    ----------
    case : LoadCase
        What was applied.
    history : StressHistory
        At the surface points.
    fictitious : dict of str to ndarray (n_nodes,) of bool
        Surface points left out, by the name of the rule.
    error : ndarray (n_nodes,)
        Estimated relative error of the stress.
    balance : float
        Misfit of forces and moments.
    """

    case: LoadCase
    history: StressHistory = field(repr=False)
    fictitious: dict[str, BoolArray] = field(repr=False)
    error: FloatArray = field(repr=False)
    balance: float


def wheel_body(wheel: Wheel) -> Body:
    """Assemble the elastic body of a wheel.

    One pair of elastic constants serves the whole wheel: the alloys a wheel may combine
    differ by less than the tables do among themselves.
    """
    material = Material(wheel.alloy.youngs_modulus, wheel.alloy.poisson)
    return make_body(wheel.mesh, material, wheel.cyclic)


def load_wheel(
    wheel: Wheel,
    body: Body,
    surface: Surface,
    requirement: Requirement,
    bead: BeadLoad,
    clamped: str | None = None,
) -> LoadedCase:
    """Solve one test.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    body : Body
        Its elastic body.
    surface : Surface
        Its outer surface.
    requirement : Requirement
        The test at its largest load.
    bead : BeadLoad
        How the drum load reaches the rim.
    clamped : str, optional
        Flange held in the cornering test.

    Returns
    -------
    LoadedCase
    """
    if requirement.test == "cornering":
        case = cornering_case(wheel, requirement.load, clamped or INBOARD)
    else:
        case = radial_case(wheel, requirement.load, bead)
    response = respond(body, case.supports, case.loads)
    return LoadedCase(
        case,
        _history(response, surface),
        _fictitious(wheel, surface, case),
        response.error[surface.nodes],
        balance(body, case.supports, case.loads, response),
    )


def _history(response: Response, surface: Surface) -> StressHistory:
    """History at the surface points; fields of equal order add up."""
    orders, slot = np.unique(response.orders, return_inverse=True)
    stress = np.zeros((len(orders), len(surface.nodes), 6), dtype=complex)
    np.add.at(stress, slot, response.stress[:, surface.nodes])
    return StressHistory(orders, stress)


def _fictitious(wheel: Wheel, surface: Surface, case: LoadCase) -> dict[str, BoolArray]:
    """Points at and beside held or coupled surfaces, by rule."""
    points = wheel.mesh.points
    rules = {}
    held = points[case.supports.held.any(axis=1)]
    name = "clamped flange" if case.name == "cornering" else "held attachment face"
    rules[f"within {EDGE_RADIUS:g} mm of the {name}"] = held
    if case.supports.coupling is not None:
        rigid = points[case.supports.coupling.nodes]
        rules[f"within {EDGE_RADIUS:g} mm of the rigid fixture"] = rigid
    at = points[surface.nodes]
    return {rule: near(at, there, EDGE_RADIUS) for rule, there in rules.items()}
