"""One's own case in ten lines: mesh, material, supports, loads, solution.

The chain is the one that periodic sectors go through: ``assembly``, ``reduction``,
``solve``, ``stress``, ``recovery``, here with a whole body and one steady order.

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

import numpy as np
import scipy.sparse as sp

from spokecheck.errors import ModelError
from spokecheck.fem.actions import Heat, Load, RigidLoad
from spokecheck.fem.constraints import Constraints, free_motions, gather_constraints
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import sample_faces
from spokecheck.fem.ordering import elimination_rank
from spokecheck.fem.part import Part, Solution
from spokecheck.fem.reduction import Coupling, Reduction, Supports, reduce_stiffness
from spokecheck.fem.solve import OrderLoad, solve_orders
from spokecheck.fem.supports import AnySupport, Foundation, RigidPart, select
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray, FloatArray

SMALL = 4000
"""Points up to which minimum degree eliminates as fast as nested dissection."""


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
    rank = elimination_rank(K, Cyclic()) if mesh.n_points > SMALL else None
    return reduce_stiffness(local, mesh.points, held, Cyclic(), rank)


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
