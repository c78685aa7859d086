"""A wheel under one test: its stress history, and where the model is fictitious."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.loadcase import Assumption, LoadCase
from spokecheck.cases.procedure import Requirement
from spokecheck.cases.radial import BeadLoad, Steady, radial_case
from spokecheck.cases.steady import TORQUE_FACTORS, clamp_force
from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.history import StressHistory
from spokecheck.fem.body import (
    Body,
    Elastic,
    balance,
    make_body,
    respond,
    supported,
)
from spokecheck.fem.composite import (
    CompositeBody,
    Places,
    Solve,
    Solved,
    solve_composite,
)
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import OrderLoad
from spokecheck.fem.submodel import recovered_at, solve_submodel
from spokecheck.mesh.record import Mesh
from spokecheck.screen.copied_stress import copied_stress
from spokecheck.screen.hotspots import EDGE_RADIUS, Surface, near
from spokecheck.screen.local_refinement import RefinedCells
from spokecheck.screen.outer_stress import outer_errors, outer_stress
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.drawing import RIM
from spokecheck.wheel.tables.design import Brief


@dataclass(frozen=True, kw_only=True)
class LoadedCase:
    """Stress of one test at its full load, each solved load by itself.

    Attributes
    ----------
    case : LoadCase
        What was applied.
    displacement : ndarray (n_loads, n_points, 3)
        Complex displacement [mm].
    nodes : ndarray (n_nodes,)
        Points of the outer surface, sorted.
    stress : ndarray (n_loads, n_nodes, 6)
        Complex stress [MPa] there.
    cyclic : Cyclic
        Symmetry of the mesh.
    elastic : Elastic
        Constants of the cells.
    updated : ndarray (n_points,) of bool
        Where the stress is not that of the mesh before.
    fictitious : dict of str to ndarray (n_nodes,) of bool
        Surface points left out, by the name of the rule.
    balance : float
        Misfit of forces and moments, on the mesh on which the whole wheel was solved.
    """

    case: LoadCase
    displacement: ComplexArray = field(repr=False)
    nodes: IntArray = field(repr=False)
    stress: ComplexArray = field(repr=False)
    cyclic: Cyclic = field(repr=False)
    elastic: Elastic = field(repr=False)
    updated: BoolArray = field(repr=False)
    fictitious: dict[str, BoolArray] = field(repr=False)
    balance: float

    @property
    def orders(self) -> IntArray:
        """Fourier order (n_loads,) of each load."""
        return np.array([load.order for load in self.case.loads])

    def errors(self, mesh: Mesh, nodes: IntArray) -> FloatArray:
        """Estimated relative error (n,) of the amplitude at points of the surface."""
        u, stress = self.displacement, self.stress_at
        sector = self.elastic, self.cyclic
        return outer_errors(mesh, *sector, u, stress, self.case, nodes)

    def stress_at(self, points: IntArray) -> ComplexArray:
        """Stress (n_loads, n, 6) of each load at points of the outer surface."""
        return self.stress[:, np.searchsorted(self.nodes, points)]

    def history(
        self,
        load: float,
        nodes: IntArray,
        variant: Assumption | None = None,
    ) -> StressHistory:
        """Stress history at one level of the test, at points of the outer surface.

        Parameters
        ----------
        load : float
            Moment [N mm] or force [N] of the level; steady loads stay as they are.
        nodes : ndarray (n,)
            Points of the mesh.
        variant : Assumption, optional
            One of the case's variants.

        Returns
        -------
        StressHistory
            Loads of equal order added up.
        """
        return self._added_up(load, self.stress_at(nodes), variant)

    def recovered(self, mesh: Mesh, load: float, nodes: IntArray) -> StressHistory:
        """Recovered stress, which is smooth across the metal, at any points.

        Parameters
        ----------
        mesh : Mesh
            On which the test was solved.
        load : float
            As for ``history``.
        nodes : ndarray (n,)
            A few points of the mesh.

        Returns
        -------
        StressHistory
        """
        u, orders = self.displacement, self.orders
        fields = recovered_at(mesh, self.cyclic, self.elastic, u, orders, nodes)
        return self._added_up(load, fields, None)

    def _added_up(
        self, load: float, fields: ComplexArray, variant: Assumption | None
    ) -> StressHistory:
        weights = self.case.weights(load / self.case.size, variant)
        orders, slot = np.unique(self.orders, return_inverse=True)
        total = np.zeros((len(orders), *fields.shape[1:]), dtype=complex)
        for k, weight, one in zip(slot, weights, fields, strict=True):
            total[k] += weight * one
        return StressHistory(orders, total)


def wheel_body(wheel: Wheel) -> Body:
    """Assemble the elastic body of a wheel, each zone with its alloy's constants."""
    zones = {
        zone: _elastic(wheel.alloy_of(zone)) for zone in wheel.mesh.zones if zone == RIM
    }
    metal = _elastic(wheel.alloy)
    return make_body(wheel.mesh, metal, wheel.cyclic, zones, wheel.joined)


def _elastic(alloy: Alloy) -> Material:
    return Material(alloy.youngs_modulus, alloy.poisson)


def bolt_clamp(design: Brief) -> float:
    """Clamp force of one bolt [N]; 0 without a torque."""
    duty = design.duty
    if duty.bolt_torque_nm is None or duty.bolt_thread_mm is None:
        return 0.0
    factor = duty.bolt_torque_factor
    return clamp_force(duty.bolt_torque_nm, duty.bolt_thread_mm, factor)


def load_case(wheel: Wheel, requirement: Requirement) -> LoadCase:
    """Load case of a test on a mesh of the wheel, loaded as its design says."""
    setup, duty = requirement.setup, wheel.design.duty
    clamp = bolt_clamp(wheel.design)
    if setup.test == "cornering":
        case = cornering_case(wheel, requirement.load, setup.clamped, clamp)
    else:
        bead = BeadLoad(duty.patch_half_angle_deg, duty.inboard_share)
        steady = Steady(setup.pressure, setup.spin, clamp)
        case = radial_case(wheel, requirement.load, bead, steady)
    if clamp:
        ends = TORQUE_FACTORS[wheel.design.bolts.seat]
        case = _with_torque_range(case, duty.bolt_torque_factor, ends)
    return case


def load_wheel(
    wheel: Wheel, surface: Surface, body: Body, requirement: Requirement
) -> tuple[LoadedCase, Solve]:
    """Solve one test.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    surface : Surface
        Its outer surface.
    body : Body
        Its elastic body.
    requirement : Requirement
        The test at its largest load.

    Returns
    -------
    loaded : LoadedCase
    solve : callable
        Displacements (n, n_points, 3) [mm] under the same supports, from other loads.
    """
    case = load_case(wheel, requirement)
    solver = supported(body, case.supports)
    response = respond(body, case.supports, case.loads, solver)
    misfit = balance(body, case.supports, case.loads, response)
    u = response.displacements.u

    def solve(loads: Sequence[OrderLoad]) -> ComplexArray:
        return solver.solve(loads).u

    return _loaded(wheel, surface, body.elastic, case, u, misfit), solve


def load_composite(
    wheel: Wheel,
    surface: Surface,
    composite: CompositeBody,
    places: Places,
    before: Solved,
    misfit: float,
    requirement: Requirement,
) -> LoadedCase:
    """Solve one test on a whole wheel of finer cells by way of the body before.

    Parameters
    ----------
    wheel : Wheel
        On the finer mesh.
    surface : Surface
        Its outer surface.
    composite : CompositeBody
        Its body, over the one before.
    places : Places
        Of that body.
    before : Solved
        The same test on the body before.
    misfit : float
        Of forces and moments there.
    requirement : Requirement
        The test at its largest load.

    Returns
    -------
    LoadedCase

    Raises
    ------
    ModelError
        If the two meshes do not settle with each other.
    """
    case = load_case(wheel, requirement)
    u = solve_composite(composite, places, case.supports, case.loads, before)
    return _loaded(wheel, surface, composite.elastic, case, u, misfit)


def load_refined(
    wheel: Wheel,
    surface: Surface,
    refined: RefinedCells,
    before: LoadedCase,
    requirement: Requirement,
) -> LoadedCase:
    """Solve one test again where the mesh became finer.

    Parameters
    ----------
    wheel : Wheel
        On the finer mesh.
    surface : Surface
        Its outer surface.
    refined : RefinedCells
        What became of the mesh before.
    before : LoadedCase
        The same test on the mesh before.
    requirement : Requirement
        The test at its largest load.

    Returns
    -------
    LoadedCase
        Away from the finer cells the same as before.
    """
    case = load_case(wheel, requirement)
    # displacements before, interpolated to the points of the finer mesh
    carried = np.stack([refined.carry @ u for u in before.displacement])
    u = solve_submodel(refined.near, case.supports, case.loads, carried)
    updated = refined.updated
    return _loaded(
        wheel, surface, refined.elastic, case, u, before.balance, (before, updated)
    )


def _loaded(
    wheel: Wheel,
    surface: Surface,
    elastic: Elastic,
    case: LoadCase,
    u: ComplexArray,
    misfit: float,
    kept: tuple[LoadedCase, BoolArray] | None = None,
) -> LoadedCase:
    """A solved test with the stress of its surface.

    ``kept`` is the test on the mesh before, whose points come first, and the points
    at which stress is to be found anew; all of them if not given.
    """
    mesh, nodes = wheel.mesh, surface.nodes
    updated = np.ones(mesh.n_points, dtype=bool)
    if kept is not None:
        before, updated = kept
        stress = np.zeros((len(u), len(nodes), 6), dtype=complex)
        stress[:, np.searchsorted(nodes, before.nodes)] = before.stress
        some, found = outer_stress(mesh, wheel.cyclic, elastic, case, u, updated)
        stress[:, np.searchsorted(nodes, some)] = found
    elif wheel.joined is not None:
        _, stress = copied_stress(wheel.joined, elastic, case, u)
    else:
        _, stress = outer_stress(mesh, wheel.cyclic, elastic, case, u)
    return LoadedCase(
        case=case,
        displacement=u,
        nodes=nodes,
        stress=stress,
        cyclic=wheel.cyclic,
        elastic=elastic,
        updated=updated,
        fictitious=_fictitious(wheel, surface, case),
        balance=misfit,
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
    if case.supports.couplings:
        rigid = points[case.supports.coupled]
        rules[f"within {EDGE_RADIUS:g} mm of the rigid fixture"] = rigid
    for pressed in case.pressed:
        rule = f"within {EDGE_RADIUS:g} mm of the pressed {pressed}"
        rules[rule] = points[wheel.mesh.nodes(pressed)]
    on_surface = points[surface.nodes]
    return {rule: near(on_surface, held, EDGE_RADIUS) for rule, held in rules.items()}
