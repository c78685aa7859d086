"""Independent jobs in parallel: one here, the others in copies of this process.

What a job leaves behind, such as a factor, can stay in its copy and answer later.

Sparse and dense algebra hold Python's lock, so threads would take turns.
A copy that dies, hangs or cannot be made costs its time, never the result: its job is
then done here.
A process with other threads is never copied: a lock that one of them holds would stay
locked in the copy for ever.
"""

import os
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_all_start_methods, get_context
from multiprocessing.connection import Connection
from time import perf_counter
from typing import Any, Generic, TypeVar, cast

from spokecheck.errors import SpokecheckError
from spokecheck.fem.threads import each_on_one_thread
from spokecheck.lifeline import end_with_parent
from spokecheck.worker_pool import work_beside_others, works_alone

T = TypeVar("T")
U = TypeVar("U")
Request = TypeVar("Request")
Answer = TypeVar("Answer")

PATIENCE, LEAST_WAIT = 10.0, 60.0
"""A copy is given up when it takes this many times as long as the job done here, and at
least so long [s]."""


class LostCopyError(SpokecheckError):
    """A copy that was to answer has ended."""


LOST = "a process that was to answer has ended"


@dataclass(frozen=True)
class Kept(Generic[Request, Answer]):
    """What a job has left behind, here or in its copy.

    Attributes
    ----------
    answer : callable
        From a picklable request to its answer; raises what the function there raises,
        and LostCopyError if the copy has ended.
    end : callable
        Ends the copy, if there is one.
    """

    answer: Callable[[Request], Answer]
    end: Callable[[], None] = lambda: None


def run_and_keep(
    jobs: Sequence[Callable[[], tuple[T, Callable[[Request], Answer] | None]]],
) -> tuple[list[T], list[Kept[Request, Answer] | None]]:
    """Run jobs as ``run_parallel`` does, and keep what they leave behind.

    Parameters
    ----------
    jobs : sequence of callable
        Each returns its result and a function of a request, or None in its place.

    Returns
    -------
    results : list
    kept : list of Kept or None
        In the order of ``jobs``; copies live until they are ended.

    Raises
    ------
    SpokecheckError
        The first that a job raises; no copy is left then.
    """
    parallel = len(jobs) > 1 and _worth_it()
    copies = [_Copy(job) for job in jobs[:-1]] if parallel else []
    try:
        since = perf_counter()
        here = [_here(job) for job in jobs[len(copies) :]]
        limit = max(LEAST_WAIT, PATIENCE * (perf_counter() - since))
        done = [*(copy.outcome(limit) for copy in copies), *here]
    except BaseException:
        for copy in copies:
            copy.end()
        raise
    return [result for result, _ in done], [kept for _, kept in done]


def _here(
    job: Callable[[], tuple[T, Callable[[Request], Answer] | None]],
) -> tuple[T, Kept[Request, Answer] | None]:
    """Do a job in this process."""
    result, then = job()
    return result, Kept(then) if then else None


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
    return run_and_keep([partial(_leaving_nothing, job) for job in jobs])[0]


def _leaving_nothing(job: Callable[[], T]) -> tuple[T, None]:
    return job(), None


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


class _Copy(Generic[T, Request, Answer]):
    """A copy of this process at work on one job, and kept while it can answer."""

    def __init__(
        self, job: Callable[[], tuple[T, Callable[[Request], Answer] | None]]
    ) -> None:
        context = get_context("fork")
        self._job = job
        self._here, there = context.Pipe()
        self._process = context.Process(target=_work, args=(job, there), daemon=True)
        self._process.start()
        there.close()

    def outcome(self, limit: float) -> tuple[T, Kept[Request, Answer] | None]:
        """What the job returned or raised, done here if the copy was lost.

        A copy that does not answer is ended.
        """
        try:
            result, serves = self._received(limit)
        except LostCopyError:
            self.end()
            return _here(self._job)
        if serves:
            return result, Kept(partial(self._ask, limit), self.end)
        self.end()
        return result, None

    def _ask(self, limit: float, request: Request) -> Answer:
        try:
            self._here.send(request)
        except OSError as lost:
            raise LostCopyError(LOST) from lost
        answer: Answer = self._received(limit)
        return answer

    def _received(self, limit: float) -> Any:
        """What the copy sends within so many seconds; its errors are raised."""
        try:
            if self._here.poll(limit):
                done, value = self._here.recv()
                if done:
                    return value
                if isinstance(value, SpokecheckError):
                    raise value
        except (EOFError, OSError):
            pass
        raise LostCopyError(LOST)

    def end(self) -> None:
        """End the copy."""
        self._process.kill()
        self._process.join()
        self._here.close()


def _work(
    job: Callable[[], tuple[T, Callable[[Request], Answer] | None]], there: Connection
) -> None:
    """Send the result of a job, and whether it serves; then answer requests."""
    end_with_parent()
    work_beside_others()
    then = None
    try:
        result, then = job()
        there.send((True, (result, then is not None)))
        del result
    except Exception as error:
        there.send((False, _sendable(error)))
    while then is not None:
        try:
            request = there.recv()
        except (EOFError, OSError):
            return
        try:
            there.send((True, then(request)))
        except Exception as error:
            there.send((False, _sendable(error)))


def _sendable(error: Exception) -> Exception:
    """An error of this project, or a stand-in, for which the job is done again."""
    known = isinstance(error, SpokecheckError)
    return error if known else RuntimeError(repr(error))
