"""Mass without a mesh, against closed forms and against the mesh."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from spokecheck.plane.curves import area_and_moment
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.estimate import ACCURACY, estimate_mass, estimate_volume
from spokecheck.wheel.shape.wheel_shape import draw_wheel

DESIGNS = [
    path
    for folder in ("designs", "gallery")
    for path in sorted(Path("meshes", folder).glob("*.toml"))
]


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_estimate_is_as_near_to_the_mesh_as_the_sheet_says(path):
    """The estimate lies within its stated accuracy of the meshed mass."""
    design = read_design(path)
    meshed = build_wheel(design).weight.mass
    assert abs(estimate_mass(draw_wheel(design)) / meshed - 1.0) < ACCURACY


def test_bare_body_agrees_with_pappus():
    """Without windows and holes the volume is area times path of the centroid."""
    shape = draw_wheel(read_design(DESIGNS[0]))
    bare = replace(shape, drawing=replace(shape.drawing, windows=(), cutters=()))
    _, moment = area_and_moment(shape.drawing.section)
    # 2000 radii against 64 chords an arc
    np.testing.assert_allclose(estimate_volume(bare), 2.0 * np.pi * moment, rtol=2e-4)
