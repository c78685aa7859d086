"""Places equal by symmetry are one, similar ones are followed apart and listed as one.

Counts by hand: turns by one sector, twice as many with a mirror plane.
"""

from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.cyclic import Cyclic
from spokecheck.screen.error_bars import gap_between, place_numbers, tracked_spots
from spokecheck.screen.hotspots import HIGH, PLACES, equal_images, images_at_spokes
from spokecheck.screen.rounds import with_equal_images
from spokecheck.wheel.meshing.kernel.task import Refinement
from tests.screen.test_distinct_places import COUNT, flat_disc, hills, peaks_of
from tests.wheel.variants import variant

POINT = np.array([150.0, 20.0, 60.0])


def wheel(spokes, bolts, sectors, degrees=0.0):
    """What the search for images asks of a wheel."""
    tables = {
        "bolts": {"count": bolts, "angle_deg": degrees},
        "spokes": {"count": spokes, "root_width_mm": 30.0, "tip_width_mm": 30.0},
    }
    return SimpleNamespace(
        design=variant(**tables),
        cyclic=Cyclic(sectors, np.empty((0, 2), dtype=int)),
    )


def polar(points):
    """Angles [deg] of points, from 0 to 360, sorted."""
    return np.sort(np.degrees(np.arctan2(points[:, 1], points[:, 0])) % 360.0)


COUNTS = [(5, 5, 5, 0.0, 10), (5, 5, 5, 10.0, 5), (7, 5, 1, 0.0, 2), (8, 4, 4, 0.0, 8)]
"""Spokes, bolts, sectors, first bolt [deg], and places equal to one."""


@pytest.mark.parametrize(("spokes", "bolts", "sectors", "degrees", "count"), COUNTS)
def test_places_equal_by_symmetry_are_counted(spokes, bolts, sectors, degrees, count):
    """Sectors, times two where spokes and bolts share a mirror plane.

    All at the radius and height of the place, none twice.
    """
    images = equal_images(wheel(spokes, bolts, sectors, degrees), POINT)
    assert len(images) == count
    assert_allclose(np.hypot(*images[:, :2].T), np.hypot(*POINT[:2]), rtol=1e-12)
    assert_allclose(images[:, 2], POINT[2])
    assert len(np.unique(images.round(6), axis=0)) == count


@pytest.mark.parametrize(("spokes", "bolts", "sectors", "degrees", "count"), COUNTS)
def test_images_lie_alike_to_their_spoke_and_their_bolt(
    spokes, bolts, sectors, degrees, count
):
    """Seen from an image the nearest spoke and bolt are as far as from the place.

    With a sign that all images have in common, or that the mirror turns.
    """
    images = equal_images(wheel(spokes, bolts, sectors, degrees), POINT)
    angles = np.degrees(np.arctan2(images[:, 1], images[:, 0]))
    own = np.degrees(np.arctan2(POINT[1], POINT[0]))

    def lean(angle):
        turns = [angle / 360.0 * spokes, (angle - degrees) / 360.0 * bolts]
        return np.array([turn - np.round(turn) for turn in turns])

    for angle in angles:
        both = np.abs([lean(angle) - lean(own), lean(angle) + lean(own)])
        assert both.max(axis=1).min() < 1e-9


def test_an_image_lies_where_the_mirror_puts_it():
    """Bolts at half pitch: at the plane of 0 degrees, angle a becomes -a."""
    images = equal_images(wheel(5, 5, 5, 36.0), POINT)
    own = np.degrees(np.arctan2(POINT[1], POINT[0]))
    expected = [(sign * own + 72.0 * k) % 360.0 for sign in (1, -1) for k in range(5)]
    assert_allclose(polar(images), np.sort(expected), atol=1e-9)


@pytest.mark.parametrize(
    ("spokes", "bolts", "sectors", "similar"), [(7, 5, 1, 14), (8, 4, 4, 16)]
)
def test_similar_places_lie_at_all_spokes(spokes, bolts, sectors, similar):
    """They hold the equal ones, and those at spokes that lie otherwise to the bolts."""
    of = wheel(spokes, bolts, sectors)
    alike = images_at_spokes(of.design, POINT)
    assert len(alike) == similar
    for image in equal_images(of, POINT):
        assert np.linalg.norm(alike - image, axis=1).min() < 1e-9


def ten_on_five(plane=None):
    """A disc with ten spokes in five sectors, mirrored at a plane [rad] or at none."""
    disc = flat_disc()
    disc[0].design = SimpleNamespace(
        copies_alike=2 * COUNT, mirrored=True, mirror_plane=plane
    )
    return disc


def test_two_spokes_of_a_sector_are_two_places_of_one_family():
    """Hills at both spokes are similar, not equal: each is followed, with 5 copies."""
    disc = ten_on_five()
    peaks = peaks_of(disc, hills(disc[2], (102.0, 18.0, 1.0), (102.0, 54.0, 0.9)))
    assert [peak.copies for peak in peaks] == [COUNT, COUNT]
    assert peaks[0].family == peaks[1].family


def test_mirror_images_are_one_place_only_where_bolts_are_mirrored_too():
    """10 and 62 degrees are mirror images at a plane of 0; 46 is the next spoke."""
    tops = (102.0, 10.0, 1.0), (102.0, 62.0, 0.95), (102.0, 46.0, 0.9)
    mirrored, askew = ten_on_five(0.0), ten_on_five()
    found = peaks_of(mirrored, hills(mirrored[2], *tops))
    assert [peak.copies for peak in found] == [2 * COUNT, 2 * COUNT]
    apart = peaks_of(askew, hills(askew[2], *tops))
    assert [peak.copies for peak in apart] == [COUNT] * 3
    assert len({peak.family for peak in (*found, *apart)}) == 1


def test_another_radius_is_another_family():
    """What lies elsewhere on its spoke is not similar."""
    disc = ten_on_five()
    peaks = peaks_of(disc, hills(disc[2], (102.0, 18.0, 1.0), (60.0, 54.0, 0.9)))
    assert peaks[0].family != peaks[1].family


def rows(heights):
    """Tops of stated heights, each a place of its own family, 24 mm apart at least."""
    places = [(r, a) for r in (60.0, 84.0, 108.0, 132.0) for a in (12.0, 36.0, 60.0)]
    return [(r, a, h) for (r, a), h in zip(places, heights, strict=True)]


@pytest.mark.parametrize(
    ("rest", "listed"),
    [(HIGH + 0.01, 12), (HIGH - 0.01, PLACES), (0.41, PLACES), (0.39, 1)],
)
def test_no_place_that_may_fail_to_clear_is_cut_from_the_list(disc, rest, listed):
    """All of high utilisation are listed, of the others ten, the low ones not at all.

    Twelve hills, one of 1 and the others a little below each other.
    """
    tops = rows([1.0, *(rest - 1e-4 * np.arange(11.0))])
    assert len(peaks_of(disc, hills(disc[2], *tops))) == listed


@pytest.fixture(scope="module")
def disc():
    """A disc with one spoke to a sector and no mirror plane."""
    return flat_disc()


EIGHT = np.radians(45.0)
"""From spoke to spoke of eight."""


def at(angle, r=150.0, z=60.0):
    """Position by angle [rad]."""
    return (r * float(np.cos(angle)), r * float(np.sin(angle)), z)


def test_similar_spots_share_a_place_number(ranked_spot):
    """At other spokes and on the other side of one; not on another surface or radius.

    So the first five places of a list are five places, whatever tests and spokes.
    """
    spots = [
        ranked_spot(1.0, position=at(0.1)),
        ranked_spot(1.1, position=at(0.1 + EIGHT), test="cornering 75 %"),
        ranked_spot(1.2, position=at(-0.1)),
        ranked_spot(1.3, position=at(0.1), surface="spoke back"),
        ranked_spot(1.4, position=at(0.1, r=190.0)),
        ranked_spot(1.5, position=at(0.1 + 2 * EIGHT)),
    ]
    of = wheel(8, 4, 4)
    assert place_numbers(of.design, spots) == [0, 0, 0, 1, 2, 0]


def test_the_loop_takes_equal_spots_for_one_and_similar_ones_for_two(ranked_spot):
    """Of eight spokes on four bolts two spokes on are equal, the next one is not."""
    spots = tuple(
        ranked_spot(1.0, position=at(angle))
        for angle in (0.1, 0.1 + 2 * EIGHT, -0.1, 0.1 + EIGHT)
    )
    one, *others = tracked_spots(wheel(8, 4, 4), spots, False)
    gaps = [gap_between(one, other) for other in others]
    assert_allclose(gaps[:2], 0.0, atol=1e-9)
    assert gaps[2] > 20.0
    assert {spot.place for spot in (one, *others)} == {one.place}


def test_equal_images_are_refined_alike(small_screening):
    """About each mirror image that is meshed there is a sphere of the same size.

    Turned copies lie outside the sector; a spot on the mirror plane is its own image,
    and one on a cut has its image on the other.
    """
    found = small_screening.wheel
    twins = 0
    for spot in small_screening.findings.hot_spots:
        sphere = Refinement(spot.position_mm, 4.0, 12.0)
        spheres = with_equal_images(found, [sphere])
        images = equal_images(found, np.array(spot.position_mm))
        for other in spheres:
            assert (other.size, other.radius) == (sphere.size, sphere.radius)
            assert np.linalg.norm(images - other.centre, axis=1).min() < 1e-9
        x, y, _ = spot.position_mm
        half = np.pi / found.cyclic.count
        inside = abs(y) > 8.0 and half - abs(np.arctan2(y, x)) > 8.0 / np.hypot(x, y)
        if inside:  # neither on the mirror plane nor on a cut
            mirrored = {(x, y), (x, -y)}
            got = {(other.centre[0], other.centre[1]) for other in spheres}
            assert_allclose(sorted(got), sorted(mirrored), atol=1e-9)
            twins += 1
    assert twins >= 5
