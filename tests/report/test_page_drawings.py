"""Pictures and drawings: what is numbered, and where the numbers stand."""

import io
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spokecheck.report.pictures.callouts import Frame, place_labels, spread
from spokecheck.report.pictures.marks import place_marks
from spokecheck.report.pictures.picture_job import load_job, picture_job
from spokecheck.report.pictures.picture_process import CAPTIONS, draw_pictures
from spokecheck.report.pictures.section_drawing import face_svg, section_svg
from spokecheck.report.pictures.snapshot import Snapshot
from spokecheck.screen.hotspots import MERGE_RADIUS

HEIGHTS = st.lists(st.floats(-50.0, 150.0), min_size=1, max_size=12)


@given(HEIGHTS)
def test_labels_keep_order_distance_and_limits(wanted):
    """Spread labels keep their order and distance and stay between the limits."""
    wanted = np.array(wanted)
    placed = spread(wanted, 6.0, 0.0, 100.0)
    order = np.argsort(wanted, kind="stable")
    assert np.all(np.diff(placed[order]) >= 6.0 - 1e-9)
    assert placed.min() >= -1e-9
    assert placed.max() <= 100.0 + 1e-9


def test_labels_with_room_stay_where_they_are():
    """Labels that do not crowd are not moved."""
    wanted = np.array([10.0, 90.0, 50.0])
    np.testing.assert_array_equal(spread(wanted, 6.0, 0.0, 100.0), wanted)


def test_label_leaders_do_not_cross_within_a_column():
    """Labels stand in the order of their places."""
    at = np.array([[0.1, 5.0], [0.2, 5.1], [0.9, 5.2], [0.3, 4.9]])
    labels = place_labels(at, Frame(0.0, 1.0, 0.0, 10.0, 2.0))
    left = np.argsort(at[labels[:, 0] == 0.0][:, 1])
    assert np.all(np.diff(labels[labels[:, 0] == 0.0][left, 1]) > 0)


def test_every_hot_spot_has_one_mark(small_screening):
    """Each rank is on exactly one mark; marks lie apart, whatever the symmetry."""
    marks = place_marks(small_screening, most=1000)
    ranks = sorted(rank for mark in marks for rank in mark.ranks)
    assert ranks == list(range(1, len(small_screening.findings.hot_spots) + 1))
    for k, mark in enumerate(marks):
        for other in marks[:k]:
            gap = np.linalg.norm(other.images - mark.spot.position_mm, axis=1).min()
            assert gap >= MERGE_RADIUS


def test_first_image_of_a_mark_is_the_spot_itself(small_screening):
    """Close-ups look at the first image."""
    for mark in place_marks(small_screening):
        np.testing.assert_allclose(mark.images[0], mark.spot.position_mm, atol=1e-9)


def test_job_round_trip(small_screening, tmp_path):
    """A job reads back as it was written, without pickled objects."""
    job = picture_job(small_screening.fields, place_marks(small_screening))
    back = load_job(job.save(tmp_path / "job.npz"))
    np.testing.assert_array_equal(back.images, job.images)
    np.testing.assert_array_equal(back.assessed, job.assessed)
    assert back.labels == job.labels
    assert back.sectors == job.sectors


def test_listed_places_are_never_grey(small_screening):
    """What the pictures paint grey, the ranking does not list."""
    job = picture_job(small_screening.fields, place_marks(small_screening))
    nodes = [spot.node for spot in small_screening.findings.hot_spots]
    at = np.searchsorted(small_screening.fields.surface.nodes, nodes)
    assert job.assessed[at].all()
    assert not job.assessed.all()


@pytest.mark.parametrize("draw", [section_svg, face_svg])
def test_drawings_number_every_mark(small_screening, draw):
    """Each drawing carries the label of each mark, the same bytes twice."""
    marks = place_marks(small_screening)
    shape = small_screening.wheel.shape
    drawing = draw(shape, marks)
    for mark in marks:
        assert f">{mark.label}<" in drawing
    assert draw(shape, marks) == drawing
    assert "currentColor" in drawing
    assert "#01020" not in drawing


def test_pictures_are_drawn(small_screening):
    """Where a graphics driver is there, the child draws pictures of fair size."""
    from PIL import Image

    job = picture_job(small_screening.fields, place_marks(small_screening))
    drawn = draw_pictures(job)
    if not drawn.images:
        pytest.skip(drawn.note)
    assert set(drawn.images) <= set(CAPTIONS)
    assert {"front", "back", "close-1"} <= set(drawn.images)
    assert sum(map(len, drawn.images.values())) < 1_200_000
    for name, jpeg in drawn.images.items():
        with Image.open(io.BytesIO(jpeg)) as image:
            pixels = np.asarray(image.convert("RGB"), dtype=float)
        is_coloured = np.ptp(pixels, axis=2) > 40.0
        assert is_coloured.mean() > 0.05, name


def test_pairwise_gap_shrinks_when_there_is_no_room():
    """More labels than fit share the height evenly."""
    placed = np.sort(spread(np.zeros(11), 20.0, 0.0, 100.0))
    np.testing.assert_allclose([b - a for a, b in pairwise(placed)], 10.0)


@pytest.fixture
def looking_down():
    """A camera 100 mm above the origin that looks down on a plate of 20 mm at z = 0.

    Parallel projection: x and y from -20 to 20 mm fill a picture of 40 pixels.
    """
    depth = np.full((40, 40), np.nan)
    depth[10:30, 10:30] = 100.0
    to_clip = np.diag([1 / 20.0, 1 / 20.0, 1.0, 1.0])
    eye, along = np.array([0.0, 0.0, 100.0]), np.array([0.0, 0.0, -1.0])
    return Snapshot(np.zeros((40, 40, 3), dtype=int), depth, to_clip, eye, along)


def test_pixels_count_from_the_upper_left(looking_down):
    """A point up and to the right lies in the upper right quarter."""
    at = looking_down.pixels(np.array([[10.0, 15.0, 0.0], [-20.0, 20.0, 0.0]]))
    np.testing.assert_allclose(at, [[30.0, 5.0], [0.0, 0.0]])


def test_what_the_camera_sees(looking_down):
    """A point is seen as far as it faces the camera, unless hidden or outside."""
    points = np.array([[0, 0, 0], [0, 0, -9], [15, 0, 0], [90, 0, 0], [0, 0, 0]])
    tilted = np.array([0.0, 0.6, 0.8])
    up = np.array([0.0, 0.0, 1.0])
    normals = np.stack([tilted, up, up, up, -up])
    seen = looking_down.sees(points.astype(float), normals)
    np.testing.assert_allclose(seen, [0.8, 0.0, 0.0, 0.0, 0.0])
