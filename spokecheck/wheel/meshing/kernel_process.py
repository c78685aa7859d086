"""Give the CAD kernel's process one task, under a time limit.

A kernel that crashes costs the task; one that does not end, the run.
"""

import pickle
from typing import TypeVar

from spokecheck.child_process import (
    ChildError,
    ChildTimeoutError,
    child_command,
    run_child,
)
from spokecheck.errors import InputError, TimeLimitError
from spokecheck.scratch import scratch_folder

CHILD = child_command("spokecheck.wheel.meshing.kernel")
TIME_LIMIT = 1200.0
"""Seconds one task may take; default wheels need 1 to 10, whole ones a minute."""

T = TypeVar("T")


def ask_kernel(
    task: object,
    kind: type[T],
    child: tuple[str, ...] = CHILD,
    time_limit: float = TIME_LIMIT,
) -> T | str:
    """Result of one task of the kernel.

    Parameters
    ----------
    task : object
        One of the records of ``kernel.task``.
    kind : type
        Type of the result.
    child : tuple of str
        Command; the files of task and answer are added to it.
    time_limit : float
        Seconds before the child is ended.

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
    """
    with scratch_folder() as folder:
        task_file, answer_file = folder / "task", folder / "answer"
        task_file.write_bytes(pickle.dumps(task, pickle.HIGHEST_PROTOCOL))
        try:
            run_child(
                (*child, str(task_file), str(answer_file)), time_limit, "the mesher"
            )
        except ChildTimeoutError as failure:
            raise TimeLimitError(
                f"{failure}; mesh less fine, or on a machine with less to do"
            ) from failure
        except ChildError as failure:
            return str(failure)
        if not answer_file.exists():
            return "the mesher gave no answer"
        answer = pickle.loads(answer_file.read_bytes())
    if isinstance(answer, InputError):
        raise answer
    return answer if isinstance(answer, kind) else str(answer)
