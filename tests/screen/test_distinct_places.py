"""Which maxima are places of their own, on a disc whose stress is drawn by hand.

A flat ring in five sectors, cells of 6 mm; no wheel is meshed and nothing is solved.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from spokecheck.fem.cyclic import cyclic_from_faces
from spokecheck.mesh.parts import ring_sector
from spokecheck.screen.adapt import RefinementLimits, converge, merged
from spokecheck.screen.hotspots import distinct_peaks, outer_surface
from spokecheck.screen.ranking import worst_first
from spokecheck.screen.tracked_spots import TrackedSpot
from spokecheck.wheel.meshing.kernel.task import Refinement
from tests.screen.notched import apart

COUNT = 5


@pytest.fixture(scope="module")
def disc():
    """As ``flat_disc``."""
    return flat_disc()


def flat_disc():
    """What the search asks of a wheel, its surface, and the points of that."""
    mesh = ring_sector(30.0, 150.0, 6.0, (20, 16, 1), 2.0 * np.pi / COUNT)
    names = {"start": "cut low", "end": "cut high"}
    faces = {names.get(name, name): of for name, of in mesh.surfaces.items()}
    wheel = SimpleNamespace(
        mesh=replace(mesh, surfaces=faces),
        cyclic=cyclic_from_faces(mesh, COUNT, "start", "end"),
        design=SimpleNamespace(copies_alike=COUNT, mirrored=False, mirror_plane=None),
    )
    surface = outer_surface(wheel)
    return wheel, surface, mesh.points[surface.nodes]


def hills(at, *tops, width=4.0):
    """Sharp hills of stated heights on stated places of the face, by (r, deg)."""
    total = np.zeros(len(at))
    for r, degrees, height in tops:
        angle = np.radians(degrees)
        top = np.array([r * np.cos(angle), r * np.sin(angle), 6.0])
        near = at[np.linalg.norm(at - top, axis=1).argmin()]
        total += height * np.exp(-((at - near) ** 2).sum(axis=1) / width**2)
    return total


def peaks_of(disc, values):
    """Maxima listed, worst first."""
    wheel, surface, at = disc
    return distinct_peaks(wheel, surface, values, np.zeros(len(at), dtype=bool))


def told(disc, values):
    """Radius of each place told, worst first."""
    return [
        float(np.hypot(*disc[2][peak.index][:2])) for peak in peaks_of(disc, values)
    ]


def test_two_notches_a_spoke_apart_stay_two(disc):
    """Sharp hills 48 mm apart, with nothing between them, are two places."""
    assert len(told(disc, hills(disc[2], (60.0, 36.0, 1.0), (108.0, 36.0, 0.9)))) == 2


@pytest.mark.parametrize("radius", [102.0, 108.0])
def test_a_hill_beside_a_higher_one_is_part_of_it(disc, radius):
    """Tops 12 and 18 mm apart, within one fillet's width, are told once, the higher."""
    tops = (90.0, 36.0, 0.9), (radius, 36.0, 1.0)
    assert told(disc, hills(disc[2], *tops)) == pytest.approx([radius])


def test_ripples_of_a_coarse_mesh_along_a_fillet_are_one_place(disc):
    """Tops 12 mm apart all along a face's ridge, with valleys of 6 %, are one place."""
    at = disc[2]
    r, angle = np.hypot(at[:, 0], at[:, 1]), np.arctan2(at[:, 1], at[:, 0])
    ripple = 1.0 + 0.03 * np.cos(2.0 * np.pi * 102.0 * angle / 12.0)
    ridge = np.exp(-(((r - 102.0) / 8.0) ** 2)) * ripple * (at[:, 2] > 5.0)
    assert told(disc, ridge * (1.0 - 0.02 * angle)) == pytest.approx([102.0])


def test_two_places_on_one_band_are_told_apart_by_a_deep_valley(disc):
    """Tops 50 mm apart on a band, 70 % between them, are two places."""
    at = disc[2]
    band = 0.7 * np.exp(-(((np.hypot(at[:, 0], at[:, 1]) - 102.0) / 8.0) ** 2))
    tops = hills(at, (102.0, 20.0, 0.3), (102.0, 50.0, 0.29), width=8.0)
    assert len(told(disc, (band + tops) * (at[:, 2] > 5.0))) == 2


def test_two_places_behind_a_valley_of_a_quarter_are_two(disc):
    """Tops 42 mm apart along a radius, with 75 % all the way between, are two."""
    at = disc[2]
    along = np.abs(np.arctan2(at[:, 1], at[:, 0]) - np.radians(36.0))
    ridge = 0.75 * np.exp(-((along / 0.08) ** 2)) * (at[:, 2] > 5.0)
    tops = hills(at, (66.0, 36.0, 0.25), (108.0, 36.0, 0.24), width=8.0)
    assert told(disc, ridge + tops) == pytest.approx([66.0, 108.0])


def test_places_are_told_worst_first(disc):
    """Three hills come in the order of their heights."""
    heights = (54.0, 36.0, 0.7), (90.0, 36.0, 1.0), (126.0, 36.0, 0.8)
    assert told(disc, hills(disc[2], *heights)) == pytest.approx([90.0, 126.0, 54.0])


def test_the_least_margin_ranks_first():
    """Of spots with margins 1.3, 0.9 and 1.1 the one of 0.9 is the worst."""
    spots = [
        SimpleNamespace(margin=m, node=7 - k) for k, m in enumerate((1.3, 0.9, 1.1))
    ]
    assert [spot.margin for spot in worst_first(spots)] == [0.9, 1.1, 1.3]


def test_spots_of_equal_margin_keep_the_order_of_their_points():
    """Margins that differ in the seventh digit do not turn the order of two runs."""
    spots = [SimpleNamespace(margin=1.0 + 1e-8 * k, node=k) for k in (1, 2, 3)]
    assert [spot.node for spot in worst_first(spots[::-1])] == [1, 2, 3]


def balls_of(places, size=2.0, radius=12.0):
    """Refined balls about places [mm] on the x axis."""
    return [Refinement((x, 0.0, 0.0), size, radius) for x in places]


def test_balls_that_hardly_meet_stay_two():
    """Twenty millimetres apart, two balls of 12 mm are two.

    Each spot lies outside the other's core, where edges are short.
    """
    assert len(merged(balls_of([0.0, 20.0]))) == 2


def test_two_tests_of_one_place_have_one_ball():
    """Three millimetres apart, within a quarter of the ball, spots have one."""
    assert len(merged(balls_of([0.0, 3.0]))) == 1


@pytest.mark.parametrize("gap", [20.0, 40.0])
def test_both_of_two_near_spots_are_refined_at_once(gap):
    """Spots 20 and 40 mm apart on edges of 4 mm have their edges halved in one pass."""
    tried = []

    def trial(before, spheres):
        tried.append(sorted(ball.centre[0] for ball in spheres))
        return 0 if before is None else before + 1

    def watch(number):
        edge, error = 4.0 * 0.5**number, 0.2 * 0.25**number
        spots = [
            TrackedSpot(
                label=name,
                position=(x, 0.0, 0.0),
                value=100.0 - x,
                edge=edge,
                error=error,
                place=ord(name),
            )
            for name, x in (("a", 0.0), ("b", gap))
        ]
        return 1000, spots

    converge(trial, watch, apart, RefinementLimits(0.05, 3), 20.0)
    assert tried[1] == [0.0, gap]
