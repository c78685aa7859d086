"""Run a child process under a time limit, and say in one line why it failed.

A library that crashes or never ends then costs its task, not the run.
"""

import signal
import subprocess


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
    try:
        done = subprocess.run(
            command, capture_output=True, timeout=time_limit, check=False
        )
    except subprocess.TimeoutExpired as error:
        reason = f"{name} took over {time_limit:g} s and was ended"
        raise ChildTimeoutError(reason) from error
    except OSError as error:
        raise ChildError(f"{name} cannot start ({error.strerror})") from error
    if not done.returncode:
        return
    lines = done.stderr.decode("utf-8", "replace").strip().splitlines()
    last_line = f" ({lines[-1]})" if lines else ""
    if done.returncode < 0:
        cause = signal.Signals(-done.returncode).name
        raise ChildError(f"{name} was ended by {cause}{last_line}", killed=True)
    raise ChildError(f"{name} ended with code {done.returncode}{last_line}")
