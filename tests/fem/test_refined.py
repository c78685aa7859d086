"""Refinement of one's own case about places until these stand still."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spokecheck as sc
from spokecheck.fem.grid_convergence import LEAST_BAR
from spokecheck.handbook.both_ways import both_ways
from spokecheck.handbook.case import Values
from spokecheck.handbook.holes import kirsch
from tests.screen.notched import SHOULDER

METAL = sc.Material(E=70000.0, nu=0.33)
KIRSCH = Values(a=10.0, S=100.0)


def hole(cells=(2, 2)):
    """A hole in a plate under Kirsch's tractions, two or more edges on a quarter."""

    def pull(x):
        xx, yy, xy = kirsch(KIRSCH, x).T
        right = x[:, 0] > 40.0 - 1e-6
        along = np.where(right, xx, xy), np.where(right, xy, yy)
        return np.column_stack([*along, np.zeros(len(x))])

    mesh = sc.plate_with_hole(10.0, 40.0, 40.0, 5.0, (*cells, 1))
    planes = [sc.fix("x0", "x"), sc.fix("y0", "y"), sc.fix(["bottom", "top"], "z")]
    return sc.solve_static(mesh, METAL, planes, [sc.traction("frame", pull)])


def along_x(stress):
    """Stress along the pull."""
    return stress[:, 0]


@pytest.mark.parametrize("cells", [(2, 2), (3, 4)])
def test_the_peak_at_a_hole_lies_inside_its_bar(cells):
    """Kirsch's 3 S, and his values at the hole's edge and half a radius out.

    Source: Timoshenko and Goodier, Theory of Elasticity, art. 35 (from memory).
    """
    places = ["hole", (0.0, 10.0, 2.5), (0.0, 15.0, 2.5)]
    done = sc.refined(hole(cells), places, measure=along_x)
    assert done.settled
    assert not done.given_up
    exact = [300.0, 300.0, float(kirsch(KIRSCH, np.array([[0.0, 15.0, 0.0]]))[0, 0])]
    for place, truth in zip(done.places, exact, strict=True):
        assert abs(place.value / truth - 1.0) < place.bar <= 0.03
        assert len(place.values) == len(place.edges) > 1
        assert place.edges[-1] < 0.8 * place.edges[-2]


def test_the_last_solution_is_what_was_read():
    """Values are those of the solution that is handed back, solved as a whole."""
    done = sc.refined(hole(), ["hole"])
    nodes = done.solution.mesh.nodes("hole")
    top = sc.von_mises(done.solution.stress[nodes]).max()
    assert_allclose(done.places[0].value, top, rtol=1e-12)
    free = ~done.solution.held.restraint.supports.held
    assert_allclose(done.solution.reactions[free], 0.0, atol=1e-6)


@pytest.mark.parametrize("eighth", [2, 4])
def test_the_peak_of_a_shoulder_lies_inside_its_bar(eighth):
    """Shoulder fillet D 60, d 40, r 5, against a uniform fine mesh of the same body.

    Cells elsewhere stay coarse, which costs 1 %: the least bar covers that.
    """
    section = sc.Shoulder(20.0, 30.0, 5.0, 120.0, 120.0, eighth, eighth)
    mesh = sc.shoulder_bar(section, 5.0)
    held = [sc.fix("axis", "y"), sc.fix("start", "x"), sc.fix(["bottom", "top"], "z")]
    pull = [sc.traction("end", (100.0 * 20.0 / 30.0, 0.0, 0.0))]
    coarse = sc.solve_static(mesh, METAL, held, pull)

    def principal(stress):
        mean, gap = stress[:, :2].mean(axis=1), (stress[:, 0] - stress[:, 1]) / 2.0
        return mean + np.hypot(gap, stress[:, 3])

    (place,) = sc.refined(coarse, ["fillet"], measure=principal).places
    assert abs(place.value / SHOULDER - 1.0) < place.bar <= 0.03


def test_a_singular_edge_never_settles():
    """The edge of a clamped face, where stress has no limit: a wide bar."""
    bar = sc.beam_block(30.0, 10.0, 10.0, (3, 1, 1))
    s = sc.solve_static(bar, METAL, [sc.fix("root")], [sc.traction("tip", (0, 0, -1))])
    done = sc.refined(s, ["root"], most=4)
    (place,) = done.places
    assert not done.settled
    assert len(place.values) == 4
    assert np.all(np.diff(place.values) > 0.0)
    assert place.bar > 0.2


def test_a_place_that_has_settled_stays_as_it_is():
    """Cells are halved about the open places only."""
    far = (25.0, 25.0, 2.5)
    done = sc.refined(hole((4, 6)), ["hole", far], tolerance=0.02)
    assert done.settled
    again = sc.refined(hole((4, 6)), ["hole"], tolerance=0.02)
    assert again.solution.mesh.n_cells < done.solution.mesh.n_cells


def test_a_sector_is_refined_on_both_cuts():
    """The bore of one quarter of a pressed ring, its images on the cuts halved alike.

    Source: Lamé, Timoshenko and Goodier, art. 28 (from memory).
    """
    ring = sc.ring_sector(20.0, 60.0, 4.0, (2, 6, 1))
    body = both_ways(ring, 4, METAL).sector

    def around(x):
        return np.column_stack([-x[:, 1], x[:, 0], 0.0 * x[:, 2]])

    held = [sc.fix(["bottom", "top"], "z"), sc.slide("outer", around)]
    load = {"": [sc.pressure("inner", 8.0)]}
    start = sc.solve_cases(body, held, load)[""]
    done = sc.refined(start, [(20.0, 0.0, 2.0)], measure=lambda s: s[:, 1])
    assert done.settled
    cyclic, points = done.solution.body.cyclic, done.solution.mesh.points
    low, high = points[cyclic.pairs.T]
    assert_allclose(
        np.column_stack([-low[:, 1], low[:, 0], low[:, 2]]), high, atol=1e-12
    )
    exact = 8.0 * (60.0**2 + 20.0**2) / (60.0**2 - 20.0**2)
    (place,) = done.places
    assert abs(place.value / exact - 1.0) < place.bar


def test_what_is_tied_to_one_mesh_cannot_be_refined():
    """Point numbers and nodal forces hold for one mesh; the message names them."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (2, 1, 1))
    forces = sc.PointForces(np.full(bar.points.shape, 0.1))
    s = sc.solve_static(bar, METAL, [sc.fix(bar.nodes("root"))], [forces])
    said = "Support on 9 point numbers; PointForces: cannot follow a finer mesh"
    with pytest.raises(sc.ModelError, match=said):
        sc.refined(s, ["root"])


def test_no_bar_is_below_the_least():
    """A tolerance that no bar grants, or nothing to refine, is an error."""
    with pytest.raises(sc.ModelError, match=f"must be {LEAST_BAR:g} or more"):
        sc.refined(hole(), ["hole"], tolerance=0.01)
    with pytest.raises(sc.ModelError, match="0 places, 5 meshes"):
        sc.refined(hole(), [])
