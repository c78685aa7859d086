"""The whole chain, from a design to a ranked list of hot spots: the map of the house.

design -> wheel -> body -> load cases -> stress histories -> hot spots -> verdict,
and again on a finer mesh until the first hot spots stand still.
"""

from collections import ChainMap
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from spokecheck.cases.impact import drop
from spokecheck.cases.procedure import Requirement, Setup, requirements
from spokecheck.errors import ModelError
from spokecheck.screen.abreast import abreast
from spokecheck.screen.adapt import Convergence, converge
from spokecheck.screen.bars import gap_of, watched_spots, with_bars
from spokecheck.screen.gauge import gauged
from spokecheck.screen.hotspots import MERGE_RADIUS, outer_surface
from spokecheck.screen.impact import indicate_impact
from spokecheck.screen.loaded import design_bead, load_wheel, wheel_body
from spokecheck.screen.options import Options
from spokecheck.screen.ranking import rank, worst_first
from spokecheck.screen.results import Screening, TestResult
from spokecheck.screen.stages import Progress, StageClock
from spokecheck.screen.verdict import judge
from spokecheck.wheel.design import Design
from spokecheck.wheel.kernel.task import Refinement
from spokecheck.wheel.source import Drawn, Source


def screen(
    wheel: Design | Source,
    options: Options | None = None,
    progress: Progress = lambda stage: None,
) -> Screening:
    """Screen one wheel.

    Parameters
    ----------
    wheel : Design or Source
        A design without faults, or whatever else a wheel can be made of.
    options : Options, optional
        How to screen.
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
    options = options or Options()
    source = Drawn(wheel) if isinstance(wheel, Design) else wheel
    design = source.brief
    wanted = requirements(design, options.procedures, options.book)
    fall = drop(design, options.procedures, options.book) if options.impact else None
    clock = StageClock(progress)
    trial = partial(_screen_once, source, options, wanted, clock)
    limits = replace(options.limits, passes=1) if source.fixed else options.limits
    found, convergence = converge(
        trial, watched_spots, gap_of(design), limits, MERGE_RADIUS
    )
    if source.fixed:
        convergence = replace(convergence, reason=source.fixed)
    if fall is not None:
        clock.begin("impact")
        body = wheel_body(found.wheel)
        struck = indicate_impact(found.wheel, body, found.surface, fall)
        found = replace(found, impact=struck)
    return with_bars(found, convergence, clock.end())


def _screen_once(
    source: Source,
    options: Options,
    wanted: Sequence[Requirement],
    clock: StageClock,
    refinements: tuple[Refinement, ...],
) -> Screening:
    """Screen on one mesh."""
    design = source.brief
    bead = design_bead(design, options.half_angle)
    clock.begin("mesh")
    wheel = source.build(options.fineness, refinements)
    clock.begin("stiffness")
    body = wheel_body(wheel)
    surface = outer_surface(wheel)
    setups = tuple(dict.fromkeys(r.setup for r in wanted))
    clock.begin(" and ".join(setup.test for setup in setups))

    def ranked(setup: Setup) -> dict[int, TestResult]:
        levels = {k: r for k, r in enumerate(wanted) if r.setup == setup}
        largest = max(levels.values(), key=lambda r: r.load)
        loaded = load_wheel(wheel, body, surface, largest, bead, options.clamped)
        return {
            k: rank(wheel, surface, loaded, r, options.beside)
            for k, r in levels.items()
        }

    found = dict(ChainMap(*abreast([partial(ranked, setup) for setup in setups])))
    tests = gauged(wheel, [found[k] for k in range(len(wanted))])
    spots = worst_first(spot for test in tests for spot in test.spots)
    if not spots:
        raise ModelError(f"{design.name}: no surface point is stressed by any test")
    verdict = judge(spots[0].margin)
    once = Convergence(options.limits.tolerance, (), False, "")
    return Screening(wheel, surface, tests, spots, verdict, {}, options, once)
