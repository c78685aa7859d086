"""Run a child process under a time limit, and say in one line why it failed.

A library that crashes or never ends then costs its task, not the run.
"""

import os
import signal
import subprocess
import sys
import tempfile
from typing import IO

LAST_WORDS = 4096
"""Bytes at the end of what a child writes in which its last line is looked for."""


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


def run_child(command: tuple[str, ...], time_limit: float, name: str) -> None:
    """Run a command to its end.

    Parameters
    ----------
    command : tuple of str
        Program and arguments.
    time_limit : float
        Seconds before the child is ended.
    name : str
        Subject of the failure's reason, such as ``the mesher``.

    Raises
    ------
    ChildError
        If the child cannot start, is killed, or ends with a code other than 0; its
        kind ``ChildTimeoutError`` if it takes too long.
    """
    # the pipe ends with this process, and the child with the pipe
    end, lifeline = os.pipe()
    with tempfile.TemporaryFile() as words:
        try:
            done = subprocess.run(
                command,
                stdin=end,
                stdout=subprocess.DEVNULL,
                stderr=words,
                timeout=time_limit,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            reason = f"{name} took over {time_limit:g} s and was ended"
            raise ChildTimeoutError(reason) from error
        except OSError as error:
            raise ChildError(f"{name} cannot start ({error.strerror})") from error
        finally:
            os.close(end)
            os.close(lifeline)
        if not done.returncode:
            return
        last_line = _last_line(words)
    if done.returncode < 0:
        cause = signal.Signals(-done.returncode).name
        raise ChildError(f"{name} was ended by {cause}{last_line}", killed=True)
    raise ChildError(f"{name} ended with code {done.returncode}{last_line}")


def _last_line(words: IO[bytes]) -> str:
    """Last line of what a child wrote, in brackets; empty if it wrote nothing."""
    words.seek(max(0, words.seek(0, os.SEEK_END) - LAST_WORDS))
    lines = words.read().decode("utf-8", "replace").strip().splitlines()
    return f" ({lines[-1]})" if lines else ""
