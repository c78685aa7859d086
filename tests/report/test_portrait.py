"""Portraits: the bare wheel, drawn by the picture child."""

import io

import numpy as np
from PIL import Image

from spokecheck.report.pictures.portrait import draw_portrait, portrait_job


def test_turned_sectors_close_the_surface(small_screening):
    """By the divergence theorem the turned sectors enclose the wheel's volume."""
    wheel = small_screening.wheel
    job = portrait_job(wheel)
    a, b, c = (job.points[job.faces[:, k]] for k in range(3))
    # x dx/dV: cuts pass through the axle, so they add nothing to x . n
    volume = (a * np.cross(b, c)).sum() / 6.0 * job.sectors
    density = wheel.alloy.density
    # flat triangles of a coarse mesh
    np.testing.assert_allclose(volume, wheel.weight.mass / density, rtol=2e-2)


def test_portrait_is_a_grey_wheel_on_white(small_screening):
    """The portrait has no colour of a result on it; without a driver it says why."""
    drawn = draw_portrait(small_screening.wheel)
    if drawn.note:
        assert "no pictures" in drawn.note
        return
    with Image.open(io.BytesIO(drawn.images["front"])) as image:
        pixels = np.asarray(image.convert("RGB"), dtype=float)
    assert np.ptp(pixels, axis=2).max() < 40.0
    assert pixels[:4].min() > 245.0
    assert 0.2 < (pixels.mean(axis=2) < 235.0).mean() < 0.9
