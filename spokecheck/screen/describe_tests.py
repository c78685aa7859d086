"""From the tests as ranked on the finest mesh to what is reported of them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.cases.loadcase import Assumption
from spokecheck.fatigue.audit import AuditLine
from spokecheck.fem.local_halving import CoarseSpot
from spokecheck.screen.findings import (
    Excluded,
    HotSpot,
    Sensitivity,
    SimilarPlaces,
    SpotMesh,
    TestFindings,
    ZoneFindings,
)
from spokecheck.screen.hotspots import Surface
from spokecheck.screen.json_numbers import life_range, life_within
from spokecheck.screen.loaded import LoadedCase
from spokecheck.screen.notch import SOURCE
from spokecheck.screen.other_criteria import other_criteria
from spokecheck.screen.places import name_place
from spokecheck.screen.ranking import (
    RankedSpot,
    RankedTest,
    RankedZone,
    assess_part,
    zone_of,
)
from spokecheck.screen.tracked_spots import SpotHistory
from spokecheck.screen.verdict import CLEARS, Verdict, judge
from spokecheck.units import BoolArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.zones import zone_notes


@dataclass(frozen=True)
class SolvedTest:
    """A ranked test on its mesh, with the stress it was ranked by.

    Attributes
    ----------
    wheel : Wheel
    surface : Surface
    loaded : LoadedCase
    ranked : RankedTest
    given_up : tuple of CoarseSpot
        Places whose cells could not be halved.
    """

    wheel: Wheel
    surface: Surface
    loaded: LoadedCase
    ranked: RankedTest
    given_up: tuple[CoarseSpot, ...] = ()

    def place(self, index: int) -> str:
        """Plain words of a surface point."""
        point = self.wheel.mesh.points[self.surface.nodes[index]]
        label = self.surface.labels[self.surface.names[index]]
        return name_place(self.wheel, label, point)


def judge_spots(
    spots: Sequence[HotSpot], settled: bool, required: float = CLEARS
) -> Verdict:
    """Verdict on some hot spots: by the least margin at the upper end of its bar."""
    worst = min(spots, key=lambda spot: spot.least_margin)
    return judge(worst.margin, worst.stress_error, settled, required)


def describe_test(
    test: SolvedTest,
    spots: Sequence[HotSpot],
    settled: bool,
    required: float = CLEARS,
) -> TestFindings:
    """What is reported of one test.

    Parameters
    ----------
    test : SolvedTest
        Ranked on the finest mesh.
    spots : sequence of HotSpot
        Its hot spots, worst first.
    settled : bool
        Whether refinement ended since their stress had settled.
    required : float
        Margin from which a design clears.

    Returns
    -------
    TestFindings
    """
    requirement, loaded = test.ranked.requirement, test.loaded
    worst = test.ranked.spots[0]
    cornering = requirement.test == "cornering"
    return TestFindings(
        name=requirement.name,
        procedure=requirement.procedure,
        test=requirement.test,
        moment_n_mm=requirement.load if cornering else None,
        force_n=None if cornering else requirement.load,
        cycles=requirement.cycles,
        margin=worst.margin,
        verdict=judge_spots(spots, settled, required),
        place=test.place(worst.peak.index),
        hot_spot_ranks=tuple(spot.rank for spot in spots),
        derivation=requirement.derivation,
        unsure=requirement.doubts,
        excluded=tuple(_excluded(test, *rule) for rule in loaded.fictitious.items()),
        notes=(*loaded.case.notes, *zone_notes(test.wheel.design), *_unsure(test)),
        warnings=tuple(_warnings(test)),
        zones=tuple(_zone(test, zone) for zone in test.ranked.zones),
        sensitivities=tuple(_vary(test, variant) for variant in loaded.case.variants),
        balance_misfit=loaded.balance,
    )


def describe_spot(
    test: SolvedTest,
    members: Sequence[RankedSpot],
    rank: int,
    history: SpotHistory,
    others: bool,
) -> HotSpot:
    """What is reported of one hot spot.

    Parameters
    ----------
    test : SolvedTest
        The test it belongs to.
    members : sequence of RankedSpot
        One of its hot spots, and those similar to it, worst first.
    rank : int
        Over all tests.
    history : SpotHistory
        Of the first.
    others : bool
        Whether to find other criteria.

    Returns
    -------
    HotSpot
    """
    spot = members[0]
    fatigue, k = spot.assessment, spot.number
    life = float(fatigue.life_median[k])
    life_at_survival = float(fatigue.life_at_survival[k])
    x, y, _ = spot.position
    return HotSpot(
        rank=rank,
        test=spot.test,
        margin=spot.margin,
        place=test.place(spot.peak.index),
        surface=spot.surface,
        node=spot.node,
        position_mm=spot.position,
        radius_mm=float((x * x + y * y) ** 0.5),
        copies=spot.peak.copies,
        similar=SimilarPlaces(
            places=len(members),
            highest_margin=members[-1].margin,
        )
        if len(members) > 1
        else None,
        alloy=fatigue.alloy.id,
        amplitude_mpa=float(fatigue.amplitude[k]),
        mean_mpa=float(fatigue.mean[k]),
        equivalent_mpa=spot.equivalent,
        allowable_mpa=float(fatigue.allowable),
        von_mises_mpa=float(fatigue.max_von_mises[k]),
        life_median_cycles=life_within(life),
        life_median_range=life_range(life),
        life_at_survival_cycles=life_within(life_at_survival),
        life_at_survival_range=life_range(life_at_survival),
        survival=float(fatigue.survival[k]),
        margin_uncorrected=spot.margin_uncorrected,
        support=spot.support,
        other_criteria=other_criteria(fatigue, k) if others else (),
        stress_error=history.bar,
        meshes=len(history.meshes),
        mesh=_spot_mesh(test, spot),
        audit=(_load_line(test), *_support_lines(spot), *fatigue.audit(k)),
    )


def _spot_mesh(test: SolvedTest, spot: RankedSpot) -> SpotMesh:
    local, point = spot.mesh, np.array(spot.position)
    refused = {
        coarse.reason
        for coarse in test.given_up
        if np.linalg.norm(point - coarse.centre) < spot.edge
    }
    return SpotMesh(
        edge_mm=spot.edge,
        edges_per_quarter=local.edges_per_quarter,
        wall_mm=local.wall,
        layers=local.layers,
        short=(*local.short, *sorted(refused)),
    )


def _load_line(test: SolvedTest) -> AuditLine:
    """First line of a sheet: the load all its stresses belong to."""
    need = test.ranked.requirement
    unit = "N mm" if need.test == "cornering" else "N"
    what = "load of the test; the stresses below are those of the model under it"
    return AuditLine("load", what, need.load, unit, f"derivation of {need.name}")


def _support_lines(spot: RankedSpot) -> tuple[AuditLine, ...]:
    """Margin before notch support, and how the support was fatigue."""
    if spot.support is None:
        return ()
    what = f"margin without support; {spot.support.note}"
    return (AuditLine("margin_0", what, spot.margin_uncorrected, "-", SOURCE),)


def _zone(test: SolvedTest, zone: RankedZone) -> ZoneFindings:
    """Worst point of one zone that no rule leaves out."""
    fatigue, k = zone.assessment, int(np.searchsorted(zone.points, zone.worst))
    life = float(fatigue.life_median[k])
    return ZoneFindings(
        zone=zone.name,
        alloy=fatigue.alloy.id,
        margin=float(fatigue.margin[k]),
        life_median_cycles=life_within(life),
        life_median_range=life_range(life),
        survival=float(fatigue.survival[k]),
        place=test.place(zone.worst),
    )


def _vary(test: SolvedTest, variant: Assumption) -> Sensitivity:
    """Least margin over the hot spots under another assumption."""
    need, margins = test.ranked.requirement, []
    for spot in test.ranked.spots:
        node = test.surface.nodes[[spot.peak.index]]
        history = test.loaded.history(need.load, node, variant)
        alloy = spot.assessment.alloy
        margins.append(assess_part(test.wheel, alloy, history, need).margin[0])
    worst = int(np.argmin(margins))
    return Sensitivity(
        assumption=variant.name,
        value=variant.value,
        unit=variant.unit,
        margin=float(margins[worst]),
        place=test.place(test.ranked.spots[worst].peak.index),
    )


def _warnings(test: SolvedTest) -> Iterator[str]:
    """Where the calculation leaves the range it was made for."""
    if test.wheel.design.material.measure == "hypersphere":
        yield "ranked by the hypersphere, up to 18 % unsafe near circular paths"
    cycles, zones = test.ranked.requirement.cycles, test.ranked.zones
    alloys = [zone.assessment.alloy for zone in zones]
    beyond = [alloy.id for alloy in alloys if alloy.sn.extrapolated(cycles)]
    if beyond:
        names = " and ".join(dict.fromkeys(beyond))
        yield f"cycles not known to lie within the tests behind the S-N line of {names}"
    for spot in test.ranked.spots:
        zone, k = zone_of(zones, spot.peak.index)
        place = test.place(spot.peak.index)
        share = float(zone.assessment.yield_utilisation[k])
        if share > 1.0:
            yield f"elastic stress of {share:.2f} times Rp0.2 misleads ({place})"
        if zone.assessment.outside_tested_ratio[k]:
            yield f"stress ratio outside those tested for the mean stress ({place})"


def _unsure(test: SolvedTest) -> tuple[str, ...]:
    """Note on numbers of the procedure that nobody has checked."""
    unsure = test.ranked.requirement.doubts
    if not unsure:
        return ()
    return (f"from memory and unsure, check against the document: {', '.join(unsure)}",)


def _excluded(test: SolvedTest, rule: str, points: BoolArray) -> Excluded:
    """What one rule left out."""
    if not points.any():
        return Excluded(rule=rule, points=0, highest_utilisation=0.0, place="")
    used = test.ranked.utilisation
    top = int(np.where(points, used, -1.0).argmax())
    return Excluded(
        rule=rule,
        points=int(points.sum()),
        highest_utilisation=float(used[top]),
        place=test.place(top),
    )
