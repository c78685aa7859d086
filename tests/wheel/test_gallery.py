"""The gallery: one design for each pattern, each of which can be drawn and meshed."""

import io
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from PIL import Image

from spokecheck.cases.procedure import requirements
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.tables.spokes_table import Spokes

FOLDER = Path("meshes/gallery")
DESIGNS = sorted(FOLDER.glob("*.toml"))


def test_every_pattern_has_a_design_of_its_name():
    """The files of the gallery are the patterns of the design file, one each."""
    patterns = get_args(Spokes.model_fields["pattern"].annotation)
    assert {path.stem for path in DESIGNS} == set(patterns)
    for path in DESIGNS:
        assert read_design(path).spokes.pattern == path.stem


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_designs_of_the_gallery_mesh(path):
    """Each meshes with all cells upright and the volume of its solid."""
    wheel = build_wheel(read_design(path))
    assert wheel.quality.least_jacobian > 0.0
    # the contract asks for 1e-3
    assert abs(wheel.weight.solid_gap) < 1e-3
    assert 5.0e-3 < wheel.weight.mass < 25.0e-3


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_designs_of_the_gallery_can_be_screened_as_they_are(path):
    """Each asks for tests that cover its category, with all their numbers sourced."""
    assert {wanted.test for wanted in requirements(read_design(path))} >= {
        "cornering",
        "radial",
    }


def test_page_shows_every_design():
    """The page has a picture of modest size and a link for each design."""
    page = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert "invented" in page
    for path in DESIGNS:
        assert f"({path.name})" in page
        assert f"({path.stem}.jpg)" in page
        data = (FOLDER / f"{path.stem}.jpg").read_bytes()
        assert len(data) < 60_000
        with Image.open(io.BytesIO(data)) as picture:
            pixels = np.asarray(picture.convert("L"))
        assert 0.2 < (pixels < 250).mean() < 0.9


def test_designs_say_that_they_are_invented():
    """No file of the gallery can pass for a real wheel."""
    for path in DESIGNS:
        assert "Invented" in path.read_text(encoding="utf-8").splitlines()[0]
