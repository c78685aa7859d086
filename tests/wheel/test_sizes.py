"""Size designations against ISO 4000-2 and UN Regulation No. 30 figures."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.wheel.tables.sizes import parse_rim_size, parse_tyre_size


@pytest.mark.parametrize(
    ("text", "width", "diameter"),
    [
        ("7J x 15", 178.0, 380.2),
        ("7.5J x 17", 190.5, 436.6),
        ("8J x 18", 203.0, 462.0),
        ("18 x 8J", 203.0, 462.0),
        ("7,5 J x 16", 190.5, 405.6),
    ],
)
def test_rim_designation(text, width, diameter):
    """Widths round to 0.5 mm; diameters: ISO 4000-2 Table 4 (from memory)."""
    size = parse_rim_size(text)
    assert (size.width, size.diameter) == (width, diameter)


def test_seventeen_inch_rims_and_up_lie_below_their_code():
    """Up to 16 inch the seat is 0.8 mm below 25.4 times the code, from 17 on 4.8 mm."""
    gaps = [25.4 * c - parse_rim_size(f"8J x {c}").diameter for c in range(14, 23)]
    assert_allclose(gaps[:3], 0.8, rtol=0, atol=1e-9)
    assert_allclose(gaps[3:], [-4.8] * 6, rtol=0, atol=1e-9)


@pytest.mark.parametrize("text", ["8 x 18", "8J x 23", "13J x 18", "8K x 18", "", "J"])
def test_other_texts_are_refused(text):
    """What is no J rim from 14 to 22 inch is refused."""
    with pytest.raises(ValueError, match="need"):
        parse_rim_size(text)


def test_tyre_size_of_the_worked_example():
    """225/45R18: 659.5 mm across, rolls 2012 mm, r_dyn 320 mm (UN R30, from memory)."""
    tyre = parse_tyre_size("225/45 ZR18 95W")
    assert_allclose(tyre.outside_diameter, 659.5, rtol=1e-12)
    assert_allclose(2 * 3.141592653589793 * tyre.dynamic_radius, 2012, rtol=5e-4)
    assert_allclose(tyre.dynamic_radius / tyre.free_radius, 0.971, rtol=1e-3)


@given(st.text(max_size=20))
def test_any_text_is_a_size_or_a_clear_refusal(text):
    """No text makes the parsers fail in another way than ValueError."""
    for parse in (parse_rim_size, parse_tyre_size):
        with suppress(ValueError):
            assert parse(text)
