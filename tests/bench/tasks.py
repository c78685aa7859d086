"""What a child process of the benchmark does: one task, told as JSON on one line."""

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from spokecheck.fem.memory import keep_freed_memory
from tests.bench.measure import Clock, peak_mib

Told = dict[str, Any]

REPEATS, ENOUGH = 3, 8.0
"""A piece of work is done again until it was done so often or took so much CPU time
[s]; the run with the least CPU time counts, for every side alike."""


def best(work: Callable[[Clock], Any]) -> tuple[Any, Told]:
    """Result of some work, and the times of its best run."""
    runs: list[Clock] = []
    start = time.process_time()
    while True:
        clock = Clock()
        result = work(clock)
        runs.append(clock)
        if len(runs) == REPEATS or time.process_time() - start > ENOUGH:
            break
    return result, min(runs, key=lambda run: sum(run.cpu.values())).told()


def gap(actual: Any, expected: Any) -> float:
    """Largest difference of two fields over the largest value."""
    return float(np.abs(actual - expected).max() / np.abs(expected).max())


def stages(design: str) -> Told:
    """A whole default screening of one design, numbers only."""
    from spokecheck.run.write import write_outputs
    from spokecheck.screen.pipeline import screen
    from spokecheck.wheel.reading.read import read_design

    found = screen(read_design(Path(design)))
    with TemporaryDirectory() as folder:
        write_outputs(found, Path(folder))
    return {
        "design": Path(design).stem,
        "sectors": found.wheel.cyclic.count,
        "passes": len(found.findings.convergence.meshes),
        "settled": found.findings.convergence.settled,
        "unknowns": 3 * found.wheel.mesh.n_points,
        "stages_wall_s": found.seconds,
    }


def against_scipy(fineness: float) -> Told:
    """Order 0 on a sector: ours, and scikit-fem with SciPy's direct solver."""
    from tests.bench import against_skfem as theirs
    from tests.bench.models import sector, solve_ours

    wheel = sector(fineness)
    case, model = theirs.inflation(wheel), theirs.their_model(wheel)
    u, times = best(lambda clock: solve_ours(wheel, case, clock))
    told: Told = {"unknowns": 3 * wheel.mesh.n_points, "ours": times}
    for solver in theirs.SOLVERS:

        def work(clock: Clock, solver: str = solver) -> Any:
            return theirs.solve_with_scipy(wheel, case, model, solver, clock)

        v, told[solver] = best(work)
        told[solver]["gap"] = gap(v, u[0])
    return told


def against_compiled(fineness: float, threads: int) -> Told:
    """Cornering: our sector and our whole wheel, and NGSolve's whole wheel."""
    from tests.bench.against_ngsolve import solve_theirs
    from tests.bench.models import cornering, sector, solve_ours, whole

    part = sector(fineness)
    full, number = whole(part)
    u, ours_part = best(lambda clock: solve_ours(part, cornering(part), clock))
    case = cornering(full)
    U, ours_full = best(lambda clock: solve_ours(full, case, clock))
    (V, corners), theirs = best(lambda c: solve_theirs(full, case, c, threads))
    theirs["gap"] = gap(V, U[0][corners])
    ours_part["gap"] = gap(u[0], U[0][number[0]])
    return {
        "threads": threads,
        "unknowns_sector": 3 * part.mesh.n_points,
        "unknowns_whole": 3 * full.mesh.n_points,
        "sector": ours_part,
        "whole": ours_full,
        "compiled": theirs,
    }


def sector_against_whole(fineness: float) -> Told:
    """Both tests on the sector and on the whole wheel, the same code."""
    from tests.bench.models import cornering, drum, sector, solve_ours, whole

    part = sector(fineness)
    full, number = whole(part)
    told: Told = {
        "unknowns_sector": 3 * part.mesh.n_points,
        "unknowns_whole": 3 * full.mesh.n_points,
    }
    for name, make in (("cornering", cornering), ("radial", drum)):
        cases = make(part), make(full)
        u, small = best(lambda c, case=cases[0]: solve_ours(part, case, c))
        U, large = best(lambda c, case=cases[1]: solve_ours(full, case, c))
        small["gap"] = gap(u, U[:, number[0]])
        told[name] = {"sector": small, "whole": large, "orders": len(u)}
    return told


def joined_against_whole(design: str, spokes: int, bolts: int) -> Told:
    """Both tests on two parts joined and on the same mesh by one factor, and NGSolve.

    The compiled library solves cornering on the whole wheel.
    """
    from tests.bench.against_ngsolve import solve_theirs
    from tests.bench.models import (
        cornering,
        drum,
        solve_joined,
        solve_ours,
        two_parts,
        whole,
    )

    wheel = two_parts(Path(design), spokes, bolts)
    told: Told = {
        "wheel": f"{Path(design).stem}, {spokes} on {bolts}",
        "sectors": wheel.cyclic.count,
        "unknowns": 3 * wheel.mesh.n_points,
    }
    for name, make in (("cornering", cornering), ("radial", drum)):
        case = make(wheel)
        u, small = best(lambda c, case=case: solve_joined(wheel, case, c))
        if "peak_mib" not in told:
            told["peak_mib"] = peak_mib()
        v, large = best(lambda c, case=case: solve_ours(wheel, case, c))
        small["gap"] = gap(u, v)
        told[name] = {"joined": small, "whole": large, "orders": len(u)}
        if name == "cornering":
            # joined wheels of two sectors are copied round for the library
            full = wheel if wheel.cyclic.count == 1 else whole(wheel)[0]
            case = make(full)
            _, told["compiled"] = best(
                lambda c, w=full, k=case: solve_theirs(w, k, c, 1)
            )
    return told


def scaling(fineness: float, known: list[float] | None, most_mib: float) -> Told:
    """Cornering on a sector of some fineness, unless memory would not do.

    ``known`` is a smaller mesh's unknowns and peak memory, and the exponent to expect.
    """
    from tests.bench.models import cornering, sector, solve_ours

    wheel = sector(fineness)
    told: Told = {"fineness": fineness, "unknowns": 3 * wheel.mesh.n_points}
    if known is not None:
        unknowns, peak, power = known
        need = peak * (told["unknowns"] / unknowns) ** power
        if need > most_mib:
            reason = f"would need {need:.0f} MiB of {most_mib:.0f} MiB at hand"
            return {**told, "skipped": reason}
    clock = Clock()
    solve_ours(wheel, cornering(wheel), clock)
    return {**told, **clock.told(), "peak_mib": peak_mib()}


TASKS: dict[str, Callable[..., Told]] = {
    task.__name__: task
    for task in (
        stages,
        against_scipy,
        against_compiled,
        sector_against_whole,
        joined_against_whole,
        scaling,
    )
}

if __name__ == "__main__":  # the mesher's own process imports this file too
    keep_freed_memory()  # as the command does, for either side
    print(json.dumps(TASKS[sys.argv[1]](**json.loads(sys.argv[2]))))
