"""The whole chain, from a design to a ranked list of hot spots: the map of the house.

design -> wheel -> body -> load cases -> stress histories -> hot spots -> verdict,
and again with finer cells about the first hot spots until they stand still.
"""

from dataclasses import replace
from functools import partial

from spokecheck.cases.impact import drop
from spokecheck.cases.library import read_procedures
from spokecheck.cases.procedure import requirements
from spokecheck.errors import InputError
from spokecheck.screen.adapt import RefinementLimits, converge
from spokecheck.screen.error_bars import gap_of, tracked_spots, with_bars
from spokecheck.screen.hotspots import MERGE_RADIUS
from spokecheck.screen.impact_indication import indicate_impact
from spokecheck.screen.loaded import wheel_body
from spokecheck.screen.request import Request
from spokecheck.screen.results import Screening
from spokecheck.screen.rounds import Job, Round, on_finer_cells, on_new_mesh
from spokecheck.screen.stages import Progress, StageClock
from spokecheck.screen.tracked_spots import TrackedSpot
from spokecheck.wheel.source import Drawn, Source
from spokecheck.wheel.tables.design import Brief, Design


def screen(
    wheel: Design | Source,
    request: Request | None = None,
    progress: Progress = lambda stage: None,
) -> Screening:
    """Screen one wheel.

    Parameters
    ----------
    wheel : Design or Source
        A design without faults, or whatever else a wheel can be made of.
    request : Request, optional
        How to screen; what it gives in place of keys of the design stands there since
        the design was read.
    progress : callable, optional
        Told the name of each stage as it begins.

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
    design = source.brief
    _check_overrides(design, request)
    book = read_procedures(request.procedure_file)
    wanted = requirements(design, book=book)
    fall = drop(design, (), book) if request.impact else None
    job = Job(source, request, wanted, StageClock(progress))
    most = 1 if source.fixed else request.meshes
    limits = RefinementLimits(request.tolerance, most)
    trial = partial(on_new_mesh if request.remesh else on_finer_cells, job)

    def watch(last: Round) -> tuple[int, list[TrackedSpot]]:
        return tracked_spots(last.screening)

    last, convergence = converge(trial, watch, gap_of(design), limits, MERGE_RADIUS)
    found = last.screening
    if source.fixed:
        convergence = replace(convergence, reason=source.fixed)
    if fall is not None:
        job.clock.begin("impact")
        body = wheel_body(found.wheel)
        struck = indicate_impact(found.wheel, body, found.surface, fall)
        found = replace(found, impact=struck)
    return with_bars(found, convergence, job.clock.end())


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
