"""One's own case in ten lines: mesh, material, supports, loads, solution.

A steady load is order 0 of a turning one, and a whole body a sector of one: the case
goes through the solver that wheels go through (``sector``).

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

from spokecheck.errors import ModelError
from spokecheck.fem.actions import Load, RigidLoad
from spokecheck.fem.body import Body
from spokecheck.fem.elasticity import Material
from spokecheck.fem.held_body import HeldBody
from spokecheck.fem.orders import OrderLoad
from spokecheck.fem.restraint import (
    Restraint,
    gather_restraint,
    numbered_part,
    rigid_parts,
)
from spokecheck.fem.sector import solve_sector
from spokecheck.fem.solution import Solution, nodal_forces
from spokecheck.fem.supports import AnySupport
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray


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
        ``Foundation`` or ``RigidPart``.
    loads : sequence of Load
        From ``traction``, ``pressure``, ``face_load``, ``line_load``, ``body_force``,
        ``spin``, ``heat`` and ``on_rigid``.
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
    body = Body(mesh, material, zones or {})
    return solve_cases(body, supports, {"": loads})[""]


def solve_cases(
    body: Body, supports: Sequence[AnySupport], cases: Mapping[str, Sequence[Load]]
) -> dict[str, Solution]:
    """Solve several load cases of one supported body with one factorisation.

    Parameters
    ----------
    body : Body
        Mesh, material and symmetry.  Of N equal sectors one is solved: supports and
        loads then are those of each sector alike.
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
    restraint = gather_restraint(body.mesh, supports)
    check_held(body, restraint)
    applied = {name: nodal_forces(body, loads) for name, loads in cases.items()}
    prescribed = restraint.prescribed.astype(complex)
    steady = [
        OrderLoad(
            0,
            nodal.astype(complex),
            *_on_rigid(body, loads, supports),
            prescribed=prescribed,
        )
        for nodal, loads in zip(applied.values(), cases.values(), strict=True)
    ]
    points, held = body.mesh.points, restraint.supports
    moved = solve_sector(body.stiffness, points, body.cyclic, held, steady)
    # reactions: what the body's own stiffness needs beyond the loads
    internal = body.stiffness.times(moved.u).real
    held_body = HeldBody(body, tuple(supports), restraint)
    return {
        name: Solution(held_body, tuple(cases[name]), u, nodal, forces - nodal)
        for (name, nodal), u, forces in zip(
            applied.items(), moved.u.real, internal, strict=True
        )
    }


def check_held(body: Body, restraint: Restraint) -> None:
    """Raise if a rigid motion of the body meets no resistance.

    Raises
    ------
    ModelError
        Naming the free rigid motions.
    """
    free = restraint.free_motions(body.mesh.points, body.cyclic)
    if free:
        raise ModelError(
            f"supports leave {len(free)} of 6 rigid motions free: {'; '.join(free)}; "
            "hold points against them, or use a symmetry plane"
        )


def _on_rigid(
    body: Body, loads: Sequence[Load], supports: Sequence[AnySupport]
) -> tuple[ComplexArray, ComplexArray]:
    """Force and moment (n_parts, 3) on each rigid part of the whole body."""
    parts = rigid_parts(supports)
    force, moment = np.zeros((2, len(parts), 3))
    for load in loads:
        if isinstance(load, RigidLoad):
            number = numbered_part(parts, load.part)
            force[number] += load.force
            moment[number] += load.moment
    if body.cyclic.count > 1 and (force[:, :2].any() or moment[:, :2].any()):
        raise ModelError(
            f"load across the axis on one of {body.cyclic.count} sectors: it is of "
            "order 1; solve the whole body, or use respond with an OrderLoad"
        )
    return force.astype(complex), moment.astype(complex)
