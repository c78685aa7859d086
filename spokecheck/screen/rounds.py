"""One round of a screening: a mesh, all tests solved on it, and the hot spots found.

The first round meshes and solves the whole wheel.
A later one halves cells about the hot spots and solves again around them, or, as an
independent check, has the wheel meshed anew with finer edges there.
"""

from collections import ChainMap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from scipy.spatial import cKDTree

from spokecheck.cases.procedure import Requirement, Setup
from spokecheck.errors import ModelError
from spokecheck.fem.body import Elastic
from spokecheck.fem.parallel import run_parallel
from spokecheck.screen.adapt import Convergence, merged
from spokecheck.screen.hotspots import FirstMeshValues, Surface, outer_surface
from spokecheck.screen.loaded import (
    LoadedCase,
    load_refined,
    load_wheel,
    wheel_body,
)
from spokecheck.screen.local_mesh import gauged
from spokecheck.screen.local_refinement import refine_locally
from spokecheck.screen.ranking import rank, worst_first
from spokecheck.screen.request import Request
from spokecheck.screen.results import Screening, TestResult
from spokecheck.screen.stages import StageClock
from spokecheck.screen.verdict import judge
from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.source import Source


@dataclass(frozen=True)
class Job:
    """What one screening is to do.

    Attributes
    ----------
    source : Source
        What the wheel is made of.
    request : Request
    wanted : sequence of Requirement
        Levels of the tests.
    clock : StageClock
    """

    source: Source
    request: Request
    wanted: Sequence[Requirement]
    clock: StageClock

    @property
    def largest(self) -> dict[Setup, Requirement]:
        """Each test at its largest load, in the order of the tests."""
        by_load = sorted(self.wanted, key=lambda requirement: requirement.load)
        largest = {requirement.setup: requirement for requirement in by_load}
        order = dict.fromkeys(requirement.setup for requirement in self.wanted)
        return {setup: largest[setup] for setup in order}


@dataclass(frozen=True)
class Round:
    """One mesh, what was solved on it, and what was found.

    Attributes
    ----------
    elastic : Elastic
        Constants of its cells.
    loaded : dict of Setup to LoadedCase
    spheres : tuple of Refinement
        Where the mesher was told to mesh finer.
    screening : Screening
    """

    elastic: Elastic
    loaded: Mapping[Setup, LoadedCase]
    spheres: tuple[Refinement, ...]
    screening: Screening


def on_finer_cells(
    job: Job, before: Round | None, spheres: tuple[Refinement, ...]
) -> Round:
    """Solve the whole wheel at first, then again only where its mesh became finer."""
    if before is None:
        return on_new_mesh(job, before, spheres)
    job.clock.begin("finer cells")
    coarse = before.screening.wheel
    closer = refine_locally(coarse.mesh, coarse.cyclic, before.elastic, spheres)
    wheel = closer.on(coarse)

    def solve(surface: Surface, requirement: Requirement) -> LoadedCase:
        solved = before.loaded[requirement.setup]
        return load_refined(wheel, surface, closer, solved, requirement)

    return _round(job, wheel, closer.elastic, solve, before.screening)


def on_new_mesh(
    job: Job, before: Round | None, spheres: tuple[Refinement, ...]
) -> Round:
    """Mesh the wheel anew, finer where asked for, and solve the whole of it."""
    job.clock.begin("mesh")
    spheres = merged(before.spheres if before else (), spheres)
    source = job.source.like(before.screening.wheel) if before else job.source
    wheel = source.build(Fineness(job.request.fineness), spheres)
    job.clock.begin("stiffness")
    body = wheel_body(wheel)

    def solve(surface: Surface, requirement: Requirement) -> LoadedCase:
        return load_wheel(wheel, surface, body, requirement)

    seen = before.screening if before else None
    return replace(_round(job, wheel, body.elastic, solve, seen, True), spheres=spheres)


def _round(
    job: Job,
    wheel: Wheel,
    elastic: Elastic,
    solve: Callable[[Surface, Requirement], LoadedCase],
    before: Screening | None,
    anew: bool = False,
) -> Round:
    """Solve and rank all tests on one mesh, of which all or some is new."""
    surface, largest = outer_surface(wheel), job.largest
    job.clock.begin(" and ".join(setup.test for setup in largest))
    known = _known(wheel, surface, before, len(job.wanted), anew)

    def ranked(setup: Setup) -> tuple[LoadedCase, dict[int, TestResult]]:
        loaded = solve(surface, largest[setup])
        return loaded, {
            k: rank(wheel, surface, loaded, r, job.request.other_criteria, *known[k])
            for k, r in enumerate(job.wanted)
            if r.setup == setup
        }

    done = run_parallel([partial(ranked, setup) for setup in largest])
    found = dict(ChainMap(*(results for _, results in done)))
    tests = gauged(wheel, [found[k] for k in range(len(job.wanted))])
    spots = worst_first(spot for test in tests for spot in test.spots)
    if not spots:
        raise ModelError(f"{wheel.design.name}: no surface point is stressed")
    once = Convergence(job.request.tolerance, (), False, "")
    verdict = judge(spots[0].margin)
    screening = Screening(wheel, surface, tests, spots, verdict, {}, job.request, once)
    loaded = {setup: one for setup, (one, _) in zip(largest, done, strict=True)}
    return Round(elastic, loaded, (), screening)


def _known(
    wheel: Wheel, surface: Surface, before: Screening | None, tests: int, anew: bool
) -> list[tuple[FloatArray | None, FirstMeshValues | None]]:
    """What meshes before told of each test at the points of a surface.

    Utilisation on the mesh before, unless all is new, and what there was at first; each
    at the nearest point of the mesh before.
    """
    if before is None:
        return [(None, None)] * tests
    old = before.wheel.mesh.points[before.surface.nodes]
    _, near = cKDTree(old).query(wheel.mesh.points[surface.nodes])
    return [
        (
            None if anew else test.utilisation[near],
            FirstMeshValues(test.first_mesh.values[near], test.first_mesh.edges[near]),
        )
        for test in before.tests
    ]
