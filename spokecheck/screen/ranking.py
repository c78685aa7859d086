"""Utilisation of every surface point in one test, and its hot spots in order."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from spokecheck.cases.loadcase import Assumption
from spokecheck.cases.procedure import Requirement
from spokecheck.errors import ModelError
from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.assess import (
    Assessment,
    AuditLine,
    Demand,
    Quality,
    assess,
    utilisation,
)
from spokecheck.fatigue.defects import UM_PER_MM
from spokecheck.fatigue.history import StressHistory
from spokecheck.screen.hotspots import (
    FirstMeshValues,
    Peak,
    Surface,
    distinct_peaks,
    edge_lengths,
    in_rim,
)
from spokecheck.screen.loaded import LoadedCase
from spokecheck.screen.notch import SOURCE, Place, fkm_factor, history_at_distance
from spokecheck.screen.other_criteria import other_criteria
from spokecheck.screen.places import name_place
from spokecheck.screen.results import (
    Excluded,
    HotSpot,
    NotchSupport,
    Sensitivity,
    TestResult,
    Zone,
)
from spokecheck.units import BoolArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.zones import zone_notes
from spokecheck.wheel.tables.design import MaterialTable

WHERE = {
    "point": "is that at L / 2 (point method)",
    "line": "is the mean over 2 L (line method)",
}
ZONES = ("hub and spokes", "rim")


@dataclass(frozen=True)
class _Part:
    """One zone: its hot spots and its worst point, and what was found there."""

    name: str
    nodes: IntArray
    worst: int
    found: Assessment


@dataclass(frozen=True)
class _Ranked:
    """One test on its way to a result."""

    wheel: Wheel
    surface: Surface
    loaded: LoadedCase
    requirement: Requirement
    parts: tuple[_Part, ...]
    utilisation: FloatArray
    edges: FloatArray

    def part(self, index: int) -> tuple[_Part, int]:
        """Zone of a surface point, and its number there."""
        for part in self.parts:
            at = int(np.searchsorted(part.nodes, index))
            if at < len(part.nodes) and part.nodes[at] == index:
                return part, at
        raise AssertionError("every hot spot was assessed")

    def place(self, index: int) -> str:
        """Plain words of a surface point."""
        point = self.wheel.mesh.points[self.surface.nodes[index]]
        label = self.surface.labels[self.surface.names[index]]
        return name_place(self.wheel, label, point)


def rank(
    wheel: Wheel,
    surface: Surface,
    loaded: LoadedCase,
    requirement: Requirement,
    beside: bool = False,
    known: FloatArray | None = None,
    first_mesh: FirstMeshValues | None = None,
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
    beside : bool
        Whether to find other criteria at the hot spots.
    known : ndarray (n_nodes,), optional
        Utilisation found before, for points whose stress is not anew.
    first_mesh : FirstMeshValues, optional
        Of the first mesh, where this is not the first.

    Returns
    -------
    TestResult
    """
    zones = _zones(wheel, surface)
    used = _utilisation(wheel, surface, loaded, requirement, zones, known)
    excluded = np.any(list(loaded.fictitious.values()), axis=0)
    left = np.where(excluded, -1.0, used)
    peaks = distinct_peaks(wheel, surface, used, excluded, first_mesh=first_mesh)
    parts = []
    for name, alloy, nodes in zones:
        listed = [peak.index for peak in peaks if peak.index in nodes]
        worst = max(listed or [nodes[left[nodes].argmax()]], key=lambda k: used[k])
        told = np.unique([worst, *listed])
        history = loaded.history(requirement.load, surface.nodes[told])
        found = _assess(wheel, alloy, history, requirement)
        parts.append(_Part(name, told, int(worst), found))
    at = surface.nodes[np.array([peak.index for peak in peaks], dtype=np.int64)]
    errors = loaded.errors(wheel.mesh, at)
    edges = edge_lengths(wheel.mesh.points, surface)
    seen = _Ranked(wheel, surface, loaded, requirement, tuple(parts), used, edges)
    return TestResult(
        requirement,
        worst_first(
            _report(seen, peak, error, beside)
            for peak, error in zip(peaks, errors.tolist(), strict=True)
        ),
        tuple(_report_excluded(seen, *rule) for rule in loaded.fictitious.items()),
        (*loaded.case.notes, *zone_notes(wheel.design), *_doubts(requirement)),
        loaded.balance,
        used,
        first_mesh or FirstMeshValues(used, edges),
        tuple(_report_zone(seen, part) for part in parts),
        tuple(_vary(seen, peaks, variant) for variant in loaded.case.variants),
        tuple(_warnings(seen, peaks)),
    )


def worst_first(spots: Iterable[HotSpot]) -> tuple[HotSpot, ...]:
    """Spots by rising margin; ties, to five digits, by node number."""
    return tuple(
        sorted(spots, key=lambda spot: (float(f"{spot.margin:.5g}"), spot.node))
    )


def part_quality(material: MaterialTable) -> Quality:
    """Departures of the part from a laboratory bar, as the design tells them."""
    size = material.defect_sqrt_area_um
    return Quality(
        surface_rz=material.surface_rz_um,
        peening_factor=material.peening_factor,
        coating_factor=material.coating_factor,
        casting_factor=material.casting_factor,
        defect_sqrt_area=None if size is None else size / UM_PER_MM,
        hardness_hb=material.hardness_hb,
        temperature=material.temperature_c,
        bake_temperature=material.bake_temperature_c,
    )


def _zones(wheel: Wheel, surface: Surface) -> list[tuple[str, Alloy, IntArray]]:
    """Name, alloy and surface points of both zones."""
    rim = in_rim(wheel, surface)
    alloys = wheel.alloy, wheel.rim_alloy
    nodes = np.flatnonzero(~rim), np.flatnonzero(rim)
    return list(zip(ZONES, alloys, nodes, strict=True))


def _utilisation(
    wheel: Wheel,
    surface: Surface,
    loaded: LoadedCase,
    requirement: Requirement,
    zones: Sequence[tuple[str, Alloy, IntArray]],
    known: FloatArray | None,
) -> FloatArray:
    """Utilisation (n_nodes,) of the surface, found anew where it may have changed."""
    everywhere = np.zeros(len(surface.nodes)) if known is None else known.copy()
    material = wheel.design.material
    quality, demand = part_quality(material), _demand(wheel, requirement)
    anew = loaded.updated[surface.nodes]
    for _, alloy, nodes in zones:
        wanted = nodes[anew[nodes]]
        if len(wanted):
            history = loaded.history(requirement.load, surface.nodes[wanted])
            everywhere[wanted] = utilisation(
                history, alloy, quality, demand, material.measure
            )
    return everywhere


def _demand(wheel: Wheel, requirement: Requirement) -> Demand:
    return Demand(requirement.cycles, wheel.design.material.survival)


def _assess(
    wheel: Wheel,
    alloy: Alloy,
    history: StressHistory,
    requirement: Requirement,
    support_factor: float = 1.0,
) -> Assessment:
    material = wheel.design.material
    quality = replace(part_quality(material), support_factor=support_factor)
    demand = _demand(wheel, requirement)
    return assess(history, alloy, quality, demand, material.measure)


def _report(seen: _Ranked, peak: Peak, error: float, beside: bool) -> HotSpot:
    """Record of one peak."""
    part, at = seen.part(peak.index)
    bare = float(part.found.margin[at])
    found, at, support = _supported(seen, peak, part.found, at)
    node = int(seen.surface.nodes[peak.index])
    point = seen.wheel.mesh.points[node]
    return HotSpot(
        requirement=seen.requirement.name,
        place=seen.place(peak.index),
        surface=seen.surface.labels[seen.surface.names[peak.index]],
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
        stress_error=error,
        edge=float(seen.edges[peak.index]),
        survival=float(found.survival[at]),
        margin_uncorrected=bare,
        support=support,
        audit=(
            _load_line(seen),
            *(support.lines if support else ()),
            *found.audit(at),
        ),
        beside=other_criteria(found, at) if beside else (),
    )


def _load_line(seen: _Ranked) -> AuditLine:
    """First line of a sheet: the load all its stresses belong to."""
    wanted = seen.requirement
    unit = "N mm" if wanted.test == "cornering" else "N"
    what = "load of the test; the stresses below are those of the model under it"
    return AuditLine("load", what, wanted.load, unit, f"derivation of {wanted.name}")


def _supported(
    seen: _Ranked, peak: Peak, found: Assessment, at: int
) -> tuple[Assessment, int, NotchSupport | None]:
    """Assessment of one peak with the notch support the design asks for."""
    material = seen.wheel.design.material
    method, distance = material.support, material.critical_distance_mm
    if method == "none":
        return found, at, None
    load = seen.requirement.load
    place = Place(seen.wheel, seen.surface, seen.loaded, peak.index, load)
    factor, history = 1.0, found.history.take([at])
    try:
        if method == "fkm":
            factor, told = fkm_factor(place, found, at, seen.utilisation)
        else:
            assert distance is not None, "limits asks for it"
            history = history_at_distance(place, method, distance)
            told = f"stress below {WHERE[method]}, L = {distance:g} mm"
    except ModelError:
        told = "not found: the depth lies beyond the sector's cut; left uncorrected"
    one = _assess(seen.wheel, found.alloy, history, seen.requirement, factor)
    bare = float(found.margin[at])
    line = AuditLine("margin_0", f"margin without support; {told}", bare, "-", SOURCE)
    gain = float(one.margin[0]) / bare
    return one, 0, NotchSupport(method, gain, told, (line,))


def _report_zone(seen: _Ranked, part: _Part) -> Zone:
    """Worst point of one zone that no rule leaves out."""
    found, at = part.found, int(np.searchsorted(part.nodes, part.worst))
    return Zone(
        part.name,
        found.alloy.id,
        float(found.margin[at]),
        float(found.life_median[at]),
        float(found.survival[at]),
        seen.place(part.worst),
    )


def _vary(seen: _Ranked, peaks: Sequence[Peak], variant: Assumption) -> Sensitivity:
    """Least margin over the peaks under another assumption."""
    margins = []
    for peak in peaks:
        part, _ = seen.part(peak.index)
        node = seen.surface.nodes[[peak.index]]
        history = seen.loaded.history(seen.requirement.load, node, variant)
        alloy = part.found.alloy
        margins.append(_assess(seen.wheel, alloy, history, seen.requirement).margin[0])
    worst = int(np.argmin(margins))
    place = seen.place(peaks[worst].index)
    return Sensitivity(variant, float(margins[worst]), place)


def _warnings(seen: _Ranked, peaks: Sequence[Peak]) -> Iterator[str]:
    """Where the calculation leaves the ground it was made for."""
    if seen.wheel.design.material.measure == "hypersphere":
        yield "ranked by the hypersphere, up to 18 % unsafe near circular paths"
    cycles = seen.requirement.cycles
    beyond = [
        p.found.alloy for p in seen.parts if p.found.alloy.sn.extrapolated(cycles)
    ]
    if beyond:
        names = " and ".join(dict.fromkeys(alloy.id for alloy in beyond))
        yield f"cycles not known to lie within the tests behind the S-N line of {names}"
    for peak in peaks:
        part, at = seen.part(peak.index)
        place = seen.place(peak.index)
        share = float(part.found.yield_utilisation[at])
        if share > 1.0:
            yield f"elastic stress of {share:.2f} times Rp0.2 misleads ({place})"
        if part.found.outside_tested_ratio[at]:
            yield f"stress ratio outside those tested for the mean stress ({place})"


def _doubts(requirement: Requirement) -> tuple[str, ...]:
    """What the report has to say of numbers that nobody has checked."""
    if not requirement.doubts:
        return ()
    symbols = ", ".join(requirement.doubts)
    return (f"from memory and unsure, check against the document: {symbols}",)


def _report_excluded(seen: _Ranked, rule: str, points: BoolArray) -> Excluded:
    """Record of what one rule left out."""
    if not points.any():
        return Excluded(rule, 0, 0.0, "")
    top = int(np.where(points, seen.utilisation, -1.0).argmax())
    highest = float(seen.utilisation[top])
    return Excluded(rule, int(points.sum()), highest, seen.place(top))
