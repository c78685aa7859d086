"""Patch test and rigid motions on one distorted mesh.

References
----------
MacNeal, Harder, A proposed standard set of problems to test finite element accuracy,
Finite Elem. Anal. Des. 1 (1985) 3-20; points and field via public test suites.
"""

from functools import partial
from itertools import product

import numpy as np
from scipy.sparse.linalg import eigsh

from spokecheck.fem.actions import PointForces
from spokecheck.fem.assembly import assemble_stiffness
from spokecheck.fem.constraints import rigid_motions
from spokecheck.fem.elasticity import Material, elasticity_matrix
from spokecheck.fem.loads import sample_faces
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_static
from spokecheck.fem.stress import stress_tensor
from spokecheck.fem.supports import displace, fix, near
from spokecheck.handbook.case import Case, Parameter, Quantity, Study, Values
from spokecheck.mesh.blocks import block, join, straightened
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

FAMILY = "published benchmarks"


MACNEAL = "MacNeal & Harder, Finite Elem. Anal. Des. 1 (1985) 3-20"


PATCH_POINTS: FloatArray = np.array(
    [
        [
            [[0.249, 0.342, 0.192], [0.320, 0.186, 0.643]],
            [[0.273, 0.750, 0.230], [0.165, 0.745, 0.702]],
        ],
        [
            [[0.826, 0.288, 0.288], [0.677, 0.305, 0.683]],
            [[0.850, 0.649, 0.263], [0.788, 0.693, 0.644]],
        ],
    ]
)
"""The eight inner points of the patch test, by corner (x, y, z) of the inner brick."""


def _trilinear(corners: FloatArray, x: FloatArray) -> FloatArray:
    """Positions (n, 3) in a brick with corners (2, 2, 2, 3)."""
    shape = [np.stack([1.0 - x[:, k], x[:, k]]) for k in range(3)]
    return np.asarray(np.einsum("ijkc,in,jn,kn->nc", corners, *shape))


def patch_mesh(n: int = 1) -> Mesh:
    """The patch test's cube: one inner brick and six around it, each cut in 6 n^3."""
    outer = np.array(list(product((0.0, 1.0), repeat=3))).reshape(2, 2, 2, 3)
    bricks = [PATCH_POINTS]
    for axis, end in product(range(3), range(2)):
        skin = np.take(outer, end, axis=axis)
        core = np.take(PATCH_POINTS, end, axis=axis)
        bricks.append(np.stack([skin, core]))
    sides = [{}, *[{"i0": "skin"}] * 6]
    blocks = join(
        [
            block(partial(_trilinear, brick), (n, n, n), names)
            for brick, names in zip(bricks, sides, strict=True)
        ]
    )
    return straightened(blocks)


def patch_field(x: FloatArray) -> FloatArray:
    """Displacement of the patch test, 1e-3 (x + sum of all) / 2 in each direction."""
    return np.asarray(0.5e-3 * (x + x.sum(axis=1, keepdims=True)))


def _solve_patch(p: Values, n: int) -> Study:
    mesh = patch_mesh(n)
    material = Material(E=p.E, nu=p.nu)
    imposed = solve_static(mesh, material, [displace("skin", patch_field)], [])
    samples = sample_faces(mesh.points, mesh.faces("skin"))
    stress = _patch_stress(p)
    pull = PointForces(
        samples.spread(samples.areas @ stress_tensor(stress), mesh.n_points)
    )
    held = [
        fix(near((0.0, 0.0, 0.0))),
        fix(near((1.0, 0.0, 0.0)), "yz"),
        fix(near((0.0, 1.0, 0.0)), "z"),
    ]
    pulled = solve_static(mesh, material, held, [pull])
    return {"solution": imposed, "pulled": pulled}


def _patch_stress(p: Values) -> FloatArray:
    """Stress of the uniform strain 1e-3 in all six components."""
    return np.asarray(elasticity_matrix(Material(E=p.E, nu=p.nu)) @ np.full(6, 1.0e-3))


def _stress_gap(solution: Solution, stress: FloatArray) -> float:
    """Largest deviation of cell and recovered stress from a uniform one, relative."""
    size = float(np.abs(stress).max())
    cell = np.abs(solution.cell_stress - stress).max()
    return float(max(cell, np.abs(solution.stress - stress).max())) / size


P04 = Case(
    id="p04",
    slug="patch-test",
    family=FAMILY,
    title="Patch test: constant strain on a distorted mesh",
    statement=(
        "Unit cube around an irregular brick. First the linear displacement field is "
        "imposed on the skin, then the matching tractions with minimum supports."
    ),
    source=f"{MACNEAL}; inner points and field seen in public test suites",
    basis="seen",
    parameters=[
        Parameter("E", 1.0e6, "MPa", "Young's modulus"),
        Parameter("nu", 0.25, "", "Poisson's ratio", -0.99, 0.49),
    ],
    solve=_solve_patch,
    quantities=[
        Quantity(
            "stress gap, displacements imposed",
            "",
            lambda p: 0.0,
            lambda s, p: _stress_gap(s["solution"], _patch_stress(p)),
            1e-9,
            "the field lies in the cell's own space: only rounding is left",
        ),
        Quantity(
            "inner displacement gap",
            "",
            lambda p: 0.0,
            lambda s, p: float(
                np.abs(s["solution"].u - patch_field(s["solution"].mesh.points)).max()
                / 2.0e-3
            ),
            1e-9,
            "as above",
        ),
        Quantity(
            "stress gap, tractions applied",
            "",
            lambda p: 0.0,
            lambda s, p: _stress_gap(s["pulled"], _patch_stress(p)),
            1e-8,
            "only rounding, magnified by the point supports",
        ),
        Quantity(
            "normal stress",
            "MPa",
            lambda p: float(_patch_stress(p)[0]),
            lambda s, p: float(s["solution"].stress_at((0.4, 0.5, 0.6))[0]),
            1e-9,
            "2000 for the published constants",
        ),
        Quantity(
            "shear stress",
            "MPa",
            lambda p: float(_patch_stress(p)[3]),
            lambda s, p: float(s["solution"].stress_at((0.4, 0.5, 0.6))[3]),
            1e-9,
            "400 for the published constants",
        ),
    ],
    fineness=1,
    refinements=(1, 2, 3),
)


def _solve_spectrum(p: Values, n: int) -> Study:
    mesh = patch_mesh(n)
    K = assemble_stiffness(mesh, Material(E=p.E, nu=p.nu))
    largest = float(eigsh(K, k=1, return_eigenvectors=False)[0])
    values = eigsh(K, k=8, sigma=-1e-4 * largest, return_eigenvectors=False)
    motions = rigid_motions(mesh.points).reshape(-1, 6)
    residual = np.abs(K @ motions).max() / np.abs(K).max()
    return {"eigenvalues": values / largest, "residual": residual}


P05 = Case(
    id="p05",
    slug="rigid-motions",
    family=FAMILY,
    title="Six rigid motions and no more cost no energy",
    statement="Eigenvalues of the unsupported stiffness of the patch-test mesh.",
    source="a theorem: the null space of linear elasticity; no outside value needed",
    basis="computed",
    parameters=P04.parameters,
    solve=_solve_spectrum,
    quantities=[
        Quantity(
            "eigenvalues below 1e-9 of the largest",
            "",
            lambda p: 6.0,
            lambda s, p: float((np.abs(s["eigenvalues"]) < 1e-9).sum()),
            1e-12,
            "a count",
        ),
        Quantity(
            "force of a rigid motion over the largest stiffness",
            "",
            lambda p: 0.0,
            lambda s, p: float(s["residual"]),
            1e-12,
            "only rounding",
        ),
        Quantity(
            "seventh eigenvalue is positive",
            "",
            lambda p: 1.0,
            lambda s, p: float(np.sort(s["eigenvalues"])[6] > 1e-5),
            1e-12,
            "a yes or no",
        ),
    ],
    fineness=1,
    refinements=(1, 2, 3),
)


CASES = (P04, P05)
