"""What a drawing leaves out is said, with the reason."""

from variants import variant

from spokecheck.wheel.shape.remarks import drawing_remarks


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
