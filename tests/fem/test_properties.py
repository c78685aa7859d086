"""Properties that hold for any load, rotation and unit: drawn at random."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.fem.actions import PointForces
from spokecheck.fem.body import Body
from spokecheck.fem.cyclic import stress_rotation
from spokecheck.fem.elasticity import Material
from spokecheck.fem.static import solve_cases
from spokecheck.fem.supports import fix
from spokecheck.handbook.identities import wavy_block
from spokecheck.mesh.blocks import moved

MESH = wavy_block(2)
PART = Body(MESH, Material(E=70000.0, nu=0.33))
HELD = [fix("left")]
seeds = st.integers(0, 10**6)
few = settings(max_examples=8, deadline=None)


def random_forces(seed):
    """Nodal forces drawn at random."""
    return np.random.default_rng(seed).standard_normal(MESH.points.shape)


def solved(part, **forces):
    """Solutions of random nodal forces by name."""
    loads = {name: [PointForces(f)] for name, f in forces.items()}
    return solve_cases(part, HELD, loads)


@few
@given(seeds, st.floats(-3.0, 3.0), st.floats(-3.0, 3.0))
def test_superposition_and_reciprocity(seed, alpha, beta):
    """Any combination of loads gives the combination of fields; work is reciprocal."""
    fa, fb = random_forces(seed), random_forces(seed + 1)
    s = solved(PART, a=fa, b=fb, c=alpha * fa + beta * fb)
    combined = alpha * s["a"].u + beta * s["b"].u
    size = np.abs(s["a"].u).max()
    assert_allclose(s["c"].u, combined, atol=1e-9 * size)
    assert_allclose((s["a"].u * fb).sum(), (s["b"].u * fa).sum(), rtol=1e-9)


@few
@given(seeds)
def test_reactions_balance_and_energy_is_half_the_work(seed):
    """Reactions hold the loads in force and moment, and energy is half the work."""
    s = solved(PART, a=random_forces(seed))["a"]
    total = s.reactions + s.applied
    assert_allclose(total.sum(axis=0), 0.0, atol=1e-9)
    assert_allclose(np.cross(MESH.points, total).sum(axis=0), 0.0, atol=1e-9)
    assert_allclose(s.energy, 0.5 * (s.u * s.applied).sum(), rtol=1e-9)
    free = np.setdiff1d(np.arange(MESH.n_points), MESH.nodes("left"))
    assert_allclose(s.reactions[free], 0.0, atol=1e-9)


@few
@given(seeds, st.tuples(*[st.floats(-3.0, 3.0)] * 3))
def test_turned_body_gives_turned_results(seed, vector):
    """A body turned with its loads has turned displacement and stress."""
    angle = float(np.linalg.norm(vector)) or 1.0
    axis = np.array(vector) / angle if any(vector) else np.array([1.0, 0.0, 0.0])
    cross = np.cross(np.eye(3), -axis)
    R = np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross
    assert_allclose(R @ R.T, np.eye(3), atol=1e-12)
    f = random_forces(seed)
    straight = solved(PART, a=f)["a"]
    turned = solved(Body(moved(MESH, lambda x: x @ R.T), PART.material), a=f @ R.T)["a"]
    assert_allclose(turned.u, straight.u @ R.T, atol=1e-8 * np.abs(straight.u).max())
    stress = straight.stress @ stress_rotation(R).T
    assert_allclose(turned.stress, stress, atol=1e-8 * np.abs(stress).max())


@few
@given(seeds, st.floats(0.01, 1000.0), st.floats(0.01, 1000.0))
def test_units_do_not_matter(seed, length, stress):
    """Lengths and stresses in other units give the same body in those units."""
    f = random_forces(seed)
    here = solved(PART, a=f)["a"]
    material = Material(E=stress * 70000.0, nu=0.33)
    other = Body(moved(MESH, lambda x: length * x), material)
    there = solved(other, a=f * stress * length**2)["a"]
    assert_allclose(there.u, length * here.u, atol=1e-9 * length * np.abs(here.u).max())
    size = stress * np.abs(here.stress).max()
    assert_allclose(there.stress, stress * here.stress, atol=1e-9 * size)
