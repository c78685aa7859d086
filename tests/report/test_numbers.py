"""Numbers as written: rounding that never flatters, and the same everywhere."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spokecheck.report.findings import numbers
from spokecheck.screen.json_numbers import rounded
from spokecheck.screen.verdict import CLEARS, Verdict, judge

POSITIVE = st.floats(min_value=1e-3, max_value=1e3)


@given(POSITIVE)
def test_margin_is_rounded_down(value):
    """The margin as text never exceeds the margin, and lies within 0.01 of it."""
    shown = float(numbers.margin(value))
    assert shown <= value
    assert value - shown < 0.01 + 1e-9


@given(POSITIVE)
def test_utilisation_is_rounded_up(value):
    """The utilisation as text is never below it, and lies within 0.01 of it."""
    shown = float(numbers.utilisation(value))
    assert shown >= value
    assert shown - value < 0.01 + 1e-9


@given(st.floats(min_value=0.9, max_value=1.2))
def test_shown_margin_and_verdict_agree(value):
    """Text and unrounded margin fall into the same verdict."""
    assert judge(float(numbers.margin(value))) is judge(value)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.996, "0.99"), (1.15, "1.15"), (CLEARS, "1.10"), (0.1, "0.10")],
)
def test_margin_of_decimal_fractions(value, text):
    """Decimal fractions that binary cannot hold keep their own digits."""
    assert numbers.margin(value) == text


def test_margin_just_below_one_does_not_read_as_one():
    """The largest float below 1 reads 0.99."""
    below = math.nextafter(1.0, 0.0)
    assert numbers.margin(below) == "0.99"
    assert judge(below) is Verdict.DOES_NOT_CLEAR


@given(st.floats(min_value=1.0, max_value=1e12))
def test_cycles_have_three_digits(value):
    """Cycles as text lie within half a unit of the third digit."""
    assert float(numbers.cycles(value)) == pytest.approx(value, rel=5.01e-3)


@pytest.mark.parametrize("value", [math.inf, math.nan])
def test_no_number_for_what_is_not_finite(value):
    """The JSON gets null, never a word JSON does not know."""
    assert rounded(value) is None


@given(st.floats(min_value=-1e12, max_value=1e12).filter(lambda x: abs(x) > 1e-12))
def test_rounded_keeps_six_digits(value):
    """Rounding moves a number by at most half a unit of its sixth digit."""
    assert rounded(value) == pytest.approx(value, rel=5.01e-6)


@given(st.floats(min_value=1e-12, max_value=1e15))
def test_plain_text_reads_back(value):
    """A number on a calculation sheet reads back to six digits."""
    assert float(numbers.plain(value)) == pytest.approx(value, rel=5.01e-6)


def test_no_negative_zero():
    """Small negative stress reads 0.0 and rounds to plain zero."""
    assert numbers.stress(-0.04) == "0.0"
    assert math.copysign(1.0, rounded(-1e-15, floor=1e-9)) == 1.0
