"""How numbers are written: one way for terminal, page, JSON and JUnit.

Rounding never flatters: a margin is rounded down and a utilisation up, so 0.996 never
reads as 1.00.
"""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from math import isfinite
from typing import TYPE_CHECKING

from spokecheck.units import KG_PER_TONNE, N_MM_PER_KN_M

if TYPE_CHECKING:  # records are only read here: the command line stays fast
    from spokecheck.cases.procedure import Requirement

DIGITS = 6
"""Significant digits of every number in the JSON."""

BEYOND, BELOW, WITHIN = "beyond", "below", "within"
"""A life past the last cycle of the S-N line, before its first, or between the two."""

LIFE_WORDS = (
    f"{BEYOND}, {BELOW}: past the last or before the first cycle of the S-N line"
)

N_PER_KN = 1000.0

MOST_CERTAIN = 0.9999
"""Survival beyond which the tail of the assumed distribution is not told."""


def _places(value: float, step: str, rounding: str) -> str:
    """Decimal text; the shortest text of the float is rounded, not its binary value."""
    if not isfinite(value):
        return "inf" if value > 0 else "-inf" if value < 0 else "n/a"
    rounded = Decimal(repr(float(value))).quantize(Decimal(step), rounding)
    return str(abs(rounded) if rounded == 0 else rounded)


def margin(value: float) -> str:
    """Margin with two decimals, rounded down.

    Examples
    --------
    >>> [margin(m) for m in (0.996, 1.0, 1.15, 2.0)]
    ['0.99', '1.00', '1.15', '2.00']
    """
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


def life_range(value: float) -> str:
    """Where a life lies to the S-N line, which tells inf beyond it and 0 below it."""
    if not isfinite(value):
        return BEYOND
    return WITHIN if value > 0.0 else BELOW


def cycles(value: float) -> str:
    """Cycles with three digits.

    Examples
    --------
    >>> cycles(200000.0), cycles(float("inf")), cycles(0.0)
    ('2.00e5', 'beyond', 'below')
    """
    if life_range(value) != WITHIN:
        return life_range(value)
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


def mass(tonnes: float) -> str:
    """Mass [t] as kilograms with two decimals.

    Examples
    --------
    >>> mass(0.0111688)
    '11.17 kg'
    """
    kilograms = tonnes * KG_PER_TONNE
    return f"{_places(kilograms, '0.01', ROUND_HALF_EVEN)} kg"


def load(requirement: "Requirement") -> str:
    """Test load: moment in kN m or force in kN."""
    if requirement.test == "cornering":
        moment = requirement.load / N_MM_PER_KN_M
        return f"{_places(moment, '0.001', ROUND_HALF_EVEN)} kN m"
    return f"{_places(requirement.load / N_PER_KN, '0.01', ROUND_HALF_EVEN)} kN"


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
        return BEYOND
    if value and (abs(value) >= 1.0e9 or abs(value) < 1.0e-4):
        digits, exponent = f"{value:.{DIGITS - 1}e}".split("e")
        short = digits.rstrip("0").rstrip(".")
        return f"{short}e{int(exponent)}"
    return format(Decimal(f"{value:.{DIGITS}g}"), "f")


def sheet(value: float, unit: str) -> str:
    """Value of a calculation sheet; lives outside the S-N line as words."""
    if unit == "cycles" and life_range(value) != WITHIN:
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


def rounded(value: float, floor: float = 0.0) -> float | None:
    """Number for the JSON: six significant digits, noise below ``floor`` as zero.

    Returns
    -------
    float or None
        None for what is not finite, since JSON has no word for it.

    Examples
    --------
    >>> rounded(0.12345678), rounded(3e-14, floor=1e-9), rounded(float("inf"))
    (0.123457, 0.0, None)
    """
    if not isfinite(value):
        return None
    if abs(value) < floor:
        return 0.0
    return float(f"{value:.{DIGITS}g}") + 0.0
