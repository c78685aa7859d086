"""Processes that end with the one that started them, however that one ends.

A process that is killed cannot end its children, so they have to see it themselves.
On Linux the kernel ends them; elsewhere a thread waits for the end of a pipe whose
other end only the parent holds.
"""

import ctypes
import os
import select
import sys
from multiprocessing import parent_process
from multiprocessing.connection import wait
from threading import Thread

SET_DEATH_SIGNAL = 1
"""``PR_SET_PDEATHSIG`` of Linux's ``prctl.h``."""

KILLED = 9
"""Number of the signal that no process can refuse."""

ORPHANED = 3
"""Exit code of a process whose parent is gone; nobody reads it."""


def end_with_parent(by_signal: bool = sys.platform == "linux") -> None:
    """Have this worker process of ``multiprocessing`` end when its parent does.

    Parameters
    ----------
    by_signal : bool
        Whether the kernel is asked for it; else a thread waits.
    """
    parent = parent_process()
    if parent is None:
        return
    if by_signal and _ask_kernel():
        # the parent may have ended before the kernel was asked
        if wait([parent.sentinel], 0):
            os._exit(ORPHANED)
        return
    Thread(target=_end_after, args=(parent.sentinel,), daemon=True).start()


def end_with_input(by_signal: bool = sys.platform == "linux") -> None:
    """Have this child process end when its standard input does.

    Its parent holds the other end of that pipe, and writes nothing.
    """
    if by_signal and _ask_kernel():
        if select.select([0], [], [], 0)[0]:
            os._exit(ORPHANED)
        return
    Thread(target=_end_after_input, daemon=True).start()


def _ask_kernel() -> bool:
    """Ask Linux to kill this process when its parent ends; whether it will."""
    try:
        answer: int = ctypes.CDLL(None).prctl(SET_DEATH_SIGNAL, KILLED, 0, 0, 0)
    except (OSError, AttributeError):
        return False
    return answer == 0


def _end_after(sentinel: int) -> None:
    wait([sentinel])
    os._exit(ORPHANED)


def _end_after_input() -> None:
    while os.read(0, 1):
        pass
    os._exit(ORPHANED)
