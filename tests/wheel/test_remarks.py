"""What a drawing leaves out is said, with the reason."""

from pathlib import Path

import pytest
from variants import variant

from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.remarks import drawing_remarks
from spokecheck.wheel.shape.unused_keys import unused_keys
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.spokes_table import Spokes


def message(**rim):
    """All remarks on a variant of the rim, in one text."""
    return "; ".join(drawing_remarks(variant(rim=rim)))


def test_a_plain_design_says_what_is_left_out_and_why():
    """Valve hole, humps and flange edges are named, with their keys."""
    text = message()
    assert "valve hole is left out (rim.valve" in text
    assert "break the symmetry" in text
    assert "ISO 4000-2 asks for one outboard" in text
    assert "edge_radius_mm are drawn sharp" in text


def test_what_is_drawn_is_not_left_out():
    """With humps on both seats and rounded edges only the valve is spoken of."""
    text = message(
        humps="both", seat_width_mm=27.0, edge_radius_mm=1.5, valve="modelled"
    )
    assert text.count(";") == 0
    assert "modelled" in text
    assert "whole wheel is meshed" in text


def test_the_ring_beside_an_inboard_well_is_reported():
    """Windows end below the well; outboard of it metal is left up to the rim."""
    text = message(well_side="inboard")
    assert "windows end at radius 200.0 mm" in text
    assert "ring of 2" in text
    assert "ring of" not in message()


def test_a_missing_inboard_hump_is_reported():
    """A hump on the outer side alone leaves the inner one to be named."""
    assert "left out inboard" in message(humps="outboard", seat_width_mm=27.0)


UNUSED = {
    "rim.hump_height_mm": (
        {"rim": {"hump_height_mm": 2.0}},
        {"rim": {"humps": "both"}},
    ),
    "hub.cap_depth_mm": ({"hub": {"cap_depth_mm": 8.0}}, {"hub": {"cap_mm": 60.0}}),
    "hub.relief_depth_mm": (
        {"hub": {"relief_depth_mm": 1.0}},
        {"hub": {"relief_inner_mm": 90.0}},
    ),
    "hub.pocket_mm": ({"hub": {"pocket_mm": 20.0}}, {"hub": {"pocket_side": "back"}}),
    "bolts.ball_radius_mm": (
        {"bolts": {"ball_radius_mm": 13.0}},
        {"bolts": {"seat": "ball"}},
    ),
    "spokes.undercut_width_mm": (
        {"spokes": {"undercut_width_mm": 20.0}},
        {"spokes": {"undercut_mm": 5.0}},
    ),
}


@pytest.mark.parametrize("key", UNUSED)
def test_a_key_that_changes_nothing_is_reported(key):
    """The drawing is that without it, and the remark is gone with its feature."""
    given, feature = UNUSED[key]
    (table,) = given
    design = variant(**given)
    assert draw_wheel(design).drawing == draw_wheel(variant()).drawing
    text = "; ".join(drawing_remarks(design))
    assert f"{key} is given but changes nothing" in text
    asked = {table: {**given[table], **feature[table]}}
    assert "changes nothing" not in "; ".join(drawing_remarks(variant(**asked)))


def test_a_plate_has_no_use_for_corners_of_windows():
    """Nor for widths of spokes beside those of a course."""
    plate = read_design(Path("meshes/gallery/plate.toml"))
    fields = {**plate.spokes.model_dump(), "window_corner_mm": 7.0}
    changed = plate.model_copy(update={"spokes": Spokes.model_validate(fields)})
    assert set(unused_keys(changed)) == {"spokes.window_corner_mm"}
    assert not unused_keys(plate)
