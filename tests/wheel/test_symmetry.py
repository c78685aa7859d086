"""Mirror planes that a drawing and its bolts share."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.wheel.variants import variant

HALF_PITCH = 36.0
"""Between two of five spokes, or two of five bolts [deg]."""


def bolts_at(degrees, spokes=5):
    """The five-bolt example with so many spokes and its bolts turned."""
    return variant(bolts={"angle_deg": degrees}, spokes={"count": spokes})


@pytest.mark.parametrize("degrees", [0.0, 72.0, -144.0, HALF_PITCH, -HALF_PITCH])
def test_bolts_at_spokes_or_between_them_leave_a_mirror_plane(degrees):
    """Spokes and bolts, aligned or half a pitch apart, are mirrored by the same plane.

    It runs through a spoke's middle, or between two.
    """
    plane = np.degrees(bolts_at(degrees).mirror_plane)
    assert_allclose(plane / HALF_PITCH, np.round(plane / HALF_PITCH), atol=1e-12)


@pytest.mark.parametrize("degrees", [10.0, 18.0, -10.0, 35.9])
def test_bolts_anywhere_else_leave_none(degrees):
    """Bolts at 10 degrees from the spokes lie on the other side in the mirror."""
    assert bolts_at(degrees).mirror_plane is None


def test_seven_spokes_on_five_bolts_have_one_plane():
    """Through the spoke at a bolt, wherever that one is; no plane with bolts askew."""
    assert bolts_at(0.0, 7).mirror_plane == 0.0
    turned = bolts_at(3 * 360.0 / 7, 7)
    assert turned.mirror_plane is not None
    assert bolts_at(5.0, 7).mirror_plane is None


@pytest.mark.parametrize(
    ("degrees", "spokes"), [(0.0, 5), (HALF_PITCH, 5), (0.0, 7), (3 * 360.0 / 7, 7)]
)
def test_the_plane_maps_spokes_and_bolts_onto_themselves(degrees, spokes):
    """Mirrored at the plane, each spoke and each bolt lies where one was."""
    plane = np.degrees(bolts_at(degrees, spokes).mirror_plane)
    for count, first in ((spokes, 0.0), (5, degrees)):
        angles = first + 360.0 / count * np.arange(count)
        pitches = (2.0 * plane - angles - first) * count / 360.0
        assert_allclose(pitches, np.round(pitches), atol=1e-9)


@pytest.mark.parametrize("hand", ["one", "alternate"])
def test_swept_spokes_have_none(hand):
    """A spoke that leans is not its own mirror image, turned in pairs or not."""
    sweep = {"angle_deg": 9.0, "hand": hand}
    spokes = {"pattern": "swept", "count": 10, "sweep": sweep}
    assert variant(spokes=spokes).mirror_plane is None


def test_a_modelled_valve_hole_leaves_none():
    """It is one of its kind, so spokes and bolts do not count."""
    assert variant(rim={"valve": "modelled"}).mirror_plane is None
