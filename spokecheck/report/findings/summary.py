"""What terminal, comparison and JUnit show of a screening, as plain records.

A summary is small, crosses processes at little cost, and survives a trip through JSON
unchanged; so a stored result is told by the same code, word for word, without the mesh
and without the libraries that made it.
"""

import json
from dataclasses import asdict, dataclass, fields, is_dataclass
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar, get_args, get_origin, get_type_hints

from spokecheck.report.findings import assumptions, numbers, rows
from spokecheck.report.findings.rows import SpotRow, TestRow
from spokecheck.screen.verdict import Verdict

if TYPE_CHECKING:  # records are only read here: the command line stays fast
    from spokecheck.screen.results import Screening, TestResult

T = TypeVar("T")

MOST = 10
"""Hot spots in a summary; the page and the JSON have them all."""


@dataclass(frozen=True)
class Remark:
    """Lines under a heading."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class TestCase:
    """The worst place of one test, as a CI report tells it."""

    __test__ = False  # not a test class, whatever pytest thinks of its name

    row: TestRow
    equivalent: str
    allowable: str
    error: str


@dataclass(frozen=True)
class Worst:
    """The worst hot spot of all, as a comparison tells it."""

    margin: float
    test: str
    place: str
    copies: str
    stress_error: float


@dataclass(frozen=True)
class Summary:
    """One screening, told.

    Attributes
    ----------
    name : str
        Name of the design.
    mass : float
        [t].
    verdict : Verdict
    headline, sentence : str
        Verdict with its threshold; where the wheel would crack first.
    worst : Worst
    tests : tuple of TestCase
        In the order of the procedure.
    spots : tuple of SpotRow
        The first hot spots, worst first.
    n_spots : int
        How many there are in all.
    remarks : tuple of Remark
        What has to be said beside the numbers.
    """

    name: str
    mass: float
    verdict: Verdict
    headline: str
    sentence: str
    worst: Worst
    tests: tuple[TestCase, ...]
    spots: tuple[SpotRow, ...]
    n_spots: int
    remarks: tuple[Remark, ...]


def summarise(screening: "Screening", most: int = MOST) -> Summary:
    """Summary of a screening.

    Parameters
    ----------
    screening : Screening
        What was found.
    most : int
        Hot spots to tell.

    Returns
    -------
    Summary
    """
    worst = screening.worst
    pairs = zip(rows.test_rows(screening), screening.tests, strict=True)
    return Summary(
        name=screening.name,
        mass=float(screening.wheel.weight.mass),
        verdict=screening.verdict,
        headline=rows.headline(screening),
        sentence=rows.worst_sentence(screening),
        worst=Worst(
            float(worst.margin),
            worst.requirement,
            worst.place,
            numbers.copies(worst.copies),
            float(worst.stress_error),
        ),
        tests=tuple(_test_case(row, test) for row, test in pairs),
        spots=tuple(rows.spot_rows(screening)[:most]),
        n_spots=len(screening.spots),
        remarks=_remarks(screening),
    )


def _test_case(row: TestRow, test: "TestResult") -> TestCase:
    worst = test.spots[0]
    return TestCase(
        row,
        numbers.stress(worst.equivalent),
        numbers.stress(worst.allowable),
        numbers.percent(worst.stress_error),
    )


def _remarks(screening: "Screening") -> tuple[Remark, ...]:
    """All remarks that have lines, in the order they are told."""
    checked = assumptions.CHECKED
    told = {
        "What the worst margins owe to the load model": assumptions.sensitivity_lines(
            screening
        ),
        "Notch support": assumptions.support_lines(screening, checked),
        "Margins by other criteria": assumptions.other_criteria_lines(
            screening, checked
        ),
        "13-degree impact, an indication": _impact_lines(screening),
        "Outside its ground": assumptions.warning_lines(screening),
        "From memory and unsure": assumptions.doubt_lines(screening),
        "Drawn, or left out": assumptions.drawing_lines(screening),
        "A wheel from elsewhere": rows.origin_lines(screening),
        "Mesh": [rows.convergence_line(screening)],
        "Left out by rule": rows.highest_exclusion_lines(screening),
        "Fillets drawn smaller than asked": rows.reduced_radius_lines(screening),
    }
    return tuple(Remark(title, tuple(lines)) for title, lines in told.items() if lines)


def _impact_lines(screening: "Screening") -> list[str]:
    found = screening.impact
    if found is None:
        return []
    places = [
        f"{row.strike}: {row.von_mises} MPa, {row.of_yield} of yield ({row.place})"
        for row in assumptions.impact_rows(found)
    ]
    return [found.warning, *assumptions.impact_lines(found), *places]


def summary_to_text(summary: Summary) -> str:
    """Summary as JSON; every float comes back as it was."""
    return json.dumps(asdict(summary), ensure_ascii=False)


def summary_from_text(text: str) -> Summary:
    """Summary from JSON.

    Raises
    ------
    ValueError
        If the text is no JSON, or a value is missing, extra or of another type.
    """
    return _built(Summary, json.loads(text))


def _built(kind: type[T], raw: Any) -> T:
    """Value of a declared type from plain JSON; nothing is converted in silence."""
    made: Any = raw
    if is_dataclass(kind):
        names = [one.name for one in fields(kind)]
        if not isinstance(raw, dict) or sorted(raw) != sorted(names):
            raise ValueError(f"{kind.__name__}: need the keys {', '.join(names)}")
        hints = _hints(kind)
        made = kind(**{name: _built(hints[name], raw[name]) for name in names})
    elif get_origin(kind) is tuple:
        if not isinstance(raw, list):
            raise ValueError(f"need a list, got {type(raw).__name__}")
        made = tuple(_built(get_args(kind)[0], item) for item in raw)
    elif issubclass(kind, StrEnum):
        made = kind(raw)
    elif type(raw) is not kind:
        raise ValueError(f"need {kind.__name__}, got {type(raw).__name__}")
    return made  # type: ignore[no-any-return]


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)
