"""What a result owes to its assumptions, in lines and rows ready to print.

Zones, sensitivities, notch support, other criteria, and the impact indication.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from spokecheck.report.findings import numbers
from spokecheck.screen.verdict import Verdict, judge

if TYPE_CHECKING:  # records are only read here: the command line stays fast
    from spokecheck.screen.impact_indication import ImpactIndication
    from spokecheck.screen.results import HotSpot, Screening, Zone

CHECKED = 3
"""Hot spots whose support and other criteria the terminal tells; the page tells all."""


@dataclass(frozen=True)
class ZoneRow:
    """Worst place of one zone in one test, as text."""

    test: str
    zone: str
    alloy: str
    margin: str
    verdict: Verdict
    life_median: str
    survival: str
    place: str


@dataclass(frozen=True)
class ImpactRow:
    """One place under one strike, as text; stress in MPa."""

    strike: str
    place: str
    von_mises: str
    of_yield: str


def zone_rows(screening: "Screening") -> list[ZoneRow]:
    """Rows of all zones, by test."""
    return [
        _zone_row(test.requirement.name, zone)
        for test in screening.tests
        for zone in test.zones
    ]


def _zone_row(test: str, zone: "Zone") -> ZoneRow:
    return ZoneRow(
        test,
        zone.name,
        zone.alloy,
        numbers.margin(zone.margin),
        judge(zone.margin),
        numbers.cycles(zone.life_median),
        numbers.survival(zone.survival),
        zone.place,
    )


def sensitivity_lines(screening: "Screening") -> list[str]:
    """Worst margin of each test over the range of an assumption of its load model."""
    lines = []
    for test in screening.tests:
        names = dict.fromkeys(other.assumption.name for other in test.sensitivities)
        for name in names:
            some = [o for o in test.sensitivities if o.assumption.name == name]
            margins = ", ".join(numbers.margin(other.margin) for other in some)
            values = ", ".join(f"{other.assumption.value:g}" for other in some)
            unit = some[0].assumption.unit
            at = f"{name} {values} {unit}".rstrip()
            lines.append(f"{test.requirement.name}: worst margin {margins} at {at}")
    return lines


def support_lines(screening: "Screening", most: int | None = None) -> list[str]:
    """What notch support did at each hot spot; nothing where it is off."""
    return [
        f"hot spot {rank}: margin {numbers.margin(spot.margin)}, without support "
        f"{numbers.margin(spot.margin_uncorrected)}; {spot.support.told}"
        for rank, spot in enumerate(screening.spots[:most], 1)
        if spot.support is not None
    ]


def other_criteria_lines(screening: "Screening", most: int | None = None) -> list[str]:
    """Margins by other criteria at the hot spots; nothing unless asked for."""
    return [
        f"hot spot {rank}, ranked by {numbers.margin(spot.margin)}: {_others(spot)}"
        for rank, spot in enumerate(screening.spots[:most], 1)
        if spot.beside
    ]


def _others(spot: "HotSpot") -> str:
    return ", ".join(f"{o.name} {numbers.margin(o.margin)}" for o in spot.beside)


def warning_lines(screening: "Screening") -> list[str]:
    """Where the calculation leaves its ground; the same words once for all tests."""
    told: dict[str, list[str]] = {}
    for test in screening.tests:
        for warning in test.warnings:
            told.setdefault(warning, []).append(test.requirement.name)
    return [f"{', '.join(names)}: {warning}" for warning, names in told.items()]


def drawing_lines(screening: "Screening") -> list[str]:
    """What the drawing leaves out, or takes in at a price, and why."""
    return list(screening.wheel.remarks)


def doubt_lines(screening: "Screening") -> list[str]:
    """Numbers of the procedures that nobody has checked, once for each test."""
    return [
        f"{test.requirement.name}: {', '.join(test.requirement.doubts)}"
        for test in screening.tests
        if test.requirement.doubts
    ]


def impact_lines(found: "ImpactIndication | None") -> list[str]:
    """Energy, force and stiffness of the impact indication."""
    if found is None:
        return []
    kilo = numbers.N_PER_KN
    head = (
        f"{found.fall.procedure}: {found.fall.energy / 1.0e3:.0f} J of fall; mounts "
        f"{found.fall.mount_stiffness / kilo:.2f} kN/mm"
    )
    return [
        head,
        *(
            f"{strike.where}: wheel {strike.stiffness / kilo:.1f} kN/mm, peak force "
            f"{strike.force / kilo:.0f} kN (rigid mounts "
            f"{strike.force_rigid / kilo:.0f} kN)"
            for strike in found.strikes
        ),
    ]


def impact_rows(found: "ImpactIndication | None") -> list[ImpactRow]:
    """Most stressed places of each strike."""
    if found is None:
        return []
    return [
        ImpactRow(
            strike.where,
            spot.place,
            numbers.stress(spot.von_mises),
            numbers.utilisation(spot.of_yield),
        )
        for strike in found.strikes
        for spot in strike.spots
    ]
