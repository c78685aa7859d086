"""Keep freed memory for the next large array instead of handing it back.

The C library maps every large block anew and gives it back when freed, so each array of
a solution costs page faults all over again: a fifth of a screening's time.
"""

import contextlib
import ctypes
import os
import sys

TRIM, TOP_PAD, MOST_MAPPED = -1, -2, -4
"""Numbers of ``M_TRIM_THRESHOLD``, ``M_TOP_PAD`` and ``M_MMAP_MAX`` in glibc's
``malloc.h``."""

SETTINGS = {
    "MALLOC_TRIM_THRESHOLD_": (TRIM, 2**31 - 1),
    "MALLOC_TOP_PAD_": (TOP_PAD, 2**28),
    "MALLOC_MMAP_MAX_": (MOST_MAPPED, 0),
}


def keep_freed_memory() -> None:
    """Set the allocator of this process, and of those it starts.

    Nothing happens where the C library knows of no such settings.
    """
    if sys.platform != "linux":
        return
    with contextlib.suppress(OSError, AttributeError):
        set_option = ctypes.CDLL(None).mallopt
        for name, (number, value) in SETTINGS.items():
            os.environ.setdefault(name, str(value))
            set_option(number, value)
