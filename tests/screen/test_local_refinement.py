"""Cells halved about hot spots and solved again: true answers inside the bars."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.procedure import requirements
from spokecheck.fem.submodel import make_submodel, solve_submodel
from spokecheck.mesh import sound_halving
from spokecheck.mesh.jacobian_bounds import cell_shapes
from spokecheck.screen.hotspots import outer_surface
from spokecheck.screen.loaded import (
    load_case,
    load_refined,
    load_wheel,
    wheel_body,
)
from spokecheck.screen.local_refinement import refine_locally
from spokecheck.wheel.meshing.kernel.task import Refinement
from tests.screen.notched import PEAK, SHOULDER, holed_plate, stepped_bar


def in_bars(seen, truth):
    """Whether the truth lies inside the bar of each mesh."""
    found = [trial.histories[0] for trial in seen.meshes]
    return [abs(one.spot.value / truth - 1.0) < one.bar for one in found]


@pytest.mark.parametrize("coarse", [1, 2])
@pytest.mark.parametrize(("tolerance", "meshes"), [(0.02, 2), (0.01, 3)])
def test_the_true_peak_at_a_hole_lies_inside_every_bar(coarse, tolerance, meshes):
    """Kirsch's 300 MPa lies within the bar of each mesh, and the loop settles there.

    Two meshes are enough for 2 %; where 1 % is asked for, which no bar grants, a third
    is made, and stays as near.
    """
    _, seen = holed_plate(coarse).converge(tolerance, 3)
    assert seen.settled == (meshes == 2)
    assert len(seen.meshes) == meshes
    assert all(in_bars(seen, PEAK))
    assert_allclose(seen.meshes[-1].histories[0].spot.value, PEAK, rtol=2e-3)


@pytest.mark.parametrize(("coarse", "out"), [(2, 2), (2, 4), (4, 4)])
@pytest.mark.parametrize(("tolerance", "meshes"), [(0.02, 2), (0.01, 3)])
def test_the_bars_at_a_shoulder_cover_what_a_fine_mesh_gives(
    coarse, out, tolerance, meshes
):
    """Shoulder fillet D 60, d 40, r 5: every bar covers the factor of a fine mesh.

    Where only cells at the fillet are halved, the coarse rest of the bar keeps the
    peak 1.1 % low, though it hardly moves any more: the least bar covers that.
    """
    _, seen = stepped_bar(coarse, out).converge(tolerance, 3)
    assert seen.settled == (meshes == 2)
    assert len(seen.meshes) == meshes
    assert all(in_bars(seen, SHOULDER))


def test_what_the_loop_ends_with_is_in_balance_as_a_whole():
    """Solved again as a whole the last mesh gives the same, and the cost is measured.

    The held edge of its local solution costs 6e-5 of the peak at a hole.
    """
    hole = holed_plate(1)
    last, seen = hole.converge(0.02, 3)
    again = hole.whole(replace(last, local=True))
    assert_allclose(last.u, again.u, atol=1e-9 * np.abs(again.u).max())
    assert 1e-5 < seen.held_edge < 1e-3


@pytest.mark.slow
def test_the_fine_mesh_is_fine_enough():
    """A uniform mesh of 16 cells an eighth gives the peak the bars are held against."""
    fine = stepped_bar(16)
    peak = fine.watch(fine.trial(None, ()))[1][0].value
    assert_allclose(peak, SHOULDER, rtol=5e-4)


@pytest.mark.parametrize("bar", [holed_plate(2), stepped_bar(4)], ids=["hole", "step"])
def test_the_held_edge_costs_a_notch_little(bar):
    """Halved once and solved again within its reach, all about a notch is as if whole.

    Against the same finer mesh solved as a whole: 0.005 % where a twentieth of the
    least error bar is allowed.
    """
    coarse = bar.trial(None, ())
    _, (spot,) = bar.watch(coarse)
    ball = Refinement(spot.position, spot.edge / 3.0, spot.edge)
    local = bar.trial(coarse, [ball])
    whole = replace(bar, coarse=local.mesh).trial(None, ())
    near = np.linalg.norm(local.mesh.points - ball.centre, axis=1) < ball.radius
    gap = np.abs(local.stress - whole.stress)[0, near]
    assert near.sum() > 20
    assert gap.max() < 0.02 / 20.0 * np.abs(whole.stress[0, near]).max()


@pytest.fixture(scope="module")
def wheel(small_screening):
    """A coarse wheel with its body, its surface, and both tests solved."""
    found, body = small_screening.wheel, wheel_body(small_screening.wheel)
    wanted = {r.setup.test: r for r in reversed(requirements(found.design))}
    surface = outer_surface(found)
    loaded = {
        test: load_wheel(found, surface, body, requirement)[0]
        for test, requirement in wanted.items()
    }
    return found, body, wanted, loaded


@pytest.fixture(scope="module")
def closer(small_screening, wheel):
    """Cells halved twice about the first hot spots, one of them near a cut."""
    found, body, _, _ = wheel
    spheres = [
        Refinement(spot.position_mm, spot.mesh.edge_mm / 3.0, spot.mesh.edge_mm)
        for spot in small_screening.findings.hot_spots[:5]
    ]
    low = found.mesh.points[found.cyclic.pairs[0, 0]]
    spheres.append(Refinement(tuple(map(float, low)), 4.0, 8.0))
    return refine_locally(found.mesh, found.cyclic, body.elastic, spheres), spheres


@pytest.mark.parametrize("test", ["cornering", "radial"])
def test_the_held_edge_costs_a_hot_spot_less_than_its_least_bar(wheel, closer, test):
    """Against the same finer mesh solved as a whole: within 1 % where it is refined."""
    found, _, wanted, loaded = wheel
    look, spheres = closer
    finer = look.on(found)
    surface = outer_surface(finer)
    local = load_refined(finer, surface, look, loaded[test], wanted[test])
    whole, _ = load_wheel(finer, surface, wheel_body(finer), wanted[test])
    size = np.sqrt((np.abs(whole.stress) ** 2).sum(axis=(0, 2)))
    off = np.sqrt((np.abs(local.stress - whole.stress) ** 2).sum(axis=(0, 2)))
    for sphere in spheres[:5]:
        at = finer.mesh.points[surface.nodes]
        far = np.linalg.norm(at - sphere.centre, axis=1)
        near = far < sphere.radius
        assert off[near].max() < 0.01 * size[near].max()


def test_away_from_the_finer_cells_nothing_changes(wheel, closer):
    """Stress beyond the points seen, and displacement beyond those free, stay as is."""
    found, _, wanted, loaded = wheel
    look, _ = closer
    finer, before = look.on(found), loaded["cornering"]
    local = load_refined(finer, outer_surface(finer), look, before, wanted["cornering"])
    same = before.nodes[~local.updated[before.nodes]]
    assert len(same) > 1000
    assert (local.stress_at(same) == before.stress_at(same)).all()
    still = np.flatnonzero(~look.near.free[: found.mesh.n_points])
    assert len(still) > 1000
    assert (local.displacement[:, still] == before.displacement[:, still]).all()
    assert local.updated[found.mesh.n_points :].all()


def test_an_unrefined_mesh_solved_again_is_the_same(wheel):
    """Where nothing was halved the neighbourhood is in balance already."""
    found, body, wanted, loaded = wheel
    mesh, before = found.mesh, loaded["radial"]
    free = np.linalg.norm(mesh.points - [80.0, 0.0, 50.0], axis=1) < 25.0
    near = make_submodel(mesh, found.cyclic, body.elastic, free)
    case = load_case(found, wanted["radial"])
    again = solve_submodel(near, case.supports, case.loads, before.displacement)
    size = np.abs(before.displacement).max()
    assert free.sum() > 100
    assert_allclose(again, before.displacement, atol=1e-9 * size)


def test_loads_weigh_the_same_on_the_finer_mesh(wheel, closer):
    """Halving seats and flanges leaves the resultants of the nodal forces alone."""
    found, _, wanted, _ = wheel
    finer = closer[0].on(found)
    for one, other in zip(
        load_case(found, wanted["radial"]).loads,
        load_case(finer, wanted["radial"]).loads,
        strict=True,
    ):
        size = np.abs(one.nodal).sum()
        assert_allclose(
            one.nodal.sum(axis=0), other.nodal.sum(axis=0), atol=1e-6 * size
        )


def test_a_finer_mesh_keeps_the_contract(wheel, closer):
    """Cuts stay images to 1e-9 mm and no cell folds."""
    found, _, _, _ = wheel
    finer = closer[0].on(found)
    assert finer.proof.cut_gap < 1e-9
    assert finer.proof.least_jacobian > 0.05
    assert finer.mesh.n_cells > found.mesh.n_cells
    assert replace(finer, mesh=found.mesh).mesh is found.mesh


def test_a_bad_cell_costs_its_own_place_only(wheel, closer, monkeypatch):
    """With a part called flat at one place, that place is named and others are refined.

    The wheel on those cells is a wheel: nothing is raised.
    """
    found, body, _, _ = wheel
    centre = np.array(closer[1][0].centre)
    others = [b for b in closer[1] if np.linalg.norm(b.centre - centre) > 30.0]
    spheres = [closer[1][0], *others]
    assert others

    def shapes(points, cells):
        near = np.linalg.norm(points[cells[:, :4]].mean(axis=1) - centre, axis=1) < 3.0
        return np.where(near, 1e-4, cell_shapes(points, cells))

    monkeypatch.setattr(sound_halving, "cell_shapes", shapes)
    look = refine_locally(found.mesh, found.cyclic, body.elastic, spheres)
    (spot,) = look.given_up
    assert spot.centre == spheres[0].centre
    assert "shape 0.0001" in spot.reason
    middles = look.mesh.points[look.mesh.cells[look.halved, :4]].mean(axis=1)
    for ball in spheres[1:]:
        gaps = np.linalg.norm(middles - ball.centre, axis=1)
        assert (gaps < ball.radius).sum() > 3
    assert look.on(found).mesh.n_cells > found.mesh.n_cells
