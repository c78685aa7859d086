"""Rounded outlines against elementary geometry."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.plane.curves import (
    Arc,
    Corner,
    Line,
    area_and_moment,
    distance_to,
    fitting_radii,
    offset_line,
    outline_points,
    round_corners,
)

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


@given(st.floats(1.0, 4.2))
def test_rounded_square_loses_four_corner_gussets(radius):
    """A square of side a with corners of radius r has area a^2 - (4 - pi) r^2."""
    curves, reduced_radii = round_corners([Corner(p, radius) for p in SQUARE])
    area, _ = area_and_moment(curves)
    assert not reduced_radii
    # 64 chords on each quarter arc lie 3e-4 r^2 inside the circle
    assert_allclose(
        area, 100.0 - (4.0 - np.pi) * radius**2, rtol=0, atol=4e-4 * radius**2
    )


def test_rounding_that_does_not_fit_shrinks_and_says_so():
    """Two corners of radius 8 on a side of 10 shrink to 5 each."""
    _, reduced_radii = round_corners([Corner(p, 8.0, key="k") for p in SQUARE])
    radii = [(r.asked, r.drawn) for r in reduced_radii]
    assert radii == [(8.0, pytest.approx(5.0))] * 4


def test_roundings_keep_their_radius_whatever_is_left_between_them():
    """Corners of radius 4.9 on a side of 10 leave 0.2 mm of it."""
    curves, reduced_radii = round_corners([Corner(p, 4.9, key="k") for p in SQUARE])
    lines = [np.hypot(*np.subtract(c.end, c.start)) for c in curves[1::2]]
    assert_allclose(lines, 0.2, rtol=1e-9)
    assert not reduced_radii


def test_a_rounding_without_a_key_gives_way_to_one_with():
    """On a side of 10, 7 asked by a key and 5 by none are drawn 7 and 3."""
    asked = ((7.0, "k"), (5.0, ""), (0.0, ""), (0.0, ""))
    corners = [Corner(p, r, key=k) for p, (r, k) in zip(SQUARE, asked, strict=True)]
    assert_allclose(fitting_radii(corners), [7.0, 3.0, 0.0, 0.0], atol=1e-9)


def test_a_keyed_rounding_without_room_does_not_depend_on_what_is_asked():
    """With no room for it, 9 and 20 mm are drawn alike."""
    drawn = [
        fitting_radii(
            [Corner(SQUARE[0], r, key="k"), Corner(SQUARE[1], 4.0)]
            + [Corner(p) for p in SQUARE[2:]]
        )
        for r in (9.0, 20.0)
    ]
    assert_allclose(drawn[0], drawn[1])
    assert_allclose(drawn[0][:2], [8.0, 2.0])


def test_outline_is_closed_and_smooth():
    """Each curve starts where the last ended, and arcs touch their neighbours."""
    shape = [(0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (12.0, 12.0), (10.0, 30.0)]
    curves, _ = round_corners([Corner(p, 2.0) for p in shape])
    for this, after in zip(curves, curves[1:] + curves[:1], strict=True):
        assert this.end == after.start
        if isinstance(this, Line) and isinstance(after, Arc):
            along = np.subtract(this.end, this.start)
            spoke = np.subtract(after.start, after.centre)
            cosine = along @ spoke / np.linalg.norm(along) / np.linalg.norm(spoke)
            assert_allclose(cosine, 0.0, atol=1e-9)


def test_points_of_an_outline_lie_on_one_of_its_curves():
    """The distance of a drawn point from the nearest curve vanishes."""
    curves, _ = round_corners([Corner(p, 3.0) for p in SQUARE])
    points = outline_points(curves, 7)
    nearest = np.min([distance_to(curve, points) for curve in curves], axis=0)
    assert_allclose(nearest, 0.0, atol=1e-12)


def test_distance_from_an_arc_counts_its_ends():
    """Beyond the arc's ends the nearest end counts, not the full circle."""
    quarter = Arc((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), "q")
    at = np.array([[2.0, 2.0], [-1.0, 0.0], [1.0, 0.0], [0.0, 0.0]])
    expected = [2.0 * np.sqrt(2.0) - 1.0, np.sqrt(2.0), 0.0, 1.0]
    assert_allclose(distance_to(quarter, at), expected, atol=1e-12)


def test_offset_line_keeps_its_distance():
    """A right-angled line moved to its left by 2 meets at the mitre."""
    moved = offset_line(np.array([[0.0, 0], [10, 0], [10, 10]]), np.full(3, 2.0))
    assert_allclose(moved, [[0, 2], [8, 2], [8, 10]], atol=1e-12)
