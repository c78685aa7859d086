"""One's own case in ten lines: mesh, material, supports, loads, solution.

The chain is the one every wheel goes through: ``assembly``, ``reduction``, ``solve``,
``stress``, ``recovery``, here with a whole body and one steady order.

Examples
--------
>>> from spokecheck.fem.actions import traction
>>> from spokecheck.fem.elasticity import Material
>>> from spokecheck.fem.supports import fix
>>> from spokecheck.mesh.parts import beam_block
>>> mesh = beam_block(length=200.0, width=20.0, height=10.0, cells=(20, 2, 2))
>>> solution = solve_static(
...     mesh,
...     Material(E=70000.0, nu=0.33),
...     supports=[fix("root")],
...     loads=[traction("tip", (0.0, 0.0, -0.5))],
... )
>>> round(float(solution.stress_at((100.0, 10.0, 10.0))[0]), 1)
30.0
>>> [round(x, 3) + 0.0 for x in solution.reaction("root").tolist()]
[0.0, 0.0, 100.0]
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import scipy.sparse as sp

from spokecheck.errors import ModelError
from spokecheck.fem.actions import Heat, Load, RigidLoad, Spin
from spokecheck.fem.assembly import assemble_stiffness, cell_lame
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import body_forces, sample_faces
from spokecheck.fem.probe import value_at
from spokecheck.fem.recovery import Recovery, patch_recovery
from spokecheck.fem.reduction import Coupling, Reduction, Supports, reduce_stiffness
from spokecheck.fem.solve import OrderLoad, solve_orders
from spokecheck.fem.stress import cell_stress
from spokecheck.fem.supports import (
    AnySupport,
    Constraints,
    Foundation,
    RigidPart,
    Vector,
    Where,
    free_motions,
    gather_constraints,
    select,
)
from spokecheck.fem.thermal import Temperature, thermal_forces, thermal_pressure
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray, FloatArray


@dataclass(frozen=True)
class Part:
    """A mesh and what it is made of.

    Attributes
    ----------
    mesh : Mesh
        The mesh.
    material : Material
        Material of all cells outside ``zones``.
    zones : mapping of str to Material
        Other materials by zone name.
        Recovered stress is smoothed over an interface between two materials.
    """

    mesh: Mesh
    material: Material
    zones: Mapping[str, Material] = field(default_factory=dict)

    @cached_property
    def lame(self) -> tuple[FloatArray, FloatArray]:
        """Lamé constants of every cell [MPa]."""
        return cell_lame(self.mesh, self.material, dict(self.zones))

    @cached_property
    def stiffness(self) -> sp.csr_array:
        """Stiffness matrix, unsupported [N/mm]."""
        return assemble_stiffness(self.mesh, self.material, dict(self.zones))

    @cached_property
    def recovery(self) -> Recovery:
        """Patch recovery of the mesh."""
        return patch_recovery(self.mesh.points, self.mesh.cells)

    @cached_property
    def bulk_alpha(self) -> FloatArray:
        """(3 lambda + 2 mu) alpha of every cell [MPa/K]."""
        alpha = np.full(self.mesh.n_cells, self.material.alpha)
        for name, other in self.zones.items():
            alpha[self.mesh.zones[name]] = other.alpha
        lam, mu = self.lame
        return np.asarray((3.0 * lam + 2.0 * mu) * alpha)

    def nodal_forces(self, loads: Sequence[Load]) -> FloatArray:
        """Sum of all loads but those on the rigid part, (n_points, 3) [N]."""
        total = np.zeros((self.mesh.n_points, 3))
        for load in loads:
            if isinstance(load, Heat):
                total += thermal_forces(self.mesh, self.bulk_alpha, load.value)
            elif isinstance(load, Spin):
                total += self._centrifugal(load)
            elif not isinstance(load, RigidLoad):
                total += load.nodal(self.mesh)
        return total

    def _centrifugal(self, load: Spin) -> FloatArray:
        if self.zones and {m.rho for m in self.zones.values()} != {self.material.rho}:
            raise ModelError(
                "centrifugal load: zones of different density; give one body force each"
            )
        if not self.material.rho > 0.0:
            raise ModelError(
                f"rho = {self.material.rho:g} t/mm^3: a centrifugal load needs a "
                "positive density; give the material its rho"
            )
        return body_forces(self.mesh, load.density(self.material.rho))


@dataclass(frozen=True)
class Solution:
    """Displacement, stress and reactions of one load case.

    Attributes
    ----------
    part : Part
        What was solved.
    u : ndarray (n_points, 3)
        Displacement [mm].
    applied : ndarray (n_points, 3)
        Nodal forces of the loads [N], thermal ones included.
    reactions : ndarray (n_points, 3)
        Nodal forces of supports, foundations and the rigid part [N].
    temperatures : tuple of Temperature
        Temperature fields of the loads [K].
    """

    part: Part
    u: FloatArray
    applied: FloatArray
    reactions: FloatArray
    temperatures: tuple[Temperature, ...] = ()

    @property
    def mesh(self) -> Mesh:
        """The mesh."""
        return self.part.mesh

    @cached_property
    def cell_stress(self) -> FloatArray:
        """Stress at the integration points, (n_cells, 4, 6) [MPa]."""
        mesh = self.mesh
        fields = self.u[None].astype(complex)
        raw = cell_stress(mesh.points, mesh.cells, fields, self.part.lame)[0].real
        stress = np.array(raw)
        for T in self.temperatures:
            stress[..., :3] -= thermal_pressure(mesh, self.part.bulk_alpha, T)[
                ..., None
            ]
        return stress

    @cached_property
    def stress(self) -> FloatArray:
        """Recovered stress at the points, (n_points, 6) [MPa]."""
        samples = self.cell_stress[None].astype(complex)
        return np.array(
            self.part.recovery.nodal(samples, np.zeros(1, dtype=np.int64))[0].real
        )

    @property
    def energy(self) -> float:
        """Half the work of the nodal forces on their displacements [N mm]."""
        return 0.5 * float((self.u * (self.applied + self.reactions)).sum())

    def stress_at(self, position: Vector) -> FloatArray:
        """Recovered stress (6,) [MPa] at a position [mm]."""
        return value_at(self.mesh, self.stress, np.asarray(position, float))

    def displacement_at(self, position: Vector) -> FloatArray:
        """Displacement (3,) [mm] at a position [mm]."""
        return value_at(self.mesh, self.u, np.asarray(position, float))

    def mean_displacement(self, name: str | Sequence[str]) -> FloatArray:
        """Displacement (3,) [mm] averaged over the area of a surface."""
        samples = sample_faces(self.mesh.points, self.mesh.faces(name))
        area = np.linalg.norm(samples.areas, axis=-1)
        u = np.einsum("qa,fai->fqi", samples.values, self.u[samples.faces])
        return np.asarray(np.einsum("fq,fqi->i", area, u) / area.sum())

    def reaction(self, where: Where) -> FloatArray:
        """Force (3,) [N] of the supports on some points."""
        return np.asarray(self.reactions[select(self.mesh, where)].sum(axis=0))

    def reaction_moment(
        self, where: Where, about: Vector = (0.0, 0.0, 0.0)
    ) -> FloatArray:
        """Moment (3,) [N mm] of the supports on some points, about a centre [mm]."""
        nodes = select(self.mesh, where)
        arm = self.mesh.points[nodes] - np.asarray(about, float)
        return np.asarray(np.cross(arm, self.reactions[nodes]).sum(axis=0))


def solve_static(
    mesh: Mesh,
    material: Material,
    supports: Sequence[AnySupport],
    loads: Sequence[Load],
    zones: Mapping[str, Material] | None = None,
) -> Solution:
    """Solve one load case.

    Parameters
    ----------
    mesh : Mesh
        The body.
    material : Material
        Isotropic material [MPa, t/mm^3, 1/K].
    supports : sequence of AnySupport
        From ``fix``, ``displace``, ``slide``, ``symmetry``, ``move_rigidly``, or a
        ``Foundation``, or at most one ``RigidPart``.
    loads : sequence of Load
        From ``traction``, ``pressure``, ``body_force``, ``spin``, ``heat`` and
        ``on_rigid``.
    zones : mapping of str to Material, optional
        Other materials by zone name.

    Returns
    -------
    Solution

    Raises
    ------
    ModelError
        If the body is free to move; the message names the free rigid motions.
    """
    part = Part(mesh, material, zones or {})
    return solve_cases(part, supports, {"": loads})[""]


def solve_cases(
    part: Part, supports: Sequence[AnySupport], cases: Mapping[str, Sequence[Load]]
) -> dict[str, Solution]:
    """Solve several load cases of one supported body with one factorisation.

    Parameters
    ----------
    part : Part
        Mesh and material.
    supports : sequence of AnySupport
        As for ``solve_static``; prescribed displacements act in every case.
    cases : mapping of str to sequence of Load
        Loads by case name.

    Returns
    -------
    dict of str to Solution

    Raises
    ------
    ModelError
        If the body is free to move, if two supports contradict each other, or if a
        load asks for a rigid part there is not.
    """
    mesh, constraints = part.mesh, gather_constraints(part.mesh, supports)
    springs, resistance = _foundations(mesh, supports)
    check_held(mesh, constraints.resistance + resistance)
    K = part.stiffness if springs is None else part.stiffness + springs
    turn = _turning(constraints)
    reduction = _reduce(mesh, K, turn, constraints, supports)
    applied = {name: part.nodal_forces(loads) for name, loads in cases.items()}
    carried = (K @ constraints.values.ravel()).reshape(-1, 3)
    orders = [
        OrderLoad(
            0,
            (turn.T @ (applied[name] - carried).ravel()).reshape(-1, 3).astype(complex),
            *_on_rigid(loads, reduction),
        )
        for name, loads in cases.items()
    ]
    solutions = {}
    for name, local in zip(cases, solve_orders(reduction, orders).u, strict=True):
        u = (turn @ local.real.ravel()).reshape(-1, 3) + constraints.values
        reactions = (part.stiffness @ u.ravel()).reshape(-1, 3) - applied[name]
        hot = tuple(load.value for load in cases[name] if isinstance(load, Heat))
        solutions[name] = Solution(part, u, applied[name], reactions, hot)
    return solutions


def check_held(mesh: Mesh, resistance: FloatArray) -> None:
    """Raise if a rigid motion meets no resistance.

    Raises
    ------
    ModelError
        Naming the free rigid motions.
    """
    free = free_motions(mesh.points, resistance)
    if free:
        raise ModelError(
            f"supports leave {len(free)} of 6 rigid motions free: {'; '.join(free)}; "
            "hold points against them, or use a symmetry plane"
        )


def _foundations(
    mesh: Mesh, supports: Sequence[AnySupport]
) -> tuple[sp.csr_array | None, FloatArray]:
    """Stiffness of all foundations, and the directions they resist at each point."""
    rows, cols, values = [], [], []
    resistance = np.zeros((mesh.n_points, 3, 3))
    for support in supports:
        if not isinstance(support, Foundation):
            continue
        s = sample_faces(mesh.points, mesh.faces(support.where))
        area = np.linalg.norm(s.areas, axis=-1)
        n = s.areas / area[..., None]
        k = support.stiffness * np.einsum(
            "qa,qb,fq,fqi,fqj->faibj", s.values, s.values, area, n, n, optimize=True
        )
        dofs = (3 * s.faces[:, :, None] + np.arange(3)).reshape(len(s.faces), -1)
        rows.append(np.repeat(dofs, 18, axis=1).ravel())
        cols.append(np.tile(dofs, 18).ravel())
        values.append(k.ravel())
        at = np.einsum("fqi,fqj->fij", n, n)[:, None].repeat(6, axis=1)
        np.add.at(resistance, s.faces, at)
    if not rows:
        return None, resistance
    entries = (np.concatenate(values), (np.concatenate(rows), np.concatenate(cols)))
    size = 3 * mesh.n_points
    return sp.csr_array(sp.coo_array(entries, shape=(size, size))), resistance


def _turning(constraints: Constraints) -> sp.csr_array:
    """Block-diagonal matrix from the points' own frames to space."""
    n = len(constraints.frames)
    if not constraints.turned:
        return sp.csr_array(sp.eye_array(3 * n, format="csr"))
    return sp.csr_array(
        sp.bsr_array((constraints.frames, np.arange(n), np.arange(n + 1))).tocsr()
    )


def _reduce(
    mesh: Mesh,
    K: sp.csr_array,
    turn: sp.csr_array,
    constraints: Constraints,
    supports: Sequence[AnySupport],
) -> Reduction:
    """Reduced stiffness in the points' own frames."""
    rigid = [s for s in supports if isinstance(s, RigidPart)]
    if len(rigid) > 1:
        raise ModelError(f"{len(rigid)} rigid parts: at most one; unite their points")
    coupling = None
    if rigid:
        nodes = select(mesh, rigid[0].where)
        if constraints.held[nodes].any():
            raise ModelError(
                "rigid part: some of its points are held as well; let go of them, or "
                "prescribe the motion with move_rigidly"
            )
        coupling = Coupling(nodes, np.asarray(rigid[0].centre, dtype=float))
    local = sp.csr_array(turn.T @ K @ turn) if constraints.turned else K
    held = Supports(constraints.held, coupling)
    return reduce_stiffness(local, mesh.points, held, Cyclic())


def _on_rigid(
    loads: Sequence[Load], reduction: Reduction
) -> tuple[ComplexArray, ComplexArray]:
    """Force and moment on the rigid part."""
    on_it = [load for load in loads if isinstance(load, RigidLoad)]
    if on_it and reduction.supports.coupling is None:
        raise ModelError("load on a rigid part: the model has none; add a RigidPart")
    force = sum((load.force for load in on_it), np.zeros(3))
    moment = sum((load.moment for load in on_it), np.zeros(3))
    return force.astype(complex), moment.astype(complex)
