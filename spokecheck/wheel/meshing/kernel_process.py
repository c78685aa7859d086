"""Give the CAD kernel's process one task, under limits of time and memory.

A kernel that crashes costs the task; one that reaches a limit, the design.
"""

import pickle
from typing import TypeVar

from spokecheck.child_process import (
    ChildError,
    ChildMemoryError,
    ChildTimeoutError,
    child_command,
    run_child,
)
from spokecheck.errors import InputError, MemoryLimitError, TimeLimitError
from spokecheck.memory import machine_gigabytes
from spokecheck.scratch import scratch_folder
from spokecheck.worker_pool import count_sharers

CHILD = child_command("spokecheck.wheel.meshing.kernel")
TIME_LIMIT = 1200.0
"""Seconds one task may take; default wheels need 1 to 10, whole ones a minute."""

SHARE, LEAST = 0.8, 0.5
"""Share of the machine's memory that the kernels of all workers may take together; and
the memory [GB] that each may take in any case: a default wheel needs 0.14."""

LESS_MEMORY = (
    "screen fewer designs at a time (--workers), or where there is more memory"
)
"""What else to do about a limit of memory."""

T = TypeVar("T")


def memory_limit() -> float:
    """Memory that one kernel may take [GB]."""
    return max(LEAST, SHARE * machine_gigabytes() / count_sharers())


def ask_kernel(
    task: object,
    kind: type[T],
    child: tuple[str, ...] = CHILD,
    time_limit: float = TIME_LIMIT,
    gigabytes: float | None = None,
) -> T | str:
    """Result of one task of the kernel.

    Parameters
    ----------
    task : object
        One of the records of ``kernel.task``.
    kind : type
        Type of the result.
    child : tuple of str
        Command; the files of task and answer are added to it, and the gigabytes.
    time_limit : float
        Seconds before the child is ended.
    gigabytes : float, optional
        Memory it may take; ``memory_limit`` if not given.

    Returns
    -------
    T or str
        The result, or the reason why there is none.

    Raises
    ------
    InputError
        If a file the kernel has to read has faults.
    TimeLimitError
        If the child had to be ended.
    MemoryLimitError
        If the mesh would need more memory than it may take, or the child took more.
    """
    limit = memory_limit() if gigabytes is None else gigabytes
    with scratch_folder() as folder:
        task_file, answer_file = folder / "task", folder / "answer"
        task_file.write_bytes(pickle.dumps(task, pickle.HIGHEST_PROTOCOL))
        try:
            command = (*child, str(task_file), str(answer_file), f"{limit:g}")
            run_child(command, time_limit, "the mesher", limit)
        except ChildTimeoutError as failure:
            raise TimeLimitError(
                f"{failure}; mesh less fine, or on a machine with less to do"
            ) from failure
        except ChildMemoryError as failure:
            raise MemoryLimitError(
                f"{failure}; mesh less fine, {LESS_MEMORY}"
            ) from failure
        except ChildError as failure:
            return str(failure)
        if not answer_file.exists():
            return "the mesher gave no answer"
        answer = pickle.loads(answer_file.read_bytes())
    if isinstance(answer, InputError):
        raise answer
    if isinstance(answer, MemoryLimitError):
        raise MemoryLimitError(f"{answer}; {LESS_MEMORY}")
    return answer if isinstance(answer, kind) else str(answer)
