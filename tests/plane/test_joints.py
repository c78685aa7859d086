"""Joints of an outline that move along its curves, against circles by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.plane.curves import (
    Arc,
    Corner,
    Line,
    distance_to,
    outline_points,
    round_corners,
)
from spokecheck.plane.joints import (
    OFF,
    SHORT,
    length_of,
    moved_joint,
    without_short_lines,
)

QUARTER = Arc((0.0, 12.0), (12.0, 0.0), (12.0, 12.0), "fillet")
LEVEL = Line((12.0, 0.0), (60.0, 0.0), "face")


def test_lengths_of_curves():
    """A quarter circle of 12 mm is 6 pi mm long."""
    assert length_of(QUARTER) == pytest.approx(6.0 * np.pi)
    assert length_of(LEVEL) == pytest.approx(48.0)


@given(st.floats(-0.3, 0.3).filter(lambda m: abs(m) > 1e-3))
def test_a_moved_joint_leaves_the_outline_where_it_was(move):
    """The curves stay within m^2 / (2 R) of the old ones, and the radius within 1 %."""
    moved = moved_joint(QUARTER, LEVEL, 12.0 + move)
    assert moved is not None
    arc, line = moved
    assert arc.end == line.start
    assert arc.end[0] == pytest.approx(12.0 + move)
    points = outline_points([arc, line], 64)
    off = np.minimum(distance_to(QUARTER, points), distance_to(LEVEL, points))
    # a chord instead of an arc lies m^2 / 2R off at its end; 10 % for higher orders
    assert off.max() < 1.1 * move**2 / 24.0 + 1e-9
    assert_allclose(arc.radius, 12.0, rtol=0.01)


def test_a_joint_moves_no_further_than_the_outline_may_differ():
    """At R = 12 mm the joint goes as far as sqrt(2 OFF R) = 0.6 mm, no further."""
    most = np.sqrt(2.0 * OFF * 12.0)
    assert moved_joint(QUARTER, LEVEL, 12.0 + 0.95 * most) is not None
    assert moved_joint(QUARTER, LEVEL, 12.0 + 1.05 * most) is None


def test_sharp_corners_do_not_move():
    """Two lines have a corner, whose place is the shape's."""
    upright = Line((0.0, 12.0), (0.0, 0.0), "side")
    level = Line((0.0, 0.0), (9.0, 0.0), "face")
    assert moved_joint(upright, level, 0.1) is None


@pytest.mark.parametrize(
    ("radius", "pieces"), [(4.9, 4), (4.8, 8)], ids=["0.2 mm", "0.4 mm"]
)
def test_short_straight_pieces_are_closed_up(radius, pieces):
    """Between roundings 0.2 mm apart the arcs meet, 0.4 mm stay."""
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    curves, _ = round_corners([Corner(p, radius) for p in square])
    closed = without_short_lines(curves)
    assert len(closed) == pieces
    assert min(length_of(c) for c in closed) > SHORT
    for this, after in zip(closed, closed[1:] + closed[:1], strict=True):
        assert this.end == after.start
    gaps = [distance_to(c, outline_points(closed, 64)) for c in curves]
    # half of 0.2 mm on each arc: 0.1^2 / (2 R) = 1e-3 mm
    assert np.min(gaps, axis=0).max() < 1.1e-3
