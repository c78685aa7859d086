"""Many designs, on all cores; one that fails costs nothing but itself."""

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from spokecheck.errors import ComputationError, SpokecheckError
from spokecheck.fem.threads import single_threaded
from spokecheck.scratch import sweep_scratch
from spokecheck.worker_pool import Result, WorkerLostError, run_apart

T = TypeVar("T")


@dataclass(frozen=True)
class Outcome(Generic[T]):
    """What became of one design file.

    Attributes
    ----------
    path : Path
        The file.
    value : T or None
        What the job returned.
    error : SpokecheckError or None
        Why there is no value.
    """

    path: Path
    value: T | None = None
    error: SpokecheckError | None = None


def run_batch(
    paths: Sequence[Path],
    job: Callable[[Path, Callable[[str], None]], T],
    workers: int | None = None,
    progress: Callable[[str], None] = lambda stage: None,
    meanwhile: Callable[[], None] = lambda: None,
) -> Iterator[Outcome[T]]:
    """Run a job on every design file, apart from this process.

    Parameters
    ----------
    paths : sequence of Path
        Design files.
    job : callable
        Picklable; from a path, and a function that takes the names of stages, to a
        picklable value.  Its ``SpokecheckError`` becomes the outcome's error.
    workers : int, optional
        Processes; as many as cores if not given.
    progress : callable
        Called with each stage that a job begins.
    meanwhile : callable
        Called once all workers have begun.

    Yields
    ------
    Outcome
        As they finish.
    """
    sweep_scratch()
    try:
        with single_threaded():
            count = workers or os.cpu_count() or 1
            for result in run_apart(paths, job, count, progress, meanwhile):
                yield _outcome(paths[result.number], result)
    finally:
        sweep_scratch()


def _outcome(path: Path, result: Result[T]) -> Outcome[T]:
    match result.error:
        case None:
            return Outcome(path, value=result.value)
        case SpokecheckError() as error:
            return Outcome(path, error=error)
        case WorkerLostError() | MemoryError() as loss:
            reason = str(loss) or "out of memory"
            message = f"{path}: the computation was ended from outside ({reason})"
            return Outcome(
                path, error=ComputationError(f"{message}; use fewer workers")
            )
        case surprise:  # the wall between designs: one costs only itself
            message = f"{path}: unexpected {type(surprise).__name__}: {surprise}"
            return Outcome(path, error=ComputationError(f"{message}; please report it"))


def in_order(paths: Iterable[Path], outcomes: Iterable[Outcome[T]]) -> list[Outcome[T]]:
    """Outcomes sorted as their paths were given."""
    by_path = {outcome.path: outcome for outcome in outcomes}
    return [by_path[path] for path in paths if path in by_path]
