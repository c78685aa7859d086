"""Run a child process under limits, and say in one line why it failed.

A library that crashes or never ends then costs its task, not the run.
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
from typing import IO

from spokecheck.memory import process_gigabytes

LAST_WORDS = 4096
"""Bytes at the end of what a child writes in which its last line is looked for."""

LOOKS = 0.1
"""Seconds between two looks at the memory of a child."""


class ChildError(Exception):
    """A child process gave no result.

    Attributes
    ----------
    killed : bool
        Whether a signal ended it, as a crash in a library does.
    """

    def __init__(self, reason: str, *, killed: bool = False) -> None:
        super().__init__(reason)
        self.killed = killed


class ChildTimeoutError(ChildError):
    """A child process was ended at its time limit."""


class ChildMemoryError(ChildError):
    """A child process was ended since it took too much memory."""


def child_command(module: str, gigabytes: float = 0.0) -> tuple[str, ...]:
    """Command that runs a module as a child of this process, and no longer than it.

    Parameters
    ----------
    module : str
        Full name of a module that can be run as a program.
    gigabytes : float
        Most memory it may ask for; 0 for no bound.
    """
    start = "spokecheck.child_start"
    return (sys.executable, "-m", start, f"{gigabytes:g}", module)


def run_child(
    command: tuple[str, ...],
    time_limit: float,
    name: str,
    gigabytes: float = float("inf"),
) -> None:
    """Run a command to its end.

    Parameters
    ----------
    command : tuple of str
        Program and arguments.
    time_limit : float
        Seconds before the child is ended.
    name : str
        Subject of the failure's reason, such as ``the mesher``.
    gigabytes : float
        Memory it may take before it is ended.  It is measured, ten times a second, on
        Linux only; a library that crashes when it is given no more, rather than saying
        so, has its reason here, unlike under the bound of ``child_command``.

    Raises
    ------
    ChildError
        If the child cannot start, is killed, or ends with a code other than 0; its
        kinds ``ChildTimeoutError`` and ``ChildMemoryError`` if it is ended at a limit.
    """
    with Child(command, name) as child:
        child.finish(time_limit, gigabytes)


class Child:
    """A command that runs beside this process, and no longer than a ``with`` block.

    Parameters
    ----------
    command, name
        As for ``run_child``.

    Raises
    ------
    ChildError
        If it cannot start.
    """

    def __init__(self, command: tuple[str, ...], name: str) -> None:
        self._name, self._words = name, tempfile.TemporaryFile()
        # the pipe ends with this process, and the child with the pipe
        end, self._lifeline = os.pipe()
        try:
            self._process = subprocess.Popen(
                command, stdin=end, stdout=subprocess.DEVNULL, stderr=self._words
            )
        except OSError as error:
            os.close(self._lifeline)
            self._words.close()
            raise ChildError(f"{name} cannot start ({error.strerror})") from error
        finally:
            os.close(end)

    def __enter__(self) -> "Child":
        return self

    def __exit__(self, *error: object) -> None:
        os.close(self._lifeline)
        self._process.kill()
        self._process.wait()
        self._words.close()

    def finish(self, time_limit: float, gigabytes: float = float("inf")) -> None:
        """Wait for its end; limits and errors as for ``run_child``."""
        name, over = self._name, _watch(self._process, time_limit, gigabytes)
        if over is not None:
            self._process.kill()
        code, last_line = self._process.wait(), _last_line(self._words)
        if over is ChildTimeoutError:
            raise over(f"{name} took over {time_limit:g} s and was ended")
        if over is ChildMemoryError:
            reason = f"{name} took over {gigabytes:.3g} GB of memory and was ended"
            raise over(f"{reason}{last_line}")
        if code < 0:
            cause = signal.Signals(-code).name
            raise ChildError(f"{name} was ended by {cause}{last_line}", killed=True)
        if code:
            raise ChildError(f"{name} ended with code {code}{last_line}")


def _watch(
    child: subprocess.Popen[bytes], time_limit: float, gigabytes: float
) -> type[ChildError] | None:
    """Wait for the end of a child; the kind of limit it has reached before, if any."""
    end, watched = time.monotonic() + time_limit, gigabytes < float("inf")
    while True:
        left = max(0.0, end - time.monotonic())
        try:
            child.wait(min(left, LOOKS) if watched else left)
            return None
        except subprocess.TimeoutExpired:
            if process_gigabytes(child.pid) > gigabytes:
                return ChildMemoryError
            if time.monotonic() >= end:
                return ChildTimeoutError


def _last_line(words: IO[bytes]) -> str:
    """Last line of what a child wrote, in brackets; empty if it wrote nothing."""
    words.seek(max(0, words.seek(0, os.SEEK_END) - LAST_WORDS))
    lines = words.read().decode("utf-8", "replace").strip().splitlines()
    return f" ({lines[-1]})" if lines else ""
