"""Independent jobs in parallel: one here, the others in copies of this process.

Sparse and dense algebra hold Python's lock, so threads would take turns.
A copy that dies, hangs or cannot be made costs its time, never the result: its job is
then done here.
A process with other threads is never copied: a lock that one of them holds would stay
locked in the copy for ever.
"""

import os
import threading
from collections.abc import Callable, Sequence
from multiprocessing import get_all_start_methods, get_context
from multiprocessing.connection import Connection
from time import perf_counter
from typing import Generic, TypeVar, cast

from spokecheck.errors import SpokecheckError
from spokecheck.fem.threads import each_on_one_thread
from spokecheck.lifeline import end_with_parent
from spokecheck.worker_pool import work_beside_others, works_alone

T = TypeVar("T")
U = TypeVar("U")

PATIENCE, LEAST_WAIT = 10.0, 60.0
"""A copy is given up when it takes this many times as long as the job done here, and at
least so long [s]."""


def run_parallel(jobs: Sequence[Callable[[], T]]) -> list[T]:
    """Run jobs, in parallel where that helps.

    Parameters
    ----------
    jobs : sequence of callable
        Independent; their results must be picklable.
        The last is run in this process.

    Returns
    -------
    list
        Results in the order of ``jobs``.

    Raises
    ------
    SpokecheckError
        The first that a job raises.

    Notes
    -----
    In parallel only where a process can be copied, more than one core is at hand, this
    process has one thread, the algebra's included, and is not itself one of many.
    """
    if len(jobs) < 2 or not _worth_it():
        return [job() for job in jobs]
    copies = [_Copy(job) for job in jobs[:-1]]
    try:
        since = perf_counter()
        here = jobs[-1]()
        limit = max(LEAST_WAIT, PATIENCE * (perf_counter() - since))
        return [*(copy.result(limit) for copy in copies), here]
    finally:
        for copy in copies:
            copy.end()


def both(first: Callable[[], T], second: Callable[[], U]) -> tuple[T, U]:
    """Run two jobs of different kinds as ``run_parallel`` does."""
    jobs: list[Callable[[], T | U]] = [first, second]
    results = run_parallel(jobs)
    return cast(T, results[0]), cast(U, results[1])


def _worth_it() -> bool:
    return (
        "fork" in get_all_start_methods()
        and (os.cpu_count() or 1) > 1
        and works_alone()
        and each_on_one_thread()
        and count_threads() == 1
    )


def count_threads() -> int:
    """Threads of this process: those of its libraries too, where Linux lists them."""
    try:
        return len(os.listdir("/proc/self/task"))
    except OSError:
        return threading.active_count()


class _Copy(Generic[T]):
    """A copy of this process at work on one job."""

    def __init__(self, job: Callable[[], T]) -> None:
        context = get_context("fork")
        self._job = job
        self._here, there = context.Pipe(duplex=False)
        self._process = context.Process(target=_work, args=(job, there), daemon=True)
        self._process.start()
        there.close()

    def result(self, limit: float) -> T:
        """What the job returned or raised, done here if the copy was lost."""
        try:
            if self._here.poll(limit):
                done, value = self._here.recv()
                if done:
                    answer: T = value
                    return answer
                if isinstance(value, SpokecheckError):
                    raise value
        except (EOFError, OSError):
            pass
        return self._job()

    def end(self) -> None:
        """End the copy."""
        self._process.kill()
        self._process.join()
        self._here.close()


def _work(job: Callable[[], T], there: Connection) -> None:
    """Send whether the job was done, and its result or error."""
    end_with_parent()
    work_beside_others()
    try:
        answer: tuple[bool, T | Exception] = True, job()
    except SpokecheckError as error:
        answer = False, error
    except Exception as failure:  # raised by the parent, where it happens again
        answer = False, RuntimeError(repr(failure))
    there.send(answer)
    there.close()
