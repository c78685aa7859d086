"""Jobs in worker processes, any of which may die without harm to the others.

Workers start afresh rather than as copies, so it does not matter which threads run
here, and they end when this process does, however it ends.
They ignore an interrupt from the keyboard: this process ends them.
"""

import signal
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection, wait
from typing import Any, Generic, TypeVar

from spokecheck.lifeline import end_with_parent

I = TypeVar("I")  # noqa: E741 - one item
T = TypeVar("T")

Job = Callable[[I, Callable[[str], None]], T]
"""What is done with each item: the item, and a function that takes lines of progress.
Job, items and results are picklable."""


class WorkerLostError(Exception):
    """A worker ended without an answer."""


@dataclass(frozen=True)
class Result(Generic[T]):
    """What became of one item.

    Attributes
    ----------
    number : int
        Place of the item among all.
    value : T or None
        What the job returned.
    error : Exception or None
        What it raised, or a ``WorkerLostError``.
    """

    number: int
    value: T | None = None
    error: Exception | None = None


_alone: bool | None = None
_sharers = 1


def works_alone() -> bool:
    """Whether this process may use the other cores: no pool has set others to work."""
    return parent_process() is None if _alone is None else _alone


def work_beside_others() -> None:
    """Note that other processes use the other cores."""
    global _alone
    _alone = False


def count_sharers() -> int:
    """Workers that share this machine, this one among them."""
    return _sharers


def run_apart(
    items: Sequence[I],
    job: Job[I, T],
    count: int,
    progress: Callable[[str], None] = lambda line: None,
    meanwhile: Callable[[], None] = lambda: None,
) -> Iterator[Result[T]]:
    """Run a job on every item, each in a process of its own kind.

    Parameters
    ----------
    items : sequence
        What to work on.
    job : callable
        See ``Job``.
    count : int
        Workers at most.
    progress : callable
        Called with each line of progress.
    meanwhile : callable
        Called once all workers have begun.

    Yields
    ------
    Result
        As they finish.  All workers are ended with the last, or when the caller stops
        asking.
    """
    waiting = deque(enumerate(items))
    size = min(count, len(waiting))
    workers: list[_Worker[I, T]] = []
    try:
        for _ in range(size):
            workers.append(_Worker(job, size))
            workers[-1].begin(*waiting.popleft())
        meanwhile()
        while workers:
            wait([end for worker in workers for end in worker.ends])
            for k, worker in enumerate(workers):
                result = worker.look(progress)
                if result is None:
                    continue
                if isinstance(result.error, WorkerLostError) and waiting:
                    worker.end()
                    workers[k] = worker = _Worker(job, size)
                if waiting:
                    worker.begin(*waiting.popleft())
                yield result
            for worker in [w for w in workers if w.idle]:
                worker.end()
                workers.remove(worker)
    finally:
        for worker in workers:
            worker.end()


class _Worker(Generic[I, T]):
    """One process and the connection to it."""

    def __init__(self, job: Job[I, T], sharers: int) -> None:
        context = get_context("spawn")
        self._here, there = context.Pipe()
        self._process = context.Process(target=_serve, args=(there, job, sharers))
        self._process.start()
        there.close()
        self._number: int | None = None

    @property
    def ends(self) -> tuple[Connection, int]:
        """What is ready when there is something to look at."""
        return self._here, self._process.sentinel

    @property
    def idle(self) -> bool:
        """Whether it has nothing to do."""
        return self._number is None

    def begin(self, number: int, item: I) -> None:
        """Give it an item; a worker that is gone is noticed when it is looked at."""
        self._number = number
        try:
            self._here.send(item)
        except OSError:
            pass

    def look(self, progress: Callable[[str], None]) -> Result[T] | None:
        """Result of its item, if it has come."""
        if self._number is None:
            return None
        number = self._number
        try:
            while self._here.poll():
                kind, content = self._here.recv()
                if kind == "progress":
                    progress(content)
                    continue
                self._number = None
                if kind == "done":
                    return Result(number, value=content)
                return Result(number, error=content)
        except (EOFError, OSError):
            pass
        except Exception as failure:  # an answer that cannot be read is none
            self._number = None
            return Result(number, error=failure)
        if self._process.is_alive():
            return None
        self._number = None
        return Result(number, error=WorkerLostError(_cause(self._process.exitcode)))

    def end(self) -> None:
        """End the process now."""
        self._process.kill()
        self._process.join()
        self._here.close()


def _cause(code: int | None) -> str:
    """Why a process ended, by its exit code."""
    if code is not None and code < 0:
        return f"by {signal.Signals(-code).name}"
    return f"with code {code}"


def _serve(there: Connection, job: Job[Any, Any], sharers: int) -> None:
    """Work on items as they come, until there are no more."""
    end_with_parent()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    global _alone, _sharers
    _alone, _sharers = sharers == 1, sharers

    def progress(line: str) -> None:
        there.send(("progress", line))

    while True:
        try:
            item = there.recv()
        except EOFError:
            return
        try:
            answer = "done", job(item, progress)
        except Exception as failure:
            answer = "failed", failure
        try:
            there.send(answer)
        except Exception as failure:  # what cannot be sent is told in words
            there.send(("failed", RuntimeError(f"{failure}: {answer[1]!r:.200}")))
