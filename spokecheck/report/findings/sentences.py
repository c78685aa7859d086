"""Findings in sentences, the same on terminal and page."""

from spokecheck.report.findings import numbers
from spokecheck.screen.findings import Excluded, Findings, HotSpot
from spokecheck.screen.impact_findings import ImpactIndication
from spokecheck.units import MM2_PER_CM2

N_MM_PER_J = 1000.0


def headline(findings: Findings) -> str:
    """Verdict with the margin it hangs on, its error bar taken off, and the limit."""
    verdict = findings.verdict
    return (
        f"{quick_look(findings)}{verdict.word}: worst margin "
        f"{numbers.margin(verdict.worst_margin)}, "
        f"{numbers.margin(verdict.worst_margin_less_bar)} less its error bar; "
        f"clears from {verdict.clears_from_margin:.2f}"
    )


def quick_look(findings: Findings) -> str:
    """Warning before the verdict of a screen on one mesh."""
    one = findings.options.most_meshes == 1
    return "a quick look, on one mesh, settles nothing; " if one else ""


def worst_sentence(findings: Findings) -> str:
    """Where the wheel would crack first."""
    worst = findings.worst
    return f"{worst.place} ({numbers.places(worst)}), in the {worst.test} test"


def convergence_line(findings: Findings) -> str:
    """How the mesh was refined, and whether the hot spots settled."""
    end, tolerance = findings.convergence, findings.options.tolerance
    cells = findings.wheel.mesh.cells
    settled = "hot spots settled" if end.settled else "hot spots NOT settled"
    return f"{settled} ({numbers.percent(tolerance)}), {cells} cells: {end.reason}"


def way_line(findings: Findings) -> str:
    """How the wheel was meshed and first solved, and why so."""
    way = findings.wheel.way
    if way.ring is None:
        return f"{way.name}: {way.reason}"
    ends = " to ".join(
        f"r {numbers.length(r)}, z {numbers.length(z)}"
        for r, z in (way.ring.back_mm, way.ring.face_mm)
    )
    return f"{way.name} on a ring ({ends} mm): {way.reason}"


def exclusion_lines(findings: Findings) -> list[str]:
    """What each rule left out of the ranking, in every test, and how high it went."""
    return [
        f"{test.name}: {_exclusion(excluded)}"
        for test in findings.tests
        for excluded in test.excluded
        if excluded.points
    ]


def highest_exclusion_lines(findings: Findings) -> list[str]:
    """The same, each rule once: where it went highest."""
    highest: dict[str, Excluded] = {}
    for test in findings.tests:
        for one in test.excluded:
            most = highest.get(one.rule)
            if one.points and (
                most is None or one.highest_utilisation > most.highest_utilisation
            ):
                highest[one.rule] = one
    return [_exclusion(one) for one in highest.values()]


def _exclusion(excluded: Excluded) -> str:
    return (
        f"{excluded.points} points {excluded.rule}; highest utilisation there "
        f"{numbers.utilisation(excluded.highest_utilisation)} ({excluded.place})"
    )


def origin_lines(findings: Findings) -> list[str]:
    """Where a wheel from elsewhere comes from, and the surfaces identified on it."""
    origin = findings.wheel.origin
    if origin.kind == "drawn":
        return []
    return [
        origin.words,
        *(
            f"{surface.name}: {surface.area_mm2 / MM2_PER_CM2:.1f} cm2, "
            f"{surface.area_mm2 / surface.expected_mm2:.0%} of the "
            f"{surface.expected_mm2 / MM2_PER_CM2:.1f} expected; {surface.how}"
            for surface in origin.surfaces
        ),
    ]


def departure_lines(findings: Findings) -> list[str]:
    """What is not drawn as the design file asks, and why."""
    return [departure.text for departure in findings.wheel.departures]


def sensitivity_lines(findings: Findings) -> list[str]:
    """Worst margin of each test over the range of an assumption of its load model."""
    lines = []
    for test in findings.tests:
        names = dict.fromkeys(other.assumption for other in test.sensitivities)
        for name in names:
            some = [o for o in test.sensitivities if o.assumption == name]
            margins = ", ".join(numbers.margin(other.margin) for other in some)
            values = ", ".join(f"{other.value:g}" for other in some)
            at = f"{name} {values} {some[0].unit}".rstrip()
            lines.append(f"{test.name}: worst margin {margins} at {at}")
    return lines


def support_lines(findings: Findings, most: int | None = None) -> list[str]:
    """What notch support did at each hot spot; nothing where it is off."""
    return [
        f"hot spot {spot.rank}: margin {numbers.margin(spot.margin)}, without support "
        f"{numbers.margin(spot.margin_uncorrected)}; {spot.support.note}"
        for spot in findings.hot_spots[:most]
        if spot.support is not None
    ]


def other_criteria_lines(findings: Findings, most: int | None = None) -> list[str]:
    """Margins by other criteria at the hot spots; nothing unless asked for."""
    return [
        f"hot spot {spot.rank}, ranked by {numbers.margin(spot.margin)}: "
        f"{_criteria(spot)}"
        for spot in findings.hot_spots[:most]
        if spot.other_criteria
    ]


def _criteria(spot: HotSpot) -> str:
    others = spot.other_criteria
    return ", ".join(f"{o.criterion} {numbers.margin(o.margin)}" for o in others)


def warning_lines(findings: Findings) -> list[str]:
    """Where the calculation leaves its range; the same words once for all tests."""
    tests: dict[str, list[str]] = {}
    for test in findings.tests:
        for warning in test.warnings:
            tests.setdefault(warning, []).append(test.name)
    return [f"{', '.join(names)}: {warning}" for warning, names in tests.items()]


def unsure_lines(findings: Findings) -> list[str]:
    """Numbers of the procedures that nobody has checked, once for each test."""
    return [
        f"{test.name}: {', '.join(test.unsure)}"
        for test in findings.tests
        if test.unsure
    ]


def impact_lines(impact: ImpactIndication | None) -> list[str]:
    """Energy, force and stiffness of the impact indication."""
    if impact is None:
        return []
    kilo = numbers.N_PER_KN
    head = (
        f"{impact.procedure}: {impact.energy_n_mm / N_MM_PER_J:.0f} J of fall; mounts "
        f"{impact.mount_stiffness_n_per_mm / kilo:.2f} kN/mm"
    )
    return [
        head,
        *(
            f"{strike.where}: wheel {strike.wheel_stiffness_n_per_mm / kilo:.1f} "
            f"kN/mm, peak force {strike.peak_force_n / kilo:.0f} kN (rigid mounts "
            f"{strike.peak_force_rigid_mounts_n / kilo:.0f} kN)"
            for strike in impact.strikes
        ),
    ]
