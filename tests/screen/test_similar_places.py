"""Eight spokes on four bolts: half of them at a bolt, and each kind is one line."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from spokecheck.screen.hotspots import MERGE_RADIUS, equal_images, images_at_spokes
from spokecheck.screen.pipeline import screen
from spokecheck.screen.request import Request
from spokecheck.wheel.tables.design import Design

BASALT = Path("tests/designs/basalt-8-on-4.toml")


@pytest.fixture(scope="module")
def eight():
    """The wheel on one coarse mesh, under the radial test alone."""
    tables = tomllib.loads(BASALT.read_text(encoding="utf-8"))
    tables["duty"]["tests"] = ["radial"]
    return screen(Design(**tables), Request(meshes=1))


def test_similar_places_are_one_line_of_the_list(eight):
    """No two lines of a test are similar, and some stand for several places."""
    found, design = eight.findings, eight.wheel.design
    spots = [(s.surface, np.array(s.position_mm)) for s in found.hot_spots]
    for k, (name, point) in enumerate(spots):
        images = images_at_spokes(design, point)
        for other, position in spots[:k]:
            gap = np.linalg.norm(images - position, axis=1).min()
            assert other != name or gap >= MERGE_RADIUS
    families = [spot for spot in found.hot_spots if spot.similar]
    assert families
    for spot in families:
        assert spot.similar.places > 1
        assert spot.similar.highest_margin >= spot.margin


def test_a_place_has_as_many_copies_as_it_has_images(eight):
    """Eight by four sectors and a mirror plane, or four on a plane; never sixteen."""
    assert eight.wheel.cyclic.count == 4
    for spot in eight.findings.hot_spots:
        images = equal_images(eight.wheel, np.array(spot.position_mm))
        assert len(images) == 8
        assert spot.copies in (4, 8)


def test_the_loop_follows_every_similar_place(eight):
    """The list counts more places than it has lines: the others are tracked too."""
    (trial,) = eight.findings.convergence.meshes
    lines = len(eight.findings.hot_spots)
    places = sum(s.similar.places if s.similar else 1 for s in eight.findings.hot_spots)
    assert places > lines
    assert len(trial.hot_spots) > Request().places
