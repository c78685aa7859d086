"""How numbers are written: one way for terminal, page and JUnit.

Rounding never flatters: a margin is rounded down and a utilisation up, so 0.996 never
reads as 1.00.
"""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from math import isfinite

from spokecheck.screen.findings import HotSpot, TestFindings
from spokecheck.screen.json_numbers import DIGITS, LifeRange, life_range
from spokecheck.units import N_MM_PER_KN_M

N_PER_KN = 1000.0

MOST_CERTAIN = 0.9999
"""Survival beyond which the tail of the assumed distribution is not reported."""


def _places(value: float, step: str, rounding: str) -> str:
    """Decimal text; the shortest text of the float is rounded, not its binary value."""
    if not isfinite(value):
        return "inf" if value > 0 else "-inf" if value < 0 else "n/a"
    rounded = Decimal(repr(float(value))).quantize(Decimal(step), rounding)
    return str(abs(rounded) if rounded == 0 else rounded)


def margin(value: float | None) -> str:
    """Margin with two decimals, rounded down; None is without bound.

    Examples
    --------
    >>> [margin(m) for m in (0.996, 1.0, 1.15, 2.0)]
    ['0.99', '1.00', '1.15', '2.00']
    """
    if value is None:
        return "inf"
    return _places(value, "0.01", ROUND_FLOOR)


def utilisation(value: float) -> str:
    """Utilisation with two decimals, rounded up.

    Examples
    --------
    >>> utilisation(1.001)
    '1.01'
    """
    return _places(value, "0.01", ROUND_CEILING)


def stress(value: float) -> str:
    """Stress [MPa] with one decimal.

    Examples
    --------
    >>> stress(103.2568), stress(-0.04)
    ('103.3', '0.0')
    """
    return _places(value, "0.1", ROUND_HALF_EVEN)


def length(value: float) -> str:
    """Length [mm] with one decimal."""
    return _places(value, "0.1", ROUND_HALF_EVEN)


def life(cycles_: float | None, where: LifeRange) -> str:
    """Life [cycles] with three digits, or the side of the S-N line it lies on."""
    return where if cycles_ is None else cycles(cycles_)


def cycles(value: float) -> str:
    """Cycles with three digits.

    Examples
    --------
    >>> cycles(200000.0)
    '2.00e5'
    """
    digits, exponent = f"{value:.2e}".split("e")
    return f"{digits}e{int(exponent)}"


def percent(share: float) -> str:
    """Share as percent with one decimal.

    Examples
    --------
    >>> percent(0.0766)
    '7.7 %'
    """
    return f"{_places(100.0 * share, '0.1', ROUND_HALF_EVEN)} %"


def survival(share: float) -> str:
    """Survival probability as percent with two decimals, rounded down.

    Examples
    --------
    >>> [survival(p) for p in (0.974999, 0.9999999, 0.0)]
    ['97.49 %', 'above 99.99 %', '0.00 %']
    """
    if share > MOST_CERTAIN:
        return f"above {100.0 * MOST_CERTAIN:.2f} %"
    return f"{_places(100.0 * share, '0.01', ROUND_FLOOR)} %"


def mass(kilograms: float) -> str:
    """Mass [kg] with two decimals.

    Examples
    --------
    >>> mass(11.1688)
    '11.17 kg'
    """
    return f"{_places(kilograms, '0.01', ROUND_HALF_EVEN)} kg"


def load(test: TestFindings) -> str:
    """Load of a test: moment in kN m or force in kN."""
    if test.moment_n_mm is not None:
        moment = test.moment_n_mm / N_MM_PER_KN_M
        return f"{_places(moment, '0.001', ROUND_HALF_EVEN)} kN m"
    assert test.force_n is not None, "a test has a moment or a force"
    return f"{_places(test.force_n / N_PER_KN, '0.01', ROUND_HALF_EVEN)} kN"


def plain(value: float | str) -> str:
    """Value of a derivation or a calculation sheet with up to six digits.

    Examples
    --------
    >>> plain(4509746.73), plain(0.9), plain("inboard"), plain(float("inf"))
    ('4509750', '0.9', 'inboard', 'beyond')
    """
    if isinstance(value, str):
        return value
    if not isfinite(value):
        return "beyond"
    if value and (abs(value) >= 1.0e9 or abs(value) < 1.0e-4):
        digits, exponent = f"{value:.{DIGITS - 1}e}".split("e")
        short = digits.rstrip("0").rstrip(".")
        return f"{short}e{int(exponent)}"
    return format(Decimal(f"{value:.{DIGITS}g}"), "f")


def sheet(value: float, unit: str) -> str:
    """Value of a calculation sheet; lives outside the S-N line as words."""
    if unit == "cycles" and life_range(value) != "within":
        return life_range(value)
    return plain(value)


def copies(count: int) -> str:
    """How many places of the wheel are the same.

    Examples
    --------
    >>> copies(1), copies(5)
    ('1 place', '5 places')
    """
    return f"{count} place{'' if count == 1 else 's'}"


def places(spot: HotSpot) -> str:
    """How many places equal a hot spot, and how those similar to it do.

    Such as ``10 places`` or ``1 place, the worst of 7 like it (margins to 1.35)``.
    """
    words = copies(spot.copies)
    if spot.similar is not None:
        highest = margin(spot.similar.highest_margin)
        words += f", the worst of {spot.similar.places} like it (margins to {highest})"
    return words
