"""What any linear solver must satisfy, and how fast its error must fall.

References
----------
Strang, Fix, An Analysis of the Finite Element Method, 2nd ed., ch. 3; Roache, J. Fluids
Eng. 124 (2002) 4-10, for manufactured solutions (from memory).
"""

from collections.abc import Callable, Sequence

import numpy as np

from spokecheck.fem.actions import Load, PointForces, body_force, pressure, traction
from spokecheck.fem.assembly import shape_gradients
from spokecheck.fem.body import Body
from spokecheck.fem.cyclic import stress_rotation
from spokecheck.fem.elasticity import Material
from spokecheck.fem.solution import Solution, nodal_forces
from spokecheck.fem.static import solve_cases, solve_static
from spokecheck.fem.supports import displace, fix
from spokecheck.handbook.case import (
    Case,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.blocks import block, moved
from spokecheck.mesh.parts import named
from spokecheck.mesh.quadrature import conical_rule
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.shapes import tet_values
from spokecheck.units import FloatArray

FAMILY = "solver identities"
WAVES: FloatArray = np.array([[1.1, 0.7, 0.4], [0.5, 1.3, 0.8], [0.9, 0.3, 1.2]])
PHASES: FloatArray = np.array([0.3, 0.9, 1.7])
"""Wave vectors [1/mm] and phases of the manufactured displacement; invented."""

ROUNDING = "an identity of the discrete equations: only rounding"


def wavy_block(n: int) -> Mesh:
    """Unit cube, slightly bent so that its cells are curved."""

    def bend(x: FloatArray) -> FloatArray:
        wave = 0.05 * np.sin(np.pi * x)
        return np.asarray(x + wave[:, [1, 2, 0]])

    sides = named("left", "right", "front", "back", "bottom", "top")
    return block(bend, (n, n, n), sides)


def manufactured_displacement(x: FloatArray) -> FloatArray:
    """Displacement u_i = sin(k_i . x + phase_i) (n, 3)."""
    return np.asarray(np.sin(x @ WAVES.T + PHASES))


def manufactured_stress(x: FloatArray, lam: float, mu: float) -> FloatArray:
    """Stress (n, 6) [MPa] of the manufactured displacement."""
    H = np.cos(x @ WAVES.T + PHASES)[:, :, None] * WAVES
    trace = np.trace(H, axis1=1, axis2=2)
    normal = [lam * trace + 2.0 * mu * H[:, k, k] for k in range(3)]
    shear = [mu * (H[:, i, j] + H[:, j, i]) for i, j in ((0, 1), (1, 2), (2, 0))]
    return np.stack([*normal, *shear], axis=1)


def manufactured_force(x: FloatArray, lam: float, mu: float) -> FloatArray:
    """Force per volume (n, 3) that holds the manufactured stress in balance."""
    s = np.sin(x @ WAVES.T + PHASES)
    laplacian = -s * (WAVES**2).sum(axis=1)
    grad_div = -(s * np.diag(WAVES)) @ WAVES
    return np.asarray(-mu * laplacian - (lam + mu) * grad_div)


def norms(solution: Solution, lam: float, mu: float) -> tuple[float, float]:
    """L2 error of displacement and of stress inside the cells."""
    mesh, rule = solution.mesh, conical_rule(3, 7)
    N = tet_values(rule.points)
    G, dV = shape_gradients(mesh.points, mesh.cells, rule)
    x = np.einsum("qa,eai->eqi", N, mesh.points[mesh.cells])
    u = np.einsum("qa,eai->eqi", N, solution.u[mesh.cells])
    H = np.einsum("eai,eqaj->eqij", solution.u[mesh.cells], G, optimize=True)
    flat = x.reshape(-1, 3)
    gap = u - manufactured_displacement(flat).reshape(u.shape)
    trace = np.trace(H, axis1=2, axis2=3)[..., None, None]
    stress = lam * trace * np.eye(3) + mu * (H + H.swapaxes(2, 3))
    exact = manufactured_stress(flat, lam, mu)[:, [[0, 3, 5], [3, 1, 4], [5, 4, 2]]]
    miss = stress - exact.reshape(stress.shape)
    return (
        float(np.sqrt(((gap**2).sum(axis=-1) * dV).sum())),
        float(np.sqrt(((miss**2).sum(axis=(-1, -2)) * dV).sum())),
    )


def manufactured_errors(p: Values, levels: tuple[int, ...]) -> FloatArray:
    """Errors (n_levels, 2) of displacement and stress on refined wavy cubes."""
    material = Material(E=p.E, nu=p.nu)
    lam, mu = material.lame
    errors = []
    for n in levels:
        mesh = wavy_block(n)
        skin = list(mesh.surfaces)
        hold = [displace(skin, manufactured_displacement)]
        load = [body_force(lambda x: manufactured_force(x, lam, mu))]
        errors.append(norms(solve_static(mesh, material, hold, load), lam, mu))
    return np.array(errors)


def _solve(p: Values, n: int) -> Study:
    mesh = wavy_block(2 * n)
    body = Body(mesh, Material(E=p.E, nu=p.nu))
    held = [fix("left")]
    pull, weight = np.array([3.0, -2.0, 1.0]), np.array([0.0, 0.0, -0.5])
    forces: dict[str, Sequence[Load]] = {
        "a": [traction("right", pull), body_force(weight)],
        "b": [pressure("top", 4.0), traction("back", (0.0, 1.0, 2.0))],
    }
    nodal = {name: nodal_forces(body, loads) for name, loads in forces.items()}
    mixed = {"mixed": [PointForces(2.0 * nodal["a"] - 3.0 * nodal["b"])]}
    cases = solve_cases(body, held, {**forces, **mixed})
    R = _turn()
    turned = Body(moved(mesh, lambda x: x @ R.T), body.material)
    askew: list[Load] = [traction("right", R @ pull), body_force(R @ weight)]
    cases |= solve_cases(turned, held, {"turned": askew})
    stiff = Body(mesh, Material(E=7.0 * p.E, nu=p.nu))
    cases |= solve_cases(stiff, held, {"stiff": forces["a"]})
    metres = Body(moved(mesh, lambda x: 1e-3 * x), Material(E=1e6 * p.E, nu=p.nu))
    in_pascals: list[Load] = [traction("right", 1e6 * pull), body_force(1e9 * weight)]
    cases |= solve_cases(metres, held, {"metres": in_pascals})
    levels = (2 * n, 3 * n, 4 * n)
    errors = manufactured_errors(p, levels)
    rates = np.polyfit(np.log(1.0 / np.array(levels)), np.log(errors), 1)[0]
    return {**cases, "solution": cases["a"], "rates": rates, "turn": R}


def _turn() -> FloatArray:
    """Rotation that mixes all axes."""
    axis = np.array([2.0, -1.0, 3.0]) / np.sqrt(14.0)
    cross = np.cross(np.eye(3), axis)
    return np.asarray(
        np.eye(3) - np.sin(0.8) * cross + (1 - np.cos(0.8)) * cross @ cross
    )


def _relative(gap: FloatArray | float, size: FloatArray | float) -> float:
    return float(np.abs(gap).max() / np.abs(size).max())


def _balance(s: Study, p: Values) -> float:
    a = s["a"]
    forces = a.reactions[a.mesh.nodes("left")].sum(axis=0) + a.applied.sum(axis=0)
    moments = np.cross(a.mesh.points, a.reactions + a.applied).sum(axis=0)
    return max(
        _relative(forces, a.applied.sum(axis=0)),
        _relative(moments, np.cross(a.mesh.points, a.applied).sum(axis=0)),
    )


def _energy(s: Study, p: Values) -> float:
    a = s["a"]
    work = 0.5 * float((a.u * a.applied).sum())
    return abs(float(a.energy) / work - 1.0)


def _reciprocity(s: Study, p: Values) -> float:
    a, b = s["a"], s["b"]
    return _relative(
        (a.u * b.applied).sum() - (b.u * a.applied).sum(), (a.u * b.applied).sum()
    )


def _superposition(s: Study, p: Values) -> float:
    return _relative(2.0 * s["a"].u - 3.0 * s["b"].u - s["mixed"].u, s["mixed"].u)


def _rotation(s: Study, p: Values) -> float:
    R, a, turned = s["turn"], s["a"], s["turned"]
    moved_gap = _relative(a.u @ R.T - turned.u, a.u)
    stress = a.stress @ stress_rotation(R).T
    return max(moved_gap, _relative(stress - turned.stress, a.stress))


def _scaling(s: Study, p: Values) -> float:
    a, stiff = s["a"], s["stiff"]
    return max(
        _relative(a.u / 7.0 - stiff.u, stiff.u),
        _relative(a.stress - stiff.stress, a.stress),
    )


def _units(s: Study, p: Values) -> float:
    a, metres = s["a"], s["metres"]
    return max(
        _relative(1e-3 * a.u - metres.u, metres.u),
        _relative(1e6 * a.stress - metres.stress, metres.stress),
    )


def _identity(
    name: str, measure: Callable[[Study, Values], float], tolerance: float = 1e-9
) -> Quantity:
    return Quantity(name, "", lambda p: 0.0, measure, tolerance, ROUNDING)


P40 = Case(
    id="p40",
    slug="solver-identities",
    family=FAMILY,
    title="Balance, work, reciprocity, scaling, and observed rates",
    statement=(
        "A cube with bent faces under two load cases, turned, stiffened, in other "
        "units; then a manufactured displacement with its body force, refined."
    ),
    source="theorems of linear elasticity; Strang & Fix, ch. 3, for the rates",
    basis="computed",
    parameters=[*aluminium()],
    solve=_solve,
    quantities=[
        _identity("balance of forces and moments", _balance),
        _identity("strain energy against work", _energy),
        _identity("reciprocity of two load cases", _reciprocity),
        _identity("superposition", _superposition),
        _identity("turned body under turned loads", _rotation, 1e-8),
        _identity("displacement and stress against stiffness", _scaling),
        _identity("metres and pascals against millimetres and megapascals", _units),
        Quantity(
            "observed rate of the displacement error",
            "",
            lambda p: 3.0,
            lambda s, p: float(s["rates"][0]),
            0.1,
            "cells are not yet infinitely small",
        ),
        Quantity(
            "observed rate of the stress error",
            "",
            lambda p: 2.0,
            lambda s, p: float(s["rates"][1]),
            0.1,
            "cells are not yet infinitely small",
        ),
    ],
    refinements=(1, 2, 3),
)

CASES = (P40,)
