"""Numbers of the findings: how the JSON rounds them, and lives outside an S-N line.

The findings keep every number as it was computed; only the JSON rounds, to six
significant digits, so that neither the order of a sum nor the clock shows.
"""

from math import isfinite
from typing import Annotated, Any, Literal

from pydantic import JsonValue, PlainSerializer

from spokecheck.cases.sourced import Sourced
from spokecheck.fatigue.audit import AuditLine

DIGITS = 6
"""Significant digits of every number in the JSON."""

STRESS_NOISE = 1.0e-6
"""Stress [MPa] below which only rounding of the solver is seen."""

LENGTH_NOISE = 1.0e-6
"""The same for lengths [mm]."""

SHARE_NOISE = 1.0e-9
"""The same for misfits and other shares."""

LifeRange = Literal["beyond", "below", "within"]
"""A life past the last cycle of the S-N line, before its first, or between the two."""

LIFE_WORDS = "beyond, below: past the last or before the first cycle of the S-N line"


def life_range(value: float) -> LifeRange:
    """Range of a life [cycles], which is inf beyond the S-N line and 0 below it."""
    if not isfinite(value):
        return "beyond"
    return "within" if value > 0.0 else "below"


def life_within(value: float) -> float | None:
    """Life [cycles] within the S-N line; None outside, where it is no number."""
    return float(value) if life_range(value) == "within" else None


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


def rounded_nest(value: Any) -> Any:
    """The same nest of dicts and lists with every float rounded."""
    if isinstance(value, dict):
        return {key: rounded_nest(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [rounded_nest(item) for item in value]
    return rounded(value) if isinstance(value, float) else value


def _rounding(floor: float = 0.0) -> PlainSerializer:
    def in_json(value: float) -> float | None:
        return rounded(value, floor)

    return PlainSerializer(in_json, when_used="json")


def _derivation_json(line: Sourced) -> dict[str, Any]:
    return rounded_nest(vars(line))  # type: ignore[no-any-return]


def _audit_json(line: AuditLine) -> dict[str, Any]:
    value = rounded(line.value, STRESS_NOISE if line.unit == "MPa" else 0.0)
    plain = {**vars(line), "value": value}
    if line.unit == "cycles" and life_range(line.value) != "within":
        plain |= {"value": None, "value_range": life_range(line.value)}
    return plain


Number = Annotated[float, _rounding()]
Stress = Annotated[float, _rounding(STRESS_NOISE)]
Length = Annotated[float, _rounding(LENGTH_NOISE)]
Share = Annotated[float, _rounding(SHARE_NOISE)]
"""Numbers by what is noise in them."""

Derivation = tuple[
    Annotated[Sourced, PlainSerializer(_derivation_json, when_used="json")], ...
]
Audit = tuple[Annotated[AuditLine, PlainSerializer(_audit_json, when_used="json")], ...]
"""A calculation line by line; a life outside the S-N line is null in the JSON, with
``value_range`` beside it."""

FileTables = Annotated[
    dict[str, JsonValue], PlainSerializer(rounded_nest, when_used="json")
]
"""Tables and keys of a design file."""
