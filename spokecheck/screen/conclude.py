"""From the last round of a screening to its findings: made once, whole."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from spokecheck.screen.adapt import Convergence, MeshTrial, RefinementLimits
from spokecheck.screen.describe_tests import SolvedTest, describe_spot, describe_test
from spokecheck.screen.describe_wheel import describe_requirements, describe_wheel
from spokecheck.screen.error_bars import error_bars
from spokecheck.screen.findings import Findings, HotSpot
from spokecheck.screen.impact_findings import ImpactIndication
from spokecheck.screen.request import Request
from spokecheck.screen.rounds import Round
from spokecheck.screen.run_findings import (
    ConvergenceFindings,
    Judgement,
    MeshStep,
    RunOptions,
    SpotOnMesh,
)
from spokecheck.screen.verdict import CLEARS, judge
from spokecheck.wheel.source import Source


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
    bars = error_bars(convergence)
    # every hot spot with its test, ranked over all tests
    solved = [
        SolvedTest(wheel, last.surface, last.loaded[test.requirement.setup], test)
        for test in last.tests
    ]
    test_of = {test.ranked.requirement.name: test for test in solved}
    ranks: dict[str, list[int]] = {name: [] for name in test_of}
    spots: list[HotSpot] = []
    for rank, spot in enumerate(last.spots, 1):
        ranks[spot.test].append(rank)
        bar = bars[spot.test, spot.position]
        test = test_of[spot.test]
        spots.append(describe_spot(test, spot, rank, bar, request.other_criteria))
    return Findings(
        name=design.name,
        design=design.model_dump(mode="json"),
        wheel=describe_wheel(wheel),
        verdict=_judgement(spots[0]),
        tests=tuple(describe_test(test, ranks[name]) for name, test in test_of.items()),
        hot_spots=tuple(spots),
        impact_indication=impact,
        options=_options(request, design.overrides),
        convergence=ConvergenceFindings(
            settled=convergence.settled,
            reason=source.fixed or convergence.reason,
            meshes=tuple(_mesh_step(trial) for trial in convergence.meshes),
        ),
        mesh_requirements=describe_requirements(wheel, spots),
    )


def _judgement(worst: HotSpot) -> Judgement:
    """Verdict on the first hot spot, by its unrounded margin."""
    verdict = judge(worst.margin)
    return Judgement(
        word=verdict,
        rule=verdict.rule,
        clears_from_margin=CLEARS,
        worst_margin=worst.margin,
        worst_test=worst.test,
        worst_place=worst.place,
        worst_copies=worst.copies,
    )


def _options(request: Request, overrides: Mapping[str, Any]) -> RunOptions:
    return RunOptions(
        fineness=request.fineness,
        tolerance=request.tolerance,
        most_meshes=request.meshes,
        most_unknowns=RefinementLimits.unknowns,
        finer_meshes="made anew" if request.remesh else "cells halved in place",
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
                test=spot.label,
                equivalent_mpa=spot.value,
                edge_mm=spot.edge,
                move=move if isfinite(move) else None,
            )
            for spot, move in zip(trial.spots, trial.moves, strict=True)
        ),
    )
