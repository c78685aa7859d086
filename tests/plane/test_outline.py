"""Exact outlines from rough regions, and bars with sides of lines and arcs."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from shapely import Polygon

from spokecheck.plane.boundary import CurveSource, chords
from spokecheck.plane.curves import Arc, Line, area_and_moment, offset_outline
from spokecheck.plane.outline import Rounding, rounded_outlines
from spokecheck.wheel.shape.spoke_bars import FLAT, biarc, curved_bar, straight_bar


def _sides(points, name="side"):
    """Sources of a polygon's sides."""
    return [
        CurveSource(Line(tuple(a), tuple(b), name), k)
        for k, (a, b) in enumerate(
            zip(points, np.roll(points, -1, axis=0), strict=True)
        )
    ]


@given(st.floats(3.0, 14.0))
def test_rounded_rectangle_loses_four_corner_gussets(radius):
    """A rectangle of 60 by 30 with corners r has area a b - (4 - pi) r^2."""
    points = np.array([(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (0.0, 30.0)])
    (outline,) = rounded_outlines(Polygon(points), _sides(points), Rounding(radius))
    area, _ = area_and_moment(outline)
    # 64 chords on each quarter arc lie 3e-4 r^2 inside the circle
    assert_allclose(
        area, 1800.0 - (4.0 - np.pi) * radius**2, rtol=0, atol=4e-4 * radius**2
    )
    assert [type(c) for c in outline].count(Arc) == 4


def test_a_corner_that_points_inward_gets_the_knee_radius():
    """An L of six corners: five rounded by r, the sixth from the other side by k."""
    points = np.array([(0, 0), (60, 0), (60, 25), (25, 25), (25, 60), (0, 60)], float)
    (outline,) = rounded_outlines(
        Polygon(points), _sides(points), Rounding(5.0, knee=8.0)
    )
    arcs = [c for c in outline if isinstance(c, Arc)]
    assert sorted(round(a.radius, 6) for a in arcs) == [5.0] * 5 + [8.0]
    area, _ = area_and_moment(outline)
    gusset = 1.0 - np.pi / 4.0
    expected = 60.0**2 - 35.0**2 - 5 * gusset * 25.0 + gusset * 64.0
    assert_allclose(area, expected, rtol=1e-4)


def test_every_joint_of_an_outline_is_smooth():
    """Directions of two curves agree where they meet, so a prism has no edge there."""
    points = np.array([(0, 0), (60, 0), (60, 25), (25, 25), (25, 60), (0, 60)], float)
    (outline,) = rounded_outlines(
        Polygon(points), _sides(points), Rounding(5.0, knee=8.0)
    )
    for this, after in zip(outline, outline[1:] + outline[:1], strict=True):
        assert this.end == after.start
        assert_allclose(_direction(this, 1), _direction(after, 0), atol=1e-9)


def _direction(curve, end):
    """Unit direction (2,) of a curve at its start (0) or end (1)."""
    if isinstance(curve, Line):
        along = np.subtract(curve.end, curve.start)
        return along / np.linalg.norm(along)
    a = np.subtract(curve.start, curve.centre)
    b = np.subtract(curve.end, curve.centre)
    sense = np.sign(a[0] * b[1] - a[1] * b[0])
    at = b if end else a
    return sense * np.array([-at[1], at[0]]) / np.linalg.norm(at)


def test_a_region_narrower_than_its_corners_is_left_out():
    """A strip 9 mm wide has no room for corners of 5 mm."""
    points = np.array([(0.0, 0.0), (60.0, 0.0), (60.0, 9.0), (0.0, 9.0)])
    assert rounded_outlines(Polygon(points), _sides(points), Rounding(5.0)) == []


def test_a_side_that_nothing_drew_is_an_error():
    """A region whose side belongs to no source is refused rather than guessed."""
    points = np.array([(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (0.0, 30.0)])
    with pytest.raises(ValueError, match="narrow"):
        rounded_outlines(Polygon(points), _sides(points)[:3], Rounding(5.0))


@given(st.floats(-1.2, 1.2), st.floats(-1.2, 1.2))
def test_a_biarc_leaves_and_arrives_in_the_given_directions(first, last):
    """Two arcs from (0, 0) to (50, 10) keep both end directions and share a tangent."""
    p, q = np.zeros(2), np.array([50.0, 10.0])
    s, t = (np.array([np.cos(a), np.sin(a)]) for a in (first, last))
    curves = biarc(p, s, q, t)
    assert_allclose(curves[0].start, p, atol=1e-9)
    assert_allclose(curves[-1].end, q, atol=1e-9)
    # a piece that bows by less than FLAT is a line: its ends turn by 4 FLAT / chord
    slack = [1e-6 + 4.0 * FLAT / np.hypot(*np.subtract(c.end, c.start)) for c in curves]
    assert_allclose(_direction(curves[0], 0), s, atol=slack[0])
    assert_allclose(_direction(curves[-1], 1), t, atol=slack[-1])
    if len(curves) == 2:
        joint = [_direction(curves[0], 1), _direction(curves[1], 0)]
        assert_allclose(*joint, atol=sum(slack))


def test_a_bar_along_a_circle_has_concentric_sides():
    """Sides of an even bar along a circle of 150 are circles of 130 and 170."""
    turn = np.linspace(0.0, 0.8, 3)
    points = 150.0 * np.column_stack([np.sin(turn), 1.0 - np.cos(turn)])
    bar = curved_bar(points, np.full(3, 40.0), 10.0, 10.0)
    for sign, radius in ((1.0, 130.0), (-1.0, 170.0)):
        arcs = [c for c in bar.side(sign) if isinstance(c, Arc)]
        assert_allclose([a.radius for a in arcs], radius, rtol=1e-9)
        assert_allclose([a.centre for a in arcs], [(0.0, 150.0)] * len(arcs), atol=1e-6)


def test_a_straight_bar_covers_its_trapezium():
    """Width 40 to 20 over 100, no run-on: area 3000."""
    bar = straight_bar((0.0, 0.0), (100.0, 0.0), (40.0, 20.0), 0.0, 0.0)
    assert_allclose(bar.region().area, 3000.0, rtol=1e-9)


def test_chords_stay_within_a_micrometre_of_their_arc():
    """The middle of each chord of an arc of 200 lies at most 1 um inside it."""
    points = chords(Arc((200.0, 0.0), (0.0, 200.0), (0.0, 0.0), ""))
    middle = (points[:-1] + points[1:]) / 2.0
    assert 200.0 - np.hypot(*middle.T).min() < 1.0e-3


def test_moving_an_outline_adds_perimeter_times_distance():
    """Steiner: a convex outline moved out by d gains U d + pi d^2."""
    points = np.array([(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (0.0, 30.0)])
    (outline,) = rounded_outlines(Polygon(points), _sides(points), Rounding(8.0))
    before, _ = area_and_moment(outline)
    after, _ = area_and_moment(offset_outline(outline, 2.0))
    around = 2.0 * (44.0 + 14.0) + 2.0 * np.pi * 8.0
    assert_allclose(after - before, around * 2.0 + np.pi * 4.0, rtol=1e-3)
    with pytest.raises(ValueError, match="vanishes"):
        offset_outline(outline, -9.0)
