"""The whole chain, from a design to a ranked list of hot spots: the map of the house.

design -> wheel -> body -> load cases -> stress histories -> hot spots -> verdict,
and again with finer cells about the first hot spots until they have settled.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from functools import partial

from spokecheck.cases.impact import drop
from spokecheck.cases.library import read_procedures
from spokecheck.cases.procedure import requirements
from spokecheck.errors import InputError
from spokecheck.screen.adapt import Convergence, RefinementLimits, converge
from spokecheck.screen.conclude import conclude
from spokecheck.screen.error_bars import gap_between, tracked_spots
from spokecheck.screen.hotspots import MERGE_RADIUS
from spokecheck.screen.impact_indication import indicate_impact
from spokecheck.screen.loaded import wheel_body
from spokecheck.screen.request import Request
from spokecheck.screen.results import Fields, Screening
from spokecheck.screen.rounds import (
    Job,
    Round,
    most_unknowns,
    on_finer_cells,
    solved_whole,
)
from spokecheck.screen.stages import Progress, StageClock
from spokecheck.screen.tracked_spots import TrackedSpot
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.source import Drawn, Source
from spokecheck.wheel.tables.design import Brief, Design


def screen(
    wheel: Design | Source,
    request: Request | None = None,
    progress: Progress = lambda stage: None,
    while_meshing: Callable[[], AbstractContextManager[None]] = nullcontext,
) -> Screening:
    """Screen one wheel.

    Parameters
    ----------
    wheel : Design or Source
        A design without faults, or whatever else a wheel can be made of.
    request : Request, optional
        How to screen.  Values that it gives in place of keys of the design must have
        been given to ``read_design`` too.
    progress : callable, optional
        Called with the name of each stage as it begins.
    while_meshing : callable, optional
        Gives the block in which the mesher works, a process of its own, so that this
        one can do something else.

    Returns
    -------
    Screening
        On the finest mesh, with an error bar for each hot spot.

    Raises
    ------
    SpokecheckError
        If the wheel cannot be meshed or solved.
    """
    request = request or Request()
    source = Drawn(wheel) if isinstance(wheel, Design) else wheel
    if request.drawing and isinstance(source, Drawn):
        source = replace(source, drawing=request.drawing)
    if request.whole:
        source = source.undivided()
    design = source.brief
    _check_overrides(design, request)
    book = read_procedures(request.procedure_file)
    levels = requirements(design, book=book)
    fall = drop(design, (), book) if request.impact else None
    clock = StageClock(progress)
    job = Job(source, Fineness(request.fineness), levels, clock, while_meshing)
    with job.kept:
        last, convergence = _refined(job, request)
    impact = None
    if fall is not None:
        clock.begin("impact")
        body = wheel_body(last.wheel)
        impact = indicate_impact(last.wheel, body, last.surface, fall)
    findings = conclude(source, request, last, convergence, impact)
    utilisation = {test.requirement.name: test.utilisation for test in last.tests}
    fields = Fields(last.wheel, last.surface, utilisation)
    return Screening(findings, fields, clock.end())


def _refined(job: Job, request: Request) -> tuple[Round, Convergence]:
    """Round after round, until the hot spots have settled."""
    source = job.source
    first = on_finer_cells(job, None, ())
    limits = RefinementLimits(
        tolerance=request.tolerance,
        meshes=1 if source.fixed else request.meshes,
        unknowns=most_unknowns(first.wheel),
        places=request.places,
    )

    def trial(before: Round | None, spheres: tuple[Refinement, ...]) -> Round:
        return first if before is None else on_finer_cells(job, before, spheres)

    def watch(last: Round) -> tuple[int, list[TrackedSpot]]:
        spots = tracked_spots(last.wheel, last.spots, not last.whole)
        return 3 * last.wheel.mesh.n_points, spots

    return converge(
        trial,
        watch,
        gap_between,
        limits,
        MERGE_RADIUS,
        partial(solved_whole, job),
    )


def _check_overrides(design: Brief, request: Request) -> None:
    """Refuse a request that asks for another design than the one read.

    Raises
    ------
    InputError
        Naming each value that was left out when the design was read.
    """
    missing = [
        f"{key} = {value}"
        for key, value in request.overrides.items()
        if key not in design.overrides
    ]
    if missing:
        raise InputError(
            f"{design.name}: {', '.join(missing)} asked for, but the design was read "
            "without it; give the request's overrides to read_design"
        )
