"""The element contract: shape functions, rules, null space, patch, quadratic fields."""

from functools import partial
from itertools import product
from math import factorial

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.actions import body_force
from spokecheck.fem.assembly import (
    assemble_stiffness,
    mass_blocks,
    shape_gradients,
    stiffness_blocks,
)
from spokecheck.fem.constraints import rigid_motions
from spokecheck.fem.elasticity import Material, elasticity_matrix
from spokecheck.fem.static import solve_static
from spokecheck.fem.supports import displace
from spokecheck.handbook.case import Values
from spokecheck.handbook.catalogue import find_case
from spokecheck.handbook.identities import (
    manufactured_displacement,
    manufactured_errors,
    manufactured_force,
    manufactured_stress,
    wavy_block,
)
from spokecheck.handbook.patch_test import patch_mesh
from spokecheck.handbook.runner import run_case
from spokecheck.mesh.quadrature import TET_4, TRI_6, conical_rule
from spokecheck.mesh.shapes import (
    TET_NODES,
    TRI_EDGES,
    tet_gradients,
    tet_values,
    tri_gradients,
    tri_values,
)

ALUMINIUM = Material(E=70000.0, nu=0.33, rho=2.7e-9)
TRI_NODES = np.vstack(
    [[[0, 0], [1, 0], [0, 1]], np.array([[0.5, 0], [0.5, 0.5], [0, 0.5]])]
)
INSIDE = np.array([[0.2, 0.3, 0.1], [0.1, 0.1, 0.6], [0.4, 0.25, 0.3]])


@pytest.mark.parametrize(
    ("values", "nodes"), [(tet_values, TET_NODES), (tri_values, TRI_NODES)]
)
def test_shape_functions_are_nodal(values, nodes):
    """Each shape function is one at its own node and zero at all others."""
    assert_allclose(values(nodes), np.eye(len(nodes)), atol=1e-15)


@pytest.mark.parametrize("values", [tet_values, tri_values])
def test_shape_functions_sum_to_one(values):
    """Everywhere the shape functions add up to one."""
    dim = 3 if values is tet_values else 2
    assert_allclose(values(INSIDE[:, :dim]).sum(axis=1), 1.0, rtol=1e-14)


@pytest.mark.parametrize(
    ("values", "gradients", "dim"),
    [(tet_values, tet_gradients, 3), (tri_values, tri_gradients, 2)],
)
def test_gradients_are_the_derivatives(values, gradients, dim):
    """Gradients agree with central differences, which are exact for quadratics."""
    x, h = INSIDE[:, :dim], 1e-3
    for k in range(dim):
        step = h * np.eye(dim)[k]
        difference = (values(x + step) - values(x - step)) / (2.0 * h)
        assert_allclose(gradients(x)[:, :, k], difference, atol=1e-12)


def test_triangle_edges_match_the_mid_side_nodes():
    """Node 3 + k of a triangle lies halfway along edge k."""
    middles = TRI_NODES[TRI_EDGES].mean(axis=1)
    assert_allclose(TRI_NODES[3:], middles)


RULES = [
    ("four points", TET_4),
    ("six points", TRI_6),
    *[
        (f"conical {dim} {degree}", conical_rule(dim, degree))
        for dim in (2, 3)
        for degree in (1, 2, 4, 5, 7, 8)
    ],
]


@pytest.mark.parametrize("rule", [r for _, r in RULES], ids=[n for n, _ in RULES])
def test_rule_is_exact_to_its_degree(rule):
    """Every monomial up to the stated degree is integrated exactly.

    The integral of x^a y^b z^c over the reference simplex is
    a! b! c! / (a + b + c + d)! (Dirichlet).
    """
    dim = rule.points.shape[1]
    for powers in product(range(rule.degree + 1), repeat=dim):
        if sum(powers) > rule.degree:
            continue
        exact = np.prod([factorial(a) for a in powers]) / factorial(sum(powers) + dim)
        got = rule.weights @ np.prod(rule.points ** np.array(powers), axis=1)
        assert_allclose(got, exact, rtol=1e-12, err_msg=str(powers))


@pytest.mark.parametrize("rule", [TET_4, TRI_6], ids=["four", "six"])
def test_rule_is_not_exact_beyond_its_degree(rule):
    """The stated degree is not understated: one monomial above it is missed."""
    dim = rule.points.shape[1]
    power = rule.degree + 1
    exact = factorial(power) / factorial(power + dim)
    assert abs(rule.weights @ rule.points[:, 0] ** power - exact) > 1e-6


def test_elasticity_matrix_inverts_hooke_by_compliance():
    """D is the inverse of the compliance written with E, nu and G."""
    E, nu = 70000.0, 0.33
    S = np.diag(np.r_[np.full(3, 1.0 / E), np.full(3, 2.0 * (1.0 + nu) / E)])
    S[:3, :3] -= nu / E * (1.0 - np.eye(3))
    D = elasticity_matrix(Material(E=E, nu=nu))
    assert_allclose(D @ S, np.eye(6), atol=1e-12)


def test_stiffness_has_six_rigid_motions_and_no_more():
    """The unsupported stiffness has six zero eigenvalues, the rest are positive."""
    mesh = patch_mesh()
    K = assemble_stiffness(mesh, ALUMINIUM)
    values = np.linalg.eigvalsh(K.toarray())
    assert (np.abs(values[:6]) < 1e-9 * values[-1]).all()
    assert values[6] > 1e-5 * values[-1]
    moved = K @ rigid_motions(mesh.points).reshape(-1, 6)
    assert_allclose(moved, 0.0, atol=1e-9 * np.abs(K).max())


def test_mass_of_a_rigid_shift_is_the_mass():
    """A unit shift has kinetic energy of half the mass, by volume and density."""
    mesh = patch_mesh()
    M = mass_blocks(mesh, np.full(mesh.n_cells, ALUMINIUM.rho)).full()
    for k in range(3):
        shift = np.tile(np.eye(3)[k], mesh.n_points)
        assert_allclose(shift @ M @ shift, ALUMINIUM.rho, rtol=1e-12)


def test_constant_strain_patch():
    """The patch test of MacNeal and Harder (1985): stress 2000 and 400 everywhere."""
    mesh = patch_mesh()
    hold = displace("skin", lambda x: 0.5e-3 * (x + x.sum(axis=1, keepdims=True)))
    solution = solve_static(mesh, Material(E=1.0e6, nu=0.25), [hold], [])
    target = np.array([2000.0, 2000.0, 2000.0, 400.0, 400.0, 400.0])
    assert_allclose(
        solution.cell_stress, np.broadcast_to(target, (42, 4, 6)), rtol=1e-9
    )
    assert_allclose(solution.stress, np.tile(target, (mesh.n_points, 1)), rtol=1e-9)


def test_quadratic_displacement_is_reproduced():
    """A quadratic field, with the body force it needs, comes back to rounding."""
    mesh = patch_mesh(2)
    lam, mu = ALUMINIUM.lame

    def field(x):
        a, b, c = x.T
        return 1e-3 * np.column_stack([a * a + b * c, b * c, c * a - b * b])

    # div u = 2a + c + a = 3a + c; its gradient is (3, 0, 1).
    # The Laplacians of the components are 2, 0, -2.
    force = -1e-3 * ((lam + mu) * np.array([3.0, 0.0, 1.0]) + mu * np.array([2, 0, -2]))
    hold = displace("skin", field)
    solution = solve_static(mesh, ALUMINIUM, [hold], [body_force(force)])
    assert_allclose(solution.u, field(mesh.points), atol=1e-12)


def test_manufactured_force_is_minus_the_divergence_of_the_stress():
    """The body force balances the manufactured stress, by central differences."""
    x, h = INSIDE, 1e-4
    div = np.zeros_like(x)
    for j in range(3):
        step = h * np.eye(3)[j]
        ahead = manufactured_stress(x + step, 2.0, 3.0)
        behind = manufactured_stress(x - step, 2.0, 3.0)
        tensor = (ahead - behind)[:, [[0, 3, 5], [3, 1, 4], [5, 4, 2]]] / (2.0 * h)
        div += tensor[:, :, j]
    assert_allclose(manufactured_force(x, 2.0, 3.0), -div, rtol=1e-6)


def test_manufactured_stress_is_hooke_of_the_displacement():
    """Stress and displacement of the manufactured field belong together."""
    x, h = INSIDE, 1e-4
    H = np.stack(
        [
            (
                manufactured_displacement(x + h * np.eye(3)[j])
                - manufactured_displacement(x - h * np.eye(3)[j])
            )
            / (2.0 * h)
            for j in range(3)
        ],
        axis=2,
    )
    eps = np.stack(
        [
            H[:, 0, 0],
            H[:, 1, 1],
            H[:, 2, 2],
            H[:, 0, 1] + H[:, 1, 0],
            H[:, 1, 2] + H[:, 2, 1],
            H[:, 2, 0] + H[:, 0, 2],
        ],
        axis=1,
    )
    D = elasticity_matrix(ALUMINIUM)
    got = manufactured_stress(x, *ALUMINIUM.lame)
    assert_allclose(got, eps @ D, rtol=1e-6)


def test_observed_rates():
    """On curved cells the displacement error falls as h^3, the stress error as h^2.

    Strang and Fix, ch. 3, for second-order cells and smooth solutions; the windows of
    0.15 allow for cells that are not yet infinitely small.
    """
    levels = (3, 6, 9)
    errors = manufactured_errors(Values(E=70000.0, nu=0.33), levels)
    rates = np.polyfit(np.log(1.0 / np.array(levels)), np.log(errors), 1)[0]
    assert_allclose(rates, [3.0, 2.0], atol=0.15)


def test_volume_of_curved_cells():
    """Shape gradients of a bent mesh integrate one to the volume."""
    _, dV = shape_gradients(*_mesh(wavy_block(4)), conical_rule(3, 6))
    _, finer = shape_gradients(*_mesh(wavy_block(8)), conical_rule(3, 6))
    assert_allclose(dV.sum(), finer.sum(), rtol=1e-4)


def _mesh(mesh):
    return mesh.points, mesh.cells


def test_four_points_suffice_on_curved_cells():
    """An exact rule moves the stress of a curved body far less than its own error.

    Thick cylinder (Lame) at the bore: the gap between the four-point rule and one of
    degree six is below a tenth of the gap to the closed form.
    """
    case = find_case("p17")
    usual = run_case(case, fineness=2).readings[0]
    with pytest.MonkeyPatch.context() as patch:
        exact = partial(stiffness_blocks, rule=conical_rule(3, 6))
        patch.setattr("spokecheck.fem.stiffness.stiffness_blocks", exact)
        finer = run_case(case, fineness=2).readings[0]
    assert finer.value != usual.value
    assert abs(finer.value - usual.value) < 0.1 * abs(usual.value - usual.target)
