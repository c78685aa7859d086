"""One round of a screening: a mesh, all tests solved on it, and their hot spots.

The first round meshes and solves the whole wheel.
A later one halves cells about the hot spots and solves again around them; the last mesh
is then solved as a whole, since the held edge of the local solutions is too stiff: by
turns with the last that was, whose factors are kept, if the places of halved cells are
few.
Where most of a wheel joined of two parts becomes finer, both sectors do, and it stays
joined.
"""

from collections import ChainMap
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from scipy.spatial import cKDTree

from spokecheck.cases.procedure import Requirement, Setup
from spokecheck.errors import ModelError
from spokecheck.fem.body import Elastic
from spokecheck.fem.composite import Solve
from spokecheck.fem.local_halving import CoarseSpot
from spokecheck.fem.parallel import LostCopyError, run_and_keep
from spokecheck.screen.adapt import RefinementLimits, merged
from spokecheck.screen.hotspots import (
    FirstMeshValues,
    Surface,
    equal_images,
    outer_surface,
)
from spokecheck.screen.loaded import (
    LoadedCase,
    load_composite,
    load_refined,
    load_wheel,
    wheel_body,
)
from spokecheck.screen.local_mesh import SpotGauge
from spokecheck.screen.local_refinement import refine_locally
from spokecheck.screen.part_refinement import refine_parts
from spokecheck.screen.ranking import (
    EarlierValues,
    RankedSpot,
    RankedTest,
    rank,
    worst_first,
)
from spokecheck.screen.solved_bodies import KeptSolvers, SolvedBody
from spokecheck.screen.stages import StageClock
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.shape.way import JOINED
from spokecheck.wheel.source import Source

LARGE = 0.3
"""A first refinement of which more cells than this share are to be solved again is
solved as a whole at once: that costs twice as much, and the last mesh is solved as a
whole in any case, which for most wheels it is."""


MOST_PLACES = 0.5
"""Places that hold more than this share of a finer mesh's cells are not solved by turns
with the body before: their own factor would cost as much as the whole mesh's."""

MOST_KEPT = 250_000
"""Factors of meshes of more unknowns are not kept: they take 3 GiB and more for each
test.  Those of a wheel joined of two parts are small."""

MOST_JOINED = 2_000_000
"""No mesh of a wheel joined of two parts is expected to have more unknowns: only two of
its sectors and a few places are factored."""

Solution = tuple[LoadedCase, Solve | None]
"""A solved test, and what solves its body again, if that is to be kept."""


@dataclass(frozen=True)
class Job:
    """What one screening is to do.

    Attributes
    ----------
    source : Source
        What the wheel is made of.
    fineness : Fineness
        How fine its first mesh is.
    requirements : sequence of Requirement
        Levels of the tests.
    clock : StageClock
    while_meshing : callable
        Gives the block in which the mesher works.
    kept : KeptSolvers
        Factors of the last mesh that was solved as a whole.
    """

    source: Source
    fineness: Fineness
    requirements: Sequence[Requirement]
    clock: StageClock
    while_meshing: Callable[[], AbstractContextManager[None]] = nullcontext
    kept: KeptSolvers = field(default_factory=KeptSolvers, repr=False)

    @property
    def largest(self) -> dict[Setup, Requirement]:
        """Each test at its largest load, in the order of the tests."""
        by_load = sorted(self.requirements, key=lambda requirement: requirement.load)
        largest = {requirement.setup: requirement for requirement in by_load}
        order = dict.fromkeys(requirement.setup for requirement in self.requirements)
        return {setup: largest[setup] for setup in order}


@dataclass(frozen=True, kw_only=True)
class Round:
    """One mesh, what was solved on it, and its hot spots.

    Attributes
    ----------
    wheel : Wheel
        Meshed wheel.
    surface : Surface
        Its outer surface.
    elastic : Elastic
        Constants of its cells.
    loaded : dict of Setup to LoadedCase
    tests : tuple of RankedTest
        In the order of the procedure.
    given_up : tuple of CoarseSpot
        Places of this mesh, and of those before, whose cells had to stay whole.
    whole : bool
        Whether all of it was solved, not only about the refined spots.
    last_whole : SolvedBody or None
        Of the last round solved by a factor of the whole mesh, if that was kept.
    left : int
        Places that this mesh has left coarse since the ring is in the way.
    """

    wheel: Wheel
    surface: Surface = field(repr=False)
    elastic: Elastic = field(repr=False)
    loaded: Mapping[Setup, LoadedCase] = field(repr=False)
    tests: tuple[RankedTest, ...]
    given_up: tuple[CoarseSpot, ...] = ()
    whole: bool = True
    last_whole: SolvedBody | None = field(default=None, repr=False)
    left: int = 0

    @property
    def spots(self) -> tuple[RankedSpot, ...]:
        """Hot spots of all tests, worst first."""
        return worst_first(spot for test in self.tests for spot in test.spots)


def on_finer_cells(
    job: Job, before: Round | None, spheres: tuple[Refinement, ...]
) -> Round:
    """Solve the whole wheel at first, then again only where its mesh became finer."""
    if before is None:
        return _on_first_mesh(job)
    job.clock.begin("finer cells")
    coarse, solved = before.wheel, before.loaded
    spheres = with_equal_images(coarse, spheres)
    true = coarse.true_surfaces
    refined = refine_locally(coarse.mesh, coarse.cyclic, before.elastic, spheres, true)
    wheel = refined.on(coarse)
    given_up = (*before.given_up, *refined.given_up)
    last_whole = before.last_whole and before.last_whole.finer(refined)
    if before.whole and refined.near.region.mesh.n_cells > LARGE * wheel.mesh.n_cells:
        if coarse.joined is not None:
            parts = refine_parts(coarse, coarse.joined, before.elastic, spheres)
            # places that the ring has left before are not left again
            if parts is not None and not (before.left and parts.left):
                given_up = (*before.given_up, *parts.given_up)
                after = replace(before, given_up=given_up, left=parts.left)
                return _solve_all(job, parts.wheel, after)
        before = replace(before, given_up=given_up, last_whole=last_whole)
        return _solve_finer(job, wheel, refined.elastic, before)

    _ = refined.near.stiffness  # made before processes are copied, which all use it

    def solve(surface: Surface, requirement: Requirement) -> Solution:
        coarse_case = solved[requirement.setup]
        return load_refined(wheel, surface, refined, coarse_case, requirement), None

    surface = outer_surface(wheel)
    earlier = _earlier(wheel, surface, before)
    loaded, tests = _solve_and_rank(job, wheel, surface, solve, earlier)
    return Round(
        wheel=wheel,
        surface=surface,
        elastic=refined.elastic,
        loaded=loaded,
        tests=tests,
        given_up=given_up,
        whole=False,
        last_whole=last_whole,
    )


def solved_whole(job: Job, before: Round) -> Round | None:
    """The mesh of a round solved as a whole, nothing held; None if it already was."""
    if before.whole:
        return None
    return _solve_finer(job, before.wheel, before.elastic, before)


def _on_first_mesh(job: Job) -> Round:
    """Mesh the wheel and solve the whole of it."""
    job.clock.begin("mesh")
    with job.while_meshing():
        wheel = job.source.build(job.fineness)
    return _solve_all(job, wheel, None)


def _solve_finer(job: Job, wheel: Wheel, elastic: Elastic, before: Round) -> Round:
    """Solve and rank the whole of a mesh of finer cells.

    By way of the last whole one if its factors were kept and the places of halved cells
    are few; else, and if the two do not settle with each other, by a factor of its own.
    """
    last = before.last_whole
    if last is None:
        return _solve_all(job, wheel, before)
    job.clock.begin("stiffness")
    composite, surface = last.composite(wheel, elastic), outer_surface(wheel)
    places = composite.places()
    if places.near.region.mesh.n_cells > MOST_PLACES * wheel.mesh.n_cells:
        return _solve_all(job, wheel, before)
    # made before processes are copied, which all use them
    _ = places.near.stiffness, places.coarse_stiffness

    def solve(surface: Surface, requirement: Requirement) -> Solution:
        setup = requirement.setup
        solved, misfit = last.solved(setup, job.kept[setup]), last.loaded[setup].balance
        return load_composite(
            wheel, surface, composite, places, solved, misfit, requirement
        ), None

    earlier = _earlier(wheel, surface, before, True)
    try:
        loaded, tests = _solve_and_rank(job, wheel, surface, solve, earlier)
    except (ModelError, LostCopyError):
        return _solve_all(job, wheel, before)
    return replace(
        before,
        wheel=wheel,
        surface=surface,
        elastic=elastic,
        loaded=loaded,
        tests=tests,
        whole=True,
    )


def _solve_all(job: Job, wheel: Wheel, before: Round | None) -> Round:
    """Assemble, solve and rank a whole wheel."""
    job.clock.begin("stiffness")
    job.kept.keep({})
    body, surface = wheel_body(wheel), outer_surface(wheel)
    small = 3 * wheel.mesh.n_points <= MOST_KEPT
    keep = small or body.joined is not None

    def solve(surface: Surface, requirement: Requirement) -> Solution:
        loaded, again = load_wheel(wheel, surface, body, requirement)
        return loaded, again if keep else None

    earlier = None if before is None else _earlier(wheel, surface, before, True)
    loaded, tests = _solve_and_rank(job, wheel, surface, solve, earlier)
    return Round(
        wheel=wheel,
        surface=surface,
        elastic=body.elastic,
        loaded=loaded,
        tests=tests,
        given_up=before.given_up if before else (),
        last_whole=SolvedBody.of(body, loaded) if keep else None,
        left=before.left if before else 0,
    )


def most_unknowns(wheel: Wheel) -> int:
    """Limit of a wheel's unknowns, by the way it is solved."""
    return MOST_JOINED if wheel.way.name == JOINED else RefinementLimits.unknowns


def with_equal_images(
    wheel: Wheel, spheres: Iterable[Refinement]
) -> tuple[Refinement, ...]:
    """Refinement spheres, and the same about the equal images that were meshed.

    So places that are equal by symmetry are refined alike, and agree.
    """
    tree = cKDTree(wheel.mesh.points)
    images = []
    for sphere in spheres:
        centres = equal_images(wheel, np.array(sphere.centre))
        gaps, _ = tree.query(centres)
        # copies turned by a sector lie outside the mesh
        images += [
            replace(sphere, centre=(float(x), float(y), float(z)))
            for (x, y, z), gap in zip(centres, gaps, strict=True)
            if gap < sphere.size
        ]
    return merged(images)


def _solve_and_rank(
    job: Job,
    wheel: Wheel,
    surface: Surface,
    solve: Callable[[Surface, Requirement], Solution],
    earlier: Sequence[EarlierValues] | None,
) -> tuple[dict[Setup, LoadedCase], tuple[RankedTest, ...]]:
    """Solve all tests on one mesh and rank their hot spots, tests in parallel.

    What solves them again is kept.
    """
    largest, gauge = job.largest, SpotGauge(wheel)
    job.clock.begin(" and ".join(setup.test for setup in largest))

    def one_setup(
        setup: Setup,
    ) -> tuple[tuple[LoadedCase, dict[int, RankedTest]], Solve | None]:
        loaded, again = solve(surface, largest[setup])
        ranked = {
            k: rank(wheel, surface, loaded, r, gauge, earlier[k] if earlier else None)
            for k, r in enumerate(job.requirements)
            if r.setup == setup
        }
        return (loaded, ranked), again

    done, again = run_and_keep([partial(one_setup, setup) for setup in largest])
    solvers = {setup: one for setup, one in zip(largest, again, strict=True) if one}
    if solvers:
        job.kept.keep(solvers)
    by_number = ChainMap(*(ranked for _, ranked in done))
    loaded = {setup: one for setup, (one, _) in zip(largest, done, strict=True)}
    return loaded, tuple(by_number[k] for k in range(len(job.requirements)))


def _earlier(
    wheel: Wheel, surface: Surface, before: Round, all_new: bool = False
) -> list[EarlierValues]:
    """What earlier meshes gave in each test, at the nearest point of the one before."""
    points = before.wheel.mesh.points[before.surface.nodes]
    _, near = cKDTree(points).query(wheel.mesh.points[surface.nodes])
    return [
        EarlierValues(
            None if all_new else test.utilisation[near],
            FirstMeshValues(test.first_mesh.values[near], test.first_mesh.edges[near]),
        )
        for test in before.tests
    ]
