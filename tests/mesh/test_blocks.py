"""Structured blocks: volumes, surfaces, joints, and what they refuse."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import MeshError
from spokecheck.fem.assembly import shape_gradients
from spokecheck.fem.loads import sample_faces
from spokecheck.mesh.blocks import block, geometric, join, moved, pieces, turned_copies
from spokecheck.mesh.parts import beam_block, round_bar
from spokecheck.mesh.quadrature import conical_rule


def volume(mesh):
    """Volume by a rule exact for curved second-order cells."""
    return shape_gradients(mesh.points, mesh.cells, conical_rule(3, 6))[1].sum()


def test_cube_is_filled():
    """A cube of 2 x 3 x 4 bricks has volume one and six cells for each brick."""
    cube = block(lambda x: x, (2, 3, 4))
    assert cube.n_cells == 6 * 24
    assert cube.n_points == 5 * 7 * 9
    assert_allclose(volume(cube), 1.0, rtol=1e-13)


def test_left_handed_map_is_turned_upright():
    """A mirrored block keeps positive volumes and outward faces."""
    mirrored = block(lambda x: x * [1, -1, 1], (2, 2, 2), {"j1": "low"})
    assert_allclose(volume(mirrored), 1.0, rtol=1e-13)
    area = sample_faces(mirrored.points, mirrored.faces("low")).areas.sum(axis=(0, 1))
    assert_allclose(area, [0.0, -1.0, 0.0], atol=1e-13)


def test_closed_surface_of_a_bar():
    """The outward area vectors of all six sides cancel and their areas are right."""
    bar = beam_block(4.0, 3.0, 2.0, (3, 2, 2))
    samples = {s: sample_faces(bar.points, bar.faces(s)) for s in bar.surfaces}
    areas = {name: s.total_area for name, s in samples.items()}
    expected = dict(zip(("root", "front", "bottom"), (6.0, 8.0, 12.0), strict=True))
    expected |= dict(zip(("tip", "back", "top"), (6.0, 8.0, 12.0), strict=True))
    assert_allclose(
        [areas[k] for k in sorted(areas)], [expected[k] for k in sorted(areas)]
    )
    total = sum(s.areas.sum(axis=(0, 1)) for s in samples.values())
    assert_allclose(total, 0.0, atol=1e-12)


@pytest.mark.parametrize("n", [2, 3])
def test_blocks_fit_however_they_are_turned(n):
    """Two cubes joined at a common side make one body, also with axes exchanged."""
    first = block(lambda x: x, (2, n, n), {"i1": "wall", "i0": "left"})
    second = block(
        lambda x: np.column_stack([1 + x[:, 2], x[:, 1], x[:, 0]]), (n, n, 2)
    )
    both = join([first, second])
    side = (2 * n + 1) ** 2
    assert both.n_points == first.n_points + second.n_points - side
    assert len(both.surfaces["wall"]) == 0
    assert len(both.surfaces["left"]) == 2 * n * n
    assert_allclose(volume(both), 2.0, rtol=1e-13)


def test_reversed_odd_grid_is_refused():
    """A common side whose diagonals cross is an error that says what to do."""
    first = block(lambda x: x, (2, 3, 3))
    second = block(
        lambda x: np.column_stack([1 + x[:, 0], 1 - x[:, 1], x[:, 2]]), (2, 3, 3)
    )
    with pytest.raises(MeshError, match="even number of cells"):
        join([first, second])


def test_ring_closes_on_itself():
    """Six turned copies of a sixth of a ring close without a seam."""
    angle = np.pi / 3.0

    def sector(x):
        r, a = 1.0 + x[:, 0], angle * x[:, 1]
        return np.column_stack([r * np.cos(a), r * np.sin(a), x[:, 2]])

    sixth = block(sector, (2, 4, 1), {"j0": "cut", "j1": "cut", "i1": "outer"})
    ring = turned_copies(sixth, 6, angle)
    assert len(ring.surfaces["cut"]) == 0
    assert ring.n_points == 5 * 48 * 3
    assert_allclose(volume(ring), 3.0 * np.pi, rtol=1e-5)


def test_round_bar_converges_to_the_cylinder():
    """Mid-side points on the circle make the volume error fall with h to the fourth."""
    gaps = [
        abs(volume(round_bar(1.0, 1.0, (n, n, 1))) - np.pi) / np.pi for n in (1, 2, 4)
    ]
    rates = np.log2(np.array(gaps[:-1]) / gaps[1:])
    assert_allclose(rates, 4.0, atol=0.25)
    assert gaps[-1] < 1e-5


def test_graded_borders():
    """Geometric and piecewise borders have the sizes asked for."""
    assert_allclose(np.diff(geometric(3, 4.0)), [1 / 7, 2 / 7, 4 / 7])
    assert_allclose(pieces([0.0, 1.0, 5.0], [2, 2]), [0.0, 0.5, 1.0, 3.0, 5.0])


def test_map_that_folds_is_refused():
    """A map that turns part of the block inside out is an error."""
    with pytest.raises(MeshError, match="flat or inverted"):
        block(
            lambda x: x * [[1, 1, 1]] + np.outer((x[:, 0] - 0.5) ** 2, [4, 0, 0]),
            (4, 1, 1),
        )


@pytest.mark.parametrize("thickness", [0.0, -2.0])
def test_thickness_that_is_not_positive_is_refused(thickness):
    """A beam without thickness is an error that shows name, value and unit."""
    with pytest.raises(
        MeshError, match=rf"height = {thickness:g} mm: must be positive"
    ):
        beam_block(10.0, 2.0, thickness, (1, 1, 1))


def test_moving_leaves_the_original_alone():
    """A moved mesh shares cells and surfaces, and its origin keeps its points."""
    bar = beam_block(4.0, 3.0, 2.0, (1, 1, 1))
    before, shift = bar.points.copy(), np.array([1.0, 0.0, 0.0])
    shifted = moved(bar, lambda x: x + shift)
    assert_allclose(shifted.points, before + shift)
    assert_allclose(bar.points, before)
