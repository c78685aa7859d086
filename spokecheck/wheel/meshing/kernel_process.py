"""Have the CAD kernel's process do one task, under a time limit.

A kernel that crashes costs the task; one that does not end, the run.
"""

import pickle
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TypeVar

from spokecheck.errors import InputError, TimeLimitError

CHILD = (sys.executable, "-m", "spokecheck.wheel.meshing.kernel")
TIME_LIMIT = 1200.0
"""Seconds one task may take; default wheels need 1 to 10, whole ones a minute."""

T = TypeVar("T")


def ask_kernel(
    task: object,
    kind: type[T],
    child: tuple[str, ...] = CHILD,
    time_limit: float = TIME_LIMIT,
) -> T | str:
    """Answer of the kernel to a task.

    Parameters
    ----------
    task : object
        One of the records of ``kernel.task``.
    kind : type
        What the answer shall be.
    child : tuple of str
        Command; the files of task and answer are added to it.
    time_limit : float
        Seconds before the child is ended.

    Returns
    -------
    answer : T or str
        Or, as text, why there is none.

    Raises
    ------
    InputError
        If a file the kernel had to read is not what it should be.
    TimeLimitError
        If the child had to be ended.
    """
    with tempfile.TemporaryDirectory(prefix="spokecheck-") as name:
        asked, told = Path(name, "task"), Path(name, "result")
        asked.write_bytes(pickle.dumps(task, pickle.HIGHEST_PROTOCOL))
        try:
            done = subprocess.run(
                [*child, str(asked), str(told)],
                capture_output=True,
                timeout=time_limit,
                check=False,
            )
        except subprocess.TimeoutExpired as late:
            raise TimeLimitError(
                f"the mesher took over {time_limit:g} s and was ended; mesh less fine, "
                "or on a machine with less to do"
            ) from late
        if done.returncode or not told.exists():
            return _last_words(done.returncode, done.stderr)
        answer = pickle.loads(told.read_bytes())
        if isinstance(answer, InputError):
            raise answer
        return answer if isinstance(answer, kind) else str(answer)


def _last_words(code: int, errors: bytes) -> str:
    lines = errors.decode("utf-8", "replace").strip().splitlines()
    said = f" ({lines[-1]})" if lines else ""
    how = f"was ended by signal {-code}" if code < 0 else f"ended with code {code}"
    return f"the mesher's process {how}{said}"
