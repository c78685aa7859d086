"""A screening in words and figures: what terminal, page and comparison all print.

Each row holds text that is ready to print, so no output can round in its own way.
"""

from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

from spokecheck.report.findings import numbers
from spokecheck.screen.verdict import CLEARS, Verdict, judge

if TYPE_CHECKING:  # records are only read here: the command line stays fast
    from spokecheck.screen.results import Excluded, HotSpot, Screening, TestResult

PACKAGE = "spokecheck"
MM2_PER_CM2 = 100.0


@dataclass(frozen=True)
class TestRow:
    """One test at one level, as text."""

    __test__ = False  # not a test class, whatever pytest thinks of its name

    name: str
    load: str
    cycles: str
    margin: str
    verdict: Verdict
    place: str
    copies: str


@dataclass(frozen=True)
class SpotRow:
    """One hot spot, as text; stress in MPa, lives in cycles, position in mm."""

    rank: int
    margin: str
    verdict: Verdict
    test: str
    place: str
    copies: str
    amplitude: str
    mean: str
    equivalent: str
    allowable: str
    von_mises: str
    life_median: str
    life_at_survival: str
    survival: str
    error: str
    alloy: str
    radius: str
    height: str


def convergence_line(screening: "Screening") -> str:
    """How the mesh was refined, and whether the hot spots stood still."""
    found = screening.convergence
    cells = screening.wheel.mesh.n_cells
    settled = "hot spots settled" if found.settled else "hot spots NOT settled"
    return (
        f"{settled} ({numbers.percent(found.tolerance)}), {cells} cells: {found.reason}"
    )


def tool_version() -> str:
    """Version of the installed package."""
    try:
        return version(PACKAGE)
    except PackageNotFoundError:
        return "not installed"


def headline(screening: "Screening") -> str:
    """Verdict with its threshold: ``clears: worst margin 1.31; clears from 1.10``."""
    worst = numbers.margin(screening.worst.margin)
    return f"{screening.verdict}: worst margin {worst}; clears from {CLEARS:.2f}"


def worst_sentence(screening: "Screening") -> str:
    """Where the wheel would crack first."""
    worst = screening.worst
    return (
        f"{worst.place} ({numbers.copies(worst.copies)}), "
        f"in the {worst.requirement} test"
    )


def test_rows(screening: "Screening") -> list[TestRow]:
    """Rows of the tests, in the order of the procedure."""
    return [_test_row(test) for test in screening.tests]


def _test_row(test: "TestResult") -> TestRow:
    worst = test.spots[0]
    return TestRow(
        test.requirement.name,
        numbers.load(test.requirement),
        numbers.cycles(test.requirement.cycles),
        numbers.margin(worst.margin),
        judge(worst.margin),
        worst.place,
        numbers.copies(worst.copies),
    )


def spot_rows(screening: "Screening") -> list[SpotRow]:
    """Rows of all hot spots, worst first."""
    return [_spot_row(k, spot) for k, spot in enumerate(screening.spots, 1)]


def _spot_row(rank: int, spot: "HotSpot") -> SpotRow:
    return SpotRow(
        rank=rank,
        margin=numbers.margin(spot.margin),
        verdict=judge(spot.margin),
        test=spot.requirement,
        place=spot.place,
        copies=numbers.copies(spot.copies),
        amplitude=numbers.stress(spot.amplitude),
        mean=numbers.stress(spot.mean),
        equivalent=numbers.stress(spot.equivalent),
        allowable=numbers.stress(spot.allowable),
        von_mises=numbers.stress(spot.von_mises),
        life_median=numbers.cycles(spot.life_median),
        life_at_survival=numbers.cycles(spot.life_at_survival),
        survival=numbers.survival(spot.survival),
        error=numbers.percent(spot.stress_error),
        alloy=spot.alloy,
        radius=numbers.length(spot.radius),
        height=numbers.length(spot.position[2]),
    )


def exclusion_lines(screening: "Screening") -> list[str]:
    """What each rule left out of the ranking, in every test, and how high it went."""
    return [
        f"{test.requirement.name}: {_exclusion(gone)}"
        for test in screening.tests
        for gone in test.excluded
        if gone.points
    ]


def highest_exclusion_lines(screening: "Screening") -> list[str]:
    """The same, each rule once: where it went highest."""
    highest: dict[str, Excluded] = {}
    for test in screening.tests:
        for gone in test.excluded:
            known = highest.get(gone.rule)
            if gone.points and (known is None or gone.highest > known.highest):
                highest[gone.rule] = gone
    return [_exclusion(gone) for gone in highest.values()]


def _exclusion(gone: "Excluded") -> str:
    return (
        f"{gone.points} points {gone.rule}; highest utilisation there "
        f"{numbers.utilisation(gone.highest)} ({gone.place})"
    )


def origin_lines(screening: "Screening") -> list[str]:
    """Where a wheel from elsewhere comes from, and the surfaces found on it."""
    origin = screening.wheel.origin
    if origin.kind == "drawn":
        return []
    return [
        origin.description,
        *(
            f"{found.name}: {found.area / MM2_PER_CM2:.1f} cm2, expected "
            f"{found.expected / MM2_PER_CM2:.1f}; {found.how}"
            for found in origin.surfaces
        ),
    ]


def reduced_radius_lines(screening: "Screening") -> list[str]:
    """Fillets that had to be drawn smaller than the design file asks."""
    return [
        f"{reduced_radius.where}: {numbers.length(reduced_radius.drawn)} mm drawn, "
        f"{numbers.length(reduced_radius.asked)} mm asked for"
        + (f" ({reduced_radius.key})" if reduced_radius.key else "")
        for reduced_radius in screening.wheel.landmarks.reduced_radii
    ]
