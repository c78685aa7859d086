"""Many designs, on all cores; one that fails costs nothing but itself."""

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Generic, TypeVar

from spokecheck.errors import ComputationError, SpokecheckError
from spokecheck.fem.threads import single_threaded

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
    paths: Sequence[Path], job: Callable[[Path], T], workers: int | None = None
) -> Iterator[Outcome[T]]:
    """Run a job on every design file.

    Parameters
    ----------
    paths : sequence of Path
        Design files.
    job : callable
        Picklable; from a path to a picklable value.
        Its ``SpokecheckError`` becomes the outcome's error.
    workers : int, optional
        Processes; as many as cores if not given, one runs in this process.

    Yields
    ------
    Outcome
        As they finish.
    """
    count = min(workers or os.cpu_count() or 1, len(paths))
    if count <= 1:
        yield from (_attempt(path, partial(job, path)) for path in paths)
        return
    with single_threaded(), ProcessPoolExecutor(count, get_context("spawn")) as pool:
        futures = {pool.submit(job, path): path for path in paths}
        for future in as_completed(futures):
            yield _attempt(futures[future], future.result)


def _attempt(path: Path, run: Callable[[], T]) -> Outcome[T]:
    try:
        return Outcome(path, value=run())
    except SpokecheckError as error:
        return Outcome(path, error=error)
    except (BrokenProcessPool, MemoryError) as crash:
        reason = str(crash) or type(crash).__name__
        message = f"{path}: the computation was ended from outside ({reason})"
        return Outcome(path, error=ComputationError(f"{message}; use fewer workers"))
    except Exception as surprise:  # the wall between designs: one costs only itself
        message = f"{path}: unexpected {type(surprise).__name__}: {surprise}"
        return Outcome(path, error=ComputationError(f"{message}; please report it"))


def in_order(paths: Iterable[Path], outcomes: Iterable[Outcome[T]]) -> list[Outcome[T]]:
    """Outcomes sorted as their paths were given."""
    by_path = {outcome.path: outcome for outcome in outcomes}
    return [by_path[path] for path in paths if path in by_path]
