"""A wheel under one test: the stress history on its surface, and what to distrust."""

from dataclasses import dataclass, field, replace

import numpy as np

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.loadcase import Assumption, LoadCase
from spokecheck.cases.procedure import Requirement
from spokecheck.cases.radial import BeadLoad, Steady, radial_case
from spokecheck.cases.steady import TORQUE_FACTORS, clamp_force
from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.history import StressHistory
from spokecheck.fem.body import Body, Elastic, balance, make_body, respond
from spokecheck.fem.elasticity import Material
from spokecheck.fem.submodel import solve_submodel
from spokecheck.mesh.record import Mesh
from spokecheck.screen.hotspots import EDGE_RADIUS, Surface, near
from spokecheck.screen.local_refinement import RefinedCells
from spokecheck.screen.outer_stress import (
    OuterStress,
    outer_errors,
    with_outer_stress,
)
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.drawing import RIM
from spokecheck.wheel.tables.design import Brief


@dataclass(frozen=True)
class LoadedCase:
    """Stress of one test at its full load, each solved load by itself.

    Attributes
    ----------
    case : LoadCase
        What was applied.
    orders : ndarray (n_loads,)
        Fourier order of each load.
    moved : ndarray (n_loads, n_points, 3)
        Complex displacement [mm].
    stress : ndarray (n_loads, n_points, 6)
        Complex stress [MPa]: that of the outer surface at its points, else recovered.
    outer : OuterStress
        Where it is that of the outer surface.
    elastic : Elastic
        Constants of the cells.
    anew : ndarray (n_points,) of bool
        Where the stress is not that of the mesh before.
    fictitious : dict of str to ndarray (n_nodes,) of bool
        Surface points left out, by the name of the rule.
    balance : float
        Misfit of forces and moments, on the mesh on which the whole wheel was solved.
    """

    case: LoadCase
    orders: IntArray = field(repr=False)
    moved: ComplexArray = field(repr=False)
    stress: ComplexArray = field(repr=False)
    outer: OuterStress = field(repr=False)
    elastic: Elastic = field(repr=False)
    anew: BoolArray = field(repr=False)
    fictitious: dict[str, BoolArray] = field(repr=False)
    balance: float

    def errors(self, mesh: Mesh, nodes: IntArray) -> FloatArray:
        """Estimated relative error (n,) of the amplitude at points of the surface."""
        weights = self.case.weights()[:, None, None]
        u, stress = weights * self.moved, weights * self.stress
        cyclic, orders = self.outer.cyclic, self.orders
        return outer_errors(mesh, self.elastic, cyclic, u, stress, orders, nodes)

    def history(
        self,
        load: float,
        nodes: IntArray | slice = slice(None),
        variant: Assumption | None = None,
        recovered: bool = False,
    ) -> StressHistory:
        """Stress history at one level of the test.

        Parameters
        ----------
        load : float
            Moment [N mm] or force [N] of the level; steady loads stay as they are.
        nodes : ndarray (n,), optional
            Points of the mesh; all if not given.
        variant : Assumption, optional
            One of the case's variants.
        recovered : bool
            Whether to take recovered stress at the outer surface too.

        Returns
        -------
        StressHistory
            Loads of equal order added up.
        """
        weights = self.case.weights(load / self.case.size, variant)
        fields = self.stress[:, nodes]
        if recovered:
            points = np.arange(self.stress.shape[1])[nodes]
            fields = self.outer.put_back(fields, points)
        orders, slot = np.unique(self.orders, return_inverse=True)
        total = np.zeros((len(orders), *fields.shape[1:]), dtype=complex)
        np.add.at(total, slot, weights[:, None, None] * fields)
        return StressHistory(orders, total)


def wheel_body(wheel: Wheel) -> Body:
    """Assemble the elastic body of a wheel, each zone with its alloy's constants."""
    zones = {
        zone: _elastic(wheel.alloy_of(zone)) for zone in wheel.mesh.zones if zone == RIM
    }
    return make_body(wheel.mesh, _elastic(wheel.alloy), wheel.cyclic, zones)


def _elastic(alloy: Alloy) -> Material:
    return Material(alloy.youngs_modulus, alloy.poisson)


def design_bead(design: Brief, half_angle: float | None = None) -> BeadLoad:
    """How the drum load reaches the rim; a half-angle [deg] overrides the design's."""
    angle = design.duty.patch_half_angle_deg if half_angle is None else half_angle
    return BeadLoad(angle, design.duty.inboard_share)


def bolt_clamp(design: Brief, factor: float | None = None) -> float:
    """Clamp force of one bolt [N] by a torque factor K; 0 without a torque."""
    duty = design.duty
    if duty.bolt_torque_nm is None or duty.bolt_thread_mm is None:
        return 0.0
    known = duty.bolt_torque_factor if factor is None else factor
    return clamp_force(duty.bolt_torque_nm, duty.bolt_thread_mm, known)


@dataclass(frozen=True)
class Loading:
    """How a wheel is loaded.

    Attributes
    ----------
    requirement : Requirement
        The test at its largest load.
    bead : BeadLoad
        How the drum load reaches the rim.
    clamped : str or None
        Flange held in the cornering test; that of the procedure if None.
    """

    requirement: Requirement
    bead: BeadLoad
    clamped: str | None = None

    def case(self, wheel: Wheel) -> LoadCase:
        """Load case on a mesh of the wheel."""
        setup, clamp = self.requirement.setup, bolt_clamp(wheel.design)
        if setup.test == "cornering":
            side = self.clamped or setup.clamped
            case = cornering_case(wheel, self.requirement.load, side, clamp)
        else:
            steady = Steady(setup.pressure, setup.spin, clamp)
            case = radial_case(wheel, self.requirement.load, self.bead, steady)
        if clamp:
            ends = TORQUE_FACTORS[wheel.design.bolts.seat]
            factor = wheel.design.duty.bolt_torque_factor
            case = _with_torque_range(case, factor, ends)
        return case


def load_wheel(
    wheel: Wheel, surface: Surface, body: Body, loading: Loading
) -> LoadedCase:
    """Solve one test.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    surface : Surface
        Its outer surface.
    body : Body
        Its elastic body.
    loading : Loading
        The test.

    Returns
    -------
    LoadedCase
    """
    case = loading.case(wheel)
    response = respond(body, case.supports, case.loads)
    u, smooth = response.displacements.u, response.stress
    stress, outer = with_outer_stress(
        body.mesh, body.cyclic, body.elastic, case, u, smooth
    )
    return LoadedCase(
        case,
        response.orders,
        u,
        stress,
        outer,
        body.elastic,
        np.ones(wheel.mesh.n_points, dtype=bool),
        _fictitious(wheel, surface, case),
        balance(body, case.supports, case.loads, response),
    )


def load_refined(
    wheel: Wheel,
    surface: Surface,
    closer: RefinedCells,
    before: LoadedCase,
    loading: Loading,
) -> LoadedCase:
    """Solve one test again where the mesh became finer.

    Parameters
    ----------
    wheel : Wheel
        On the finer mesh.
    surface : Surface
        Its outer surface.
    closer : RefinedCells
        What became of the mesh before.
    before : LoadedCase
        The same test on the mesh before.
    loading : Loading
        The test.

    Returns
    -------
    LoadedCase
        Away from the finer cells the same as before.
    """
    case = loading.case(wheel)
    carried = np.stack([closer.carry @ u for u in before.moved])
    found = solve_submodel(closer.near, case.supports, case.loads, carried)
    stress = np.empty((*carried.shape[:2], 6), dtype=complex)
    stress[:, : before.stress.shape[1]] = before.stress
    stress[:, found.points] = found.stress
    anew = np.zeros(wheel.mesh.n_points, dtype=bool)
    anew[found.points] = True
    stress, outer = with_outer_stress(
        wheel.mesh, closer.cyclic, closer.elastic, case, found.u, stress, anew
    )
    return LoadedCase(
        case,
        before.orders,
        found.u,
        stress,
        outer.after(before.outer),
        closer.elastic,
        anew,
        _fictitious(wheel, surface, case),
        before.balance,
    )


def _with_torque_range(
    case: LoadCase, factor: float, ends: tuple[float, float]
) -> LoadCase:
    """Add what the clamp force would be at the ends of the torque factor's range."""
    bolts, base, added = case.steady[-1], case.weights(), {}
    for other in ends:
        gains = base.copy()
        gains[bolts] *= factor / other
        added[Assumption("bolt torque factor K", other)] = gains
    note = (
        f"clamp force at K = {factor:g}; K = {ends[0]:g} to "
        f"{ends[1]:g} is as likely, and no margin of the joint is derived"
    )
    return replace(case, variants={**case.variants, **added}, notes=(*case.notes, note))


def _fictitious(wheel: Wheel, surface: Surface, case: LoadCase) -> dict[str, BoolArray]:
    """Points at and beside held, coupled or pressed surfaces, by rule."""
    points = wheel.mesh.points
    rules = {}
    held = points[case.supports.held.any(axis=1)]
    name = "clamped flange" if case.name == "cornering" else "held attachment face"
    rules[f"within {EDGE_RADIUS:g} mm of the {name}"] = held
    if case.supports.coupling is not None:
        rigid = points[case.supports.coupling.nodes]
        rules[f"within {EDGE_RADIUS:g} mm of the rigid fixture"] = rigid
    for pressed in case.pressed:
        there = points[wheel.mesh.nodes(pressed)]
        rules[f"within {EDGE_RADIUS:g} mm of the pressed {pressed}"] = there
    at = points[surface.nodes]
    return {rule: near(at, there, EDGE_RADIUS) for rule, there in rules.items()}
