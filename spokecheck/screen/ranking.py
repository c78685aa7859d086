"""Utilisation of every surface point in one test, and its hot spots in order.

This is what the refinement loop works with: points of one mesh and their assessment.
What is reported of them is put together once, at the end, by ``describe_tests``.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from spokecheck.cases.procedure import Requirement
from spokecheck.errors import ModelError
from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.assess import Assessment, Demand, Quality, assess, utilisation
from spokecheck.fatigue.defects import UM_PER_MM
from spokecheck.fatigue.history import StressHistory
from spokecheck.screen.findings import NotchSupport
from spokecheck.screen.hotspots import (
    FirstMeshValues,
    Peak,
    Surface,
    distinct_peaks,
    edge_lengths,
    in_rim,
)
from spokecheck.screen.loaded import LoadedCase
from spokecheck.screen.local_mesh import SpotGauge
from spokecheck.screen.notch import Place, fkm_factor, history_at_distance
from spokecheck.units import FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.mesh_check import LocalMesh
from spokecheck.wheel.tables.design import MaterialTable

WHERE = {
    "point": "is that at L / 2 (point method)",
    "line": "is the mean over 2 L (line method)",
}
ZONES = ("hub and spokes", "rim")


class EarlierValues(NamedTuple):
    """What earlier meshes gave in one test, at the points of a later one.

    Attributes
    ----------
    utilisation : ndarray (n_nodes,) or None
        On the mesh before, for points whose stress is not updated; None if all is.
    first_mesh : FirstMeshValues
    """

    utilisation: FloatArray | None
    first_mesh: FirstMeshValues


@dataclass(frozen=True)
class RankedZone:
    """One alloy's part of the wheel, assessed at its hot spots and its worst point.

    Attributes
    ----------
    name : str
    points : ndarray (n,)
        Those assessed, numbered within the surface, sorted.
    worst : int
        The worst of them.
    assessment : Assessment
        Without notch support.
    """

    name: str
    points: IntArray
    worst: int
    assessment: Assessment = field(repr=False)


@dataclass(frozen=True, kw_only=True)
class RankedSpot:
    """A hot spot on one mesh.

    Attributes
    ----------
    test : str
        Name of the requirement.
    peak : Peak
        Its point of the surface.
    node : int
        Point of the mesh.
    position : tuple of float
        x, y, z [mm].
    surface : str
        Drawn surface.
    edge : float
        Mean edge length of the mesh there [mm].
    jump : float
        Estimated relative error of the stress, from the jump between cells.
    mesh : LocalMesh
        How fine the mesh is there.
    assessment : Assessment
        With the notch support, if the design asks for it.
    number : int
        Its point within the assessment.
    margin_uncorrected : float
        Margin without notch support.
    support : NotchSupport or None
    """

    test: str
    peak: Peak
    node: int
    position: tuple[float, float, float]
    surface: str
    edge: float
    jump: float
    mesh: LocalMesh
    assessment: Assessment = field(repr=False)
    number: int
    margin_uncorrected: float
    support: NotchSupport | None

    @property
    def margin(self) -> float:
        """Allowable over equivalent amplitude."""
        return float(self.assessment.margin[self.number])

    @property
    def amplitude(self) -> float:
        """Amplitude over the turn [MPa]."""
        return float(self.assessment.amplitude[self.number])

    @property
    def mean(self) -> float:
        """Mean stress over the turn [MPa]."""
        return float(self.assessment.mean[self.number])

    @property
    def equivalent(self) -> float:
        """Fully reversed equivalent amplitude [MPa]."""
        return float(self.assessment.equivalent[self.number])


@dataclass(frozen=True, kw_only=True)
class RankedTest:
    """One test at one level on one mesh.

    Attributes
    ----------
    requirement : Requirement
    utilisation : ndarray (n_nodes,)
        On the surface points, excluded ones included.
    first_mesh : FirstMeshValues
        The same on the first mesh.
    zones : tuple of RankedZone
    spots : tuple of RankedSpot
        Worst first.
    """

    requirement: Requirement
    utilisation: FloatArray = field(repr=False)
    first_mesh: FirstMeshValues = field(repr=False)
    zones: tuple[RankedZone, ...]
    spots: tuple[RankedSpot, ...]


def zone_of(zones: Sequence[RankedZone], index: int) -> tuple[RankedZone, int]:
    """Zone of an assessed surface point, and its number in the assessment."""
    for zone in zones:
        number = int(np.searchsorted(zone.points, index))
        if number < len(zone.points) and zone.points[number] == index:
            return zone, number
    raise AssertionError("every hot spot was assessed")


def rank(
    wheel: Wheel,
    surface: Surface,
    loaded: LoadedCase,
    requirement: Requirement,
    gauge: SpotGauge | None = None,
    earlier: EarlierValues | None = None,
) -> RankedTest:
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
    gauge : SpotGauge, optional
        Measures the mesh at the spots; made here if not given.
    earlier : EarlierValues, optional
        If this is not the first mesh.

    Returns
    -------
    RankedTest

    Raises
    ------
    ModelError
        If no surface point is stressed.
    """
    # 1. utilisation of all surface points, and its maxima
    parts = _parts(wheel, surface)
    known = earlier.utilisation if earlier else None
    used = _utilisation(wheel, surface, loaded, requirement, parts, known)
    excluded = np.any(list(loaded.fictitious.values()), axis=0)
    first = earlier.first_mesh if earlier else None
    peaks = distinct_peaks(wheel, surface, used, excluded, first_mesh=first)
    if not peaks:
        raise ModelError(
            f"{wheel.design.name}, {requirement.name}: no surface point is stressed; "
            "check load and supports"
        )
    # 2. full assessment of the maxima and of the worst point of each zone
    allowed = np.where(excluded, -1.0, used)
    zones = []
    for name, alloy, nodes in parts:
        listed = [peak.index for peak in peaks if peak.index in nodes]
        worst = max(listed or [nodes[allowed[nodes].argmax()]], key=lambda k: used[k])
        points = np.unique([worst, *listed])
        history = loaded.history(requirement.load, surface.nodes[points])
        assessment = assess_part(wheel, alloy, history, requirement)
        zones.append(RankedZone(name, points, int(worst), assessment))
    # 3. each maximum with notch support, error estimate and mesh
    edges = edge_lengths(wheel.mesh.points, surface)
    test = _TestOnMesh(
        wheel=wheel,
        surface=surface,
        loaded=loaded,
        requirement=requirement,
        zones=tuple(zones),
        utilisation=used,
        edges=edges,
        gauge=gauge or SpotGauge(wheel),
    )
    nodes = surface.nodes[np.array([peak.index for peak in peaks], dtype=np.int64)]
    jumps = loaded.errors(wheel.mesh, nodes).tolist()
    spots = map(test.spot, peaks, jumps)
    return RankedTest(
        requirement=requirement,
        utilisation=used,
        first_mesh=first or FirstMeshValues(used, edges),
        zones=test.zones,
        spots=worst_first(spots),
    )


def worst_first(spots: Iterable[RankedSpot]) -> tuple[RankedSpot, ...]:
    """Spots by rising margin; ties, to five digits, by node number."""
    return tuple(
        sorted(spots, key=lambda spot: (float(f"{spot.margin:.5g}"), spot.node))
    )


def part_quality(material: MaterialTable) -> Quality:
    """Departures of the part from a laboratory bar, as the design gives them."""
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


def assess_part(
    wheel: Wheel,
    alloy: Alloy,
    history: StressHistory,
    requirement: Requirement,
    support_factor: float = 1.0,
) -> Assessment:
    """Assess points of one alloy of a wheel, with the part's quality and survival."""
    material = wheel.design.material
    quality = replace(part_quality(material), support_factor=support_factor)
    demand = _demand(wheel, requirement)
    return assess(history, alloy, quality, demand, material.measure)


def _demand(wheel: Wheel, requirement: Requirement) -> Demand:
    return Demand(requirement.cycles, wheel.design.material.survival)


def _parts(wheel: Wheel, surface: Surface) -> list[tuple[str, Alloy, IntArray]]:
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
    parts: Sequence[tuple[str, Alloy, IntArray]],
    earlier: FloatArray | None,
) -> FloatArray:
    """Utilisation (n_nodes,) of the surface, assessed where stress was updated."""
    everywhere = np.zeros(len(surface.nodes)) if earlier is None else earlier.copy()
    material = wheel.design.material
    quality, demand = part_quality(material), _demand(wheel, requirement)
    updated = loaded.updated[surface.nodes]
    for _, alloy, nodes in parts:
        changed = nodes[updated[nodes]]
        if len(changed):
            history = loaded.history(requirement.load, surface.nodes[changed])
            everywhere[changed] = utilisation(
                history, alloy, quality, demand, material.measure
            )
    return everywhere


@dataclass(frozen=True, kw_only=True)
class _TestOnMesh:
    """One test on one mesh, ready to have its maxima looked at one by one."""

    wheel: Wheel
    surface: Surface
    loaded: LoadedCase
    requirement: Requirement
    zones: tuple[RankedZone, ...]
    utilisation: FloatArray
    edges: FloatArray
    gauge: SpotGauge

    def spot(self, peak: Peak, jump: float) -> RankedSpot:
        """Record of one maximum."""
        zone, number = zone_of(self.zones, peak.index)
        bare = float(zone.assessment.margin[number])
        assessment, number, support = self._supported(peak, zone.assessment, number)
        node = int(self.surface.nodes[peak.index])
        x, y, z = self.wheel.mesh.points[node].tolist()
        return RankedSpot(
            test=self.requirement.name,
            peak=peak,
            node=node,
            position=(x, y, z),
            surface=self.surface.labels[self.surface.names[peak.index]],
            edge=float(self.edges[peak.index]),
            jump=jump,
            mesh=self.gauge.at(node),
            assessment=assessment,
            number=number,
            margin_uncorrected=bare,
            support=support,
        )

    def _supported(
        self, peak: Peak, bare: Assessment, number: int
    ) -> tuple[Assessment, int, NotchSupport | None]:
        """Assessment of one maximum with the notch support the design asks for."""
        material = self.wheel.design.material
        method, distance = material.support, material.critical_distance_mm
        if method == "none":
            return bare, number, None
        load = self.requirement.load
        place = Place(self.wheel, self.surface, self.loaded, peak.index, load)
        factor, history = 1.0, bare.history.take([number])
        try:
            if method == "fkm":
                factor, note = fkm_factor(place, bare, number, self.utilisation)
            else:
                assert distance is not None, "limits asks for it"
                history = history_at_distance(place, method, distance)
                note = f"stress below {WHERE[method]}, L = {distance:g} mm"
        except ModelError:
            note = "not found: the depth lies beyond the sector's cut; left uncorrected"
        one = assess_part(self.wheel, bare.alloy, history, self.requirement, factor)
        gain = float(one.margin[0]) / float(bare.margin[number])
        return one, 0, NotchSupport(method=method, factor=gain, note=note)
