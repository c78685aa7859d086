"""From the last round of a screening to its findings: made once, whole."""

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any

from spokecheck.screen.adapt import Convergence, MeshTrial
from spokecheck.screen.describe_tests import (
    SolvedTest,
    describe_spot,
    describe_test,
    judge_spots,
)
from spokecheck.screen.describe_wheel import describe_requirements, describe_wheel
from spokecheck.screen.error_bars import histories_of, place_numbers
from spokecheck.screen.findings import Findings, HotSpot
from spokecheck.screen.impact_findings import ImpactIndication
from spokecheck.screen.ranking import RankedSpot
from spokecheck.screen.request import Request
from spokecheck.screen.rounds import Round, most_unknowns
from spokecheck.screen.run_findings import (
    ConvergenceFindings,
    Judgement,
    MeshStep,
    RunOptions,
    SpotOnMesh,
)
from spokecheck.wheel.source import Source
from spokecheck.wheel.tables.design import Brief


def conclude(
    source: Source,
    request: Request,
    last: Round,
    convergence: Convergence,
    impact: ImpactIndication | None,
) -> Findings:
    """Findings of a screening.

    Parameters
    ----------
    source : Source
        What the wheel was made of.
    request : Request
        How it was screened.
    last : Round
        On the finest mesh.
    convergence : Convergence
        How the hot spots changed on the way.
    impact : ImpactIndication or None

    Returns
    -------
    Findings
    """
    wheel, design = last.wheel, last.wheel.design
    histories = histories_of(convergence)
    solved = [
        SolvedTest(
            wheel,
            last.surface,
            last.loaded[test.requirement.setup],
            test,
            last.given_up,
        )
        for test in last.tests
    ]
    test_of = {test.ranked.requirement.name: test for test in solved}
    # one entry for similar places of a test: the worst, which comes first
    ranks: dict[str, list[int]] = {name: [] for name in test_of}
    spots: list[HotSpot] = []
    for members in _similar(design, last.spots):
        spot, rank = members[0], len(spots) + 1
        ranks[spot.test].append(rank)
        history = histories[spot.test, spot.position]
        test, others = test_of[spot.test], request.other_criteria
        spots.append(describe_spot(test, members, rank, history, others))
    return Findings(
        name=design.name,
        design=design.model_dump(mode="json"),
        wheel=describe_wheel(wheel),
        verdict=_judgement(spots, convergence.settled, request.required_margin),
        tests=tuple(
            describe_test(
                test,
                [spots[k - 1] for k in ranks[name]],
                convergence.settled,
                request.required_margin,
            )
            for name, test in test_of.items()
        ),
        hot_spots=tuple(spots),
        impact_indication=impact,
        options=_options(request, most_unknowns(wheel), design.overrides),
        convergence=ConvergenceFindings(
            settled=convergence.settled,
            reason=source.fixed or convergence.reason,
            held_edge=convergence.held_edge,
            meshes=tuple(_mesh_step(trial) for trial in convergence.meshes),
        ),
        mesh_requirements=describe_requirements(wheel, spots),
    )


def _similar(design: Brief, spots: Sequence[RankedSpot]) -> list[list[RankedSpot]]:
    """Hot spots of each test by place, in the order of the worst of each."""
    groups: dict[tuple[str, int], list[RankedSpot]] = {}
    for spot, place in zip(spots, place_numbers(design, spots), strict=True):
        groups.setdefault((spot.test, place), []).append(spot)
    return list(groups.values())


def _judgement(spots: Sequence[HotSpot], settled: bool, required: float) -> Judgement:
    """Verdict on the hot spot whose margin less its error bar is the least."""
    verdict, worst = judge_spots(spots, settled, required), spots[0]
    return Judgement(
        word=verdict,
        rule=verdict.rule(required),
        clears_from_margin=required,
        worst_margin=worst.margin,
        worst_margin_less_bar=min(spot.least_margin for spot in spots),
        worst_test=worst.test,
        worst_place=worst.place,
        worst_copies=worst.copies,
    )


def _options(
    request: Request, unknowns: int, overrides: Mapping[str, Any]
) -> RunOptions:
    return RunOptions(
        fineness=request.fineness,
        tolerance=request.tolerance,
        places=request.places,
        most_meshes=request.meshes,
        most_unknowns=unknowns,
        overrides={
            key: list(value) if isinstance(value, tuple) else value
            for key, value in overrides.items()
        },
    )


def _mesh_step(trial: MeshTrial) -> MeshStep:
    """The hot spots in question on one mesh."""
    return MeshStep(
        unknowns=trial.unknowns,
        hot_spots=tuple(
            SpotOnMesh(
                test=one.spot.label,
                equivalent_mpa=one.spot.value,
                edge_mm=one.spot.edge,
                move=one.move if isfinite(one.move) else None,
                bar=one.bar,
            )
            for one in trial.in_question
        ),
    )
