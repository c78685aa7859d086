"""Hot spots: found, merged, told once, in words."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.screen import hotspots
from spokecheck.screen.hotspots import (
    EDGE_RADIUS,
    MERGE_RADIUS,
    distinct_peaks,
    edge_lengths,
    images_at_spokes,
    is_peak,
    near,
)
from spokecheck.screen.places import name_place
from spokecheck.screen.ranking import worst_first
from spokecheck.screen.verdict import CLEARS, Verdict, judge
from spokecheck.wheel.tables.surface_names import RIM_SURFACES, WORDS


@pytest.fixture(scope="module")
def seen(small_screening):
    """Wheel, surface and the positions of its points."""
    wheel, surface = small_screening.wheel, small_screening.fields.surface
    return wheel, surface, wheel.mesh.points[surface.nodes]


def bump(at, centre, height, width=15.0):
    """Smooth hill on the surface."""
    return height * np.exp(-(((at - centre) ** 2).sum(axis=1)) / width**2)


def test_every_drawn_surface_has_words(seen):
    """No hot spot can lie on a surface that has no plain name."""
    assert set(seen[1].labels) <= set(WORDS)
    assert set(RIM_SURFACES) <= set(WORDS)


def test_a_single_hill_is_one_peak_at_its_top(seen):
    """The top of a smooth hill is the only listed maximum."""
    wheel, surface, at = seen
    top = int(np.argmin(np.abs(at - [60.0, 60.0, 60.0]).sum(axis=1)))
    values = bump(at, at[top], 1.0)
    peaks = distinct_peaks(wheel, surface, values, np.zeros(len(at), dtype=bool))
    assert [peak.index for peak in peaks] == [top]
    assert is_peak(surface, values)[top]


def test_mirror_images_and_turned_copies_are_one_place(seen):
    """Hills at a place, its mirror image and a turned copy are told once."""
    wheel, surface, at = seen
    spot = at[np.argmin(np.linalg.norm(at - [140.0, 25.0, 75.0], axis=1))]
    images = images_at_spokes(wheel.design, spot)
    values = sum(bump(at, image, 1.0 - 0.01 * k) for k, image in enumerate(images))
    peaks = distinct_peaks(wheel, surface, values, np.zeros(len(at), dtype=bool))
    assert len(peaks) == 1
    assert peaks[0].copies in (5, 10)


def test_a_ripple_on_a_band_is_not_a_place_of_its_own(seen):
    """Along a flange, a maximum behind a valley of 5 % is a ripple, of 40 % a place."""
    wheel, surface, at = seen
    ring = np.exp(-(((at[:, 2] + 110.0) / 40.0) ** 2))
    angle = np.arctan2(at[:, 1], at[:, 0])
    free = np.zeros(len(at), dtype=bool)
    # at 12 deg and -24 deg, which are no mirror images about a spoke
    for valley, expected in ((0.05, 1), (0.4, 2)):
        humps = np.exp(-(((angle - 0.21) / 0.12) ** 2))
        humps += 0.99 * np.exp(-(((angle + 0.42) / 0.12) ** 2))
        values = ring * (1.0 - valley + valley * humps)
        peaks = distinct_peaks(wheel, surface, values, free)
        assert len(peaks) == expected, valley


class Halved:
    """A surface whose edges became half as long about some of its points."""

    def __init__(self, seen, monkeypatch, places, values, first, radius=15.0):
        self.wheel, self.surface, self.at = seen
        edges = edge_lengths(self.wheel.mesh.points, self.surface)
        self.first = hotspots.FirstMeshValues(first, edges)
        now = edges.copy()
        for place in places:
            now[np.linalg.norm(self.at - self.at[place], axis=1) < radius] /= 2.0
        monkeypatch.setattr(hotspots, "edge_lengths", lambda points, surface: now)
        self.values = values

    def told(self):
        """Points told, worst first."""
        none = np.zeros(len(self.at), dtype=bool)
        peaks = distinct_peaks(
            self.wheel, self.surface, self.values, none, first_mesh=self.first
        )
        return [peak.index for peak in peaks]


@pytest.fixture(scope="module")
def twins(seen):
    """Two surface points that are nearly mirror images of each other."""
    at = seen[2]
    one = int(np.argmin(np.linalg.norm(at - [140.0, 25.0, 75.0], axis=1)))
    mirror = at[one] * np.array([1.0, -1.0, 1.0])
    return one, int(np.argmin(np.linalg.norm(at - mirror, axis=1)))


@pytest.mark.parametrize("now", [0.95, 0.8, 0.6])
@pytest.mark.parametrize(
    ("first", "speaks"), [(1.2, True), (1.0, True), (0.98, False), (0.5, False)]
)
def test_a_refined_place_speaks_for_those_no_hotter_at_first(
    seen, twins, monkeypatch, first, speaks, now
):
    """Its stress fell on the finer mesh, and it does not give way to a coarse image.

    It does where it was the cooler one while their meshes were alike.
    """
    at, (fine, coarse) = seen[2], twins
    values = bump(at, at[fine], now) + bump(at, at[coarse], 1.0)
    before = bump(at, at[fine], first) + bump(at, at[coarse], 1.0)
    told = Halved(seen, monkeypatch, [fine], values, before).told()
    assert told == [fine if speaks else coarse]


def test_a_refined_maximum_speaks_for_itself(seen, twins, monkeypatch):
    """With finer cells about both the higher one is told, however it was at first."""
    at, (one, other) = seen[2], twins
    values = bump(at, at[one], 0.9) + bump(at, at[other], 1.0)
    before = bump(at, at[one], 1.0) + bump(at, at[other], 0.9)
    assert Halved(seen, monkeypatch, twins, values, before).told() == [other]


def test_no_place_gives_way_to_its_own_surroundings(seen, twins, monkeypatch):
    """A graded mesh that was never refined leaves every maximum where it is."""
    at, (one, _) = seen[2], twins
    values = bump(at, at[one], 1.0)
    assert Halved(seen, monkeypatch, [], values, values).told() == [one]


@pytest.mark.parametrize("drop", [0.05, 0.2])
def test_a_refined_place_speaks_for_its_flat_band(seen, monkeypatch, drop):
    """Where the stress of a flange fell on finer cells, the rest of it keeps still."""
    at = seen[2]
    angle = np.arctan2(at[:, 1], at[:, 0])
    ring = np.exp(-(((at[:, 2] + 110.0) / 40.0) ** 2)) * (1.0 - 0.01 * np.abs(angle))
    top = int(ring.argmax())
    close = np.linalg.norm(at - at[top], axis=1) < 15.0
    now = np.where(close, (1.0 - drop) * ring, ring)
    (told,) = Halved(seen, monkeypatch, [top], now, ring).told()
    assert close[told]


def test_the_other_side_of_a_wall_is_another_place(seen):
    """A band whose ripple lies behind a hot spot, through the wall, is told as well."""
    wheel, surface, at = seen
    label = dict(enumerate(surface.labels))
    side = np.array([label[k] for k in surface.names])
    angle = np.arctan2(at[:, 1], at[:, 0])
    face, back = side == "rim well", side == "rim inner"
    spot = np.flatnonzero(face)[np.abs(angle[face] - 0.3).argmin()]
    behind = np.linalg.norm(at - at[spot], axis=1) < 15.0
    values = np.where(face, bump(at, at[spot], 1.0, 8.0), 0.0)
    far = np.exp(-(((angle + 0.4) / 0.3) ** 2))
    values = np.where(back, 0.8 + 0.1 * far + 0.02 * behind, values)
    none = np.zeros(len(at), dtype=bool)
    names = {side[p.index] for p in distinct_peaks(wheel, surface, values, none)}
    assert names >= {"rim well", "rim inner"}


def test_edges_at_a_point_are_those_of_its_faces(seen):
    """Mean over the straight sides of all faces that meet there, point by point."""
    wheel, surface, at = seen
    edges = edge_lengths(wheel.mesh.points, surface)
    for point in (0, 17, len(at) - 1):
        faces = surface.faces[(surface.faces == point).any(axis=1), :3]
        sides = at[faces] - at[np.roll(faces, 1, axis=1)]
        assert_allclose(edges[point], np.linalg.norm(sides, axis=2).mean(), rtol=1e-12)


def test_excluded_points_are_not_listed(seen):
    """A hill inside an excluded region does not appear, one outside does."""
    wheel, surface, at = seen
    low, high = int(at[:, 0].argmin()), int(at[:, 0].argmax())
    values = bump(at, at[high], 1.0) + bump(at, at[low], 0.8)
    excluded = near(at, at[[high]], 40.0)
    peaks = distinct_peaks(wheel, surface, values, excluded)
    assert all(not excluded[peak.index] for peak in peaks)
    assert low in [peak.index for peak in peaks]


def test_spots_come_worst_first_and_apart(small_screening):
    """Margins rise down the list, and places of one test lie a merge radius apart."""
    found = small_screening.findings
    margins = [spot.margin for spot in found.hot_spots]
    assert margins == sorted(margins)
    assert found.worst.margin == min(test.margin for test in found.tests)
    design = small_screening.wheel.design
    for test in found.tests:
        taken = [np.array(spot.position_mm) for spot in found.spots_of(test)]
        for k, one in enumerate(taken):
            for other in taken[:k]:
                gaps = np.linalg.norm(images_at_spokes(design, other) - one, axis=1)
                assert gaps.min() >= MERGE_RADIUS


def test_excluded_regions_are_told_with_their_rule(small_screening):
    """Clamp, fixture and held face are named, with the highest value left out."""
    tests = small_screening.findings.tests
    rules = {e.rule for test in tests for e in test.excluded}
    for words in ("clamped flange", "rigid fixture", "held attachment face"):
        assert any(words in rule and f"{EDGE_RADIUS:g} mm" in rule for rule in rules)
    assert all(e.points > 0 for test in tests for e in test.excluded)


def test_places_are_told_by_side_and_end(small_screening):
    """The same spoke side reads differently at hub and rim, face and back."""
    wheel = small_screening.wheel
    told = {
        name_place(wheel, "spoke side", np.array(point))
        for point in ((100.0, 30, 88), (190.0, 30, 60), (140.0, 30, 75))
    }
    assert len(told) == 3
    assert any("hub end" in words and "face edge" in words for words in told)


def test_ties_are_broken_by_node_so_that_runs_agree(ranked_spot):
    """Spots whose margins differ in the seventh digit keep their node order."""
    copies = [ranked_spot(1.2 * (1 + 1e-9 * k), node=k) for k in (3, 1)]
    assert [copy.node for copy in worst_first(copies)] == [1, 3]


@pytest.mark.parametrize(
    ("margin", "verdict"),
    [
        (CLEARS, Verdict.CLEARS),
        (CLEARS - 1e-9, Verdict.BORDERLINE),
        (1.0, Verdict.BORDERLINE),
        (1.0 - 1e-9, Verdict.DOES_NOT_CLEAR),
    ],
)
def test_verdict_at_its_thresholds(margin, verdict):
    """At each threshold the better word holds, just below the worse one."""
    assert judge(margin) is verdict


@pytest.mark.parametrize(
    ("margin", "bar", "verdict"),
    [
        (1.20, 0.05, Verdict.CLEARS),
        (1.20, 0.10, Verdict.BORDERLINE),
        (1.20, 0.21, Verdict.DOES_NOT_CLEAR),
        (1.02 * CLEARS, 0.02, Verdict.CLEARS),
        (1.02 * CLEARS, 0.0201, Verdict.BORDERLINE),
        (1.02, 0.0201, Verdict.DOES_NOT_CLEAR),
    ],
)
def test_the_verdict_is_that_at_the_upper_end_of_the_bar(margin, bar, verdict):
    """Margin over one plus the bar is held against the thresholds."""
    assert judge(margin, bar) is verdict


@pytest.mark.parametrize(
    ("margin", "bar", "verdict"),
    [
        (9.0, 0.01, Verdict.NOT_SETTLED),
        (1.05, 0.01, Verdict.NOT_SETTLED),
        (0.9, 0.11, Verdict.NOT_SETTLED),
        (0.9, 0.09, Verdict.DOES_NOT_CLEAR),
        (0.9, 5.0, Verdict.NOT_SETTLED),
    ],
)
def test_what_is_not_settled_never_clears(margin, bar, verdict):
    """However high the margin; a failure counts only where the whole bar is below 1."""
    assert judge(margin, bar, settled=False) is verdict


def test_halving_the_load_doubles_the_cornering_margin(small_screening):
    """At 50 % of the moment the amplitude is two thirds of that at 75 %."""
    found = small_screening.findings
    first, second, _ = (found.spots_of(test)[0] for test in found.tests)
    ratio = second.amplitude_mpa / first.amplitude_mpa
    assert_allclose(ratio, 0.5 / 0.75, rtol=1e-9)
    assert max(test.balance_misfit for test in found.tests) < 1e-8
