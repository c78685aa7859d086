"""Utilisation of every surface point in one test, and its hot spots in order."""

from collections.abc import Iterable

import numpy as np

from spokecheck.cases.procedure import Requirement
from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.assess import Assessment, Demand, Quality, assess
from spokecheck.fatigue.history import StressHistory
from spokecheck.screen.hotspots import Peak, Surface, distinct_peaks
from spokecheck.screen.loaded import LoadedCase
from spokecheck.screen.places import RIM_SURFACES, name_place
from spokecheck.screen.results import Excluded, HotSpot, TestResult
from spokecheck.units import BoolArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel


def rank(
    wheel: Wheel, surface: Surface, loaded: LoadedCase, requirement: Requirement
) -> TestResult:
    """Rank the hot spots of one test at one level.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    surface : Surface
        Its outer surface.
    loaded : LoadedCase
        Solved at the largest level of the test; scaled here.
    requirement : Requirement
        Level and required cycles.

    Returns
    -------
    TestResult
    """
    factor = requirement.load / loaded.case.size
    history = loaded.history.scaled(factor, steady=1.0)
    rim = surface.on(RIM_SURFACES)
    zones = [
        _assess_zone(wheel, wheel.alloy, history, np.flatnonzero(~rim), requirement),
        _assess_zone(wheel, wheel.rim_alloy, history, np.flatnonzero(rim), requirement),
    ]
    utilisation = np.zeros(len(surface.nodes))
    for nodes, assessment in zones:
        utilisation[nodes] = assessment.utilisation
    excluded = np.any(list(loaded.fictitious.values()), axis=0)
    peaks = distinct_peaks(wheel, surface, utilisation, excluded)
    spots = [
        _tell(wheel, surface, peak, requirement, loaded, zones[int(rim[peak.index])])
        for peak in peaks
    ]
    return TestResult(
        requirement,
        worst_first(spots),
        tuple(
            _tell_excluded(wheel, surface, utilisation, rule, points)
            for rule, points in loaded.fictitious.items()
        ),
        loaded.case.notes,
        loaded.balance,
        utilisation,
    )


def worst_first(spots: Iterable[HotSpot]) -> tuple[HotSpot, ...]:
    """Spots by rising margin; ties, to five digits, by node number."""
    return tuple(
        sorted(spots, key=lambda spot: (float(f"{spot.margin:.5g}"), spot.node))
    )


def _assess_zone(
    wheel: Wheel,
    alloy: Alloy,
    history: StressHistory,
    nodes: IntArray,
    requirement: Requirement,
) -> tuple[IntArray, Assessment]:
    material = wheel.design.material
    quality = Quality(surface_rz=material.surface_rz_um)
    demand = Demand(cycles=requirement.cycles, survival=material.survival)
    return nodes, assess(history.take(nodes), alloy, quality, demand)


def _tell(
    wheel: Wheel,
    surface: Surface,
    peak: Peak,
    requirement: Requirement,
    loaded: LoadedCase,
    zone: tuple[IntArray, Assessment],
) -> HotSpot:
    """Record of one peak."""
    nodes, found = zone
    at = int(np.searchsorted(nodes, peak.index))
    node = int(surface.nodes[peak.index])
    point = wheel.mesh.points[node]
    label = surface.labels[surface.names[peak.index]]
    return HotSpot(
        requirement=requirement.name,
        place=name_place(wheel.shape, label, point),
        surface=label,
        node=node,
        position=(float(point[0]), float(point[1]), float(point[2])),
        copies=peak.copies,
        alloy=found.alloy.id,
        amplitude=float(found.amplitude[at]),
        mean=float(found.mean[at]),
        equivalent=float(found.equivalent[at]),
        allowable=float(found.allowable),
        margin=float(found.margin[at]),
        life_median=float(found.life_median[at]),
        life_at_survival=float(found.life_at_survival[at]),
        von_mises=float(found.max_von_mises[at]),
        stress_error=float(loaded.error[peak.index]),
        audit=tuple(found.audit(at)),
    )


def _tell_excluded(
    wheel: Wheel,
    surface: Surface,
    utilisation: FloatArray,
    rule: str,
    points: BoolArray,
) -> Excluded:
    """Record of what one rule left out."""
    if not points.any():
        return Excluded(rule, 0, 0.0, "")
    top = int(np.where(points, utilisation, -1.0).argmax())
    point = wheel.mesh.points[surface.nodes[top]]
    place = name_place(wheel.shape, surface.labels[surface.names[top]], point)
    return Excluded(rule, int(points.sum()), float(utilisation[top]), place)
