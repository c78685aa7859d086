"""Memory of this machine and of its processes, where the system says how much it is."""

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

GIGABYTE = 1 << 30

GROUPS = Path("/sys/fs/cgroup")
"""Where Linux keeps the limits of groups of processes, such as containers."""


def machine_gigabytes() -> float:
    """Memory of the machine, or of the container if that may have less [GB].

    Infinite where the system does not say.
    """
    sizes = list(_group_limits())
    with suppress(ValueError, OSError, AttributeError):  # no sysconf on Windows
        sizes.append(os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"))
    return min(sizes, default=float("inf")) / GIGABYTE


def process_gigabytes(pid: int) -> float:
    """Memory that a process takes [GB]; 0 where the system does not say."""
    with suppress(OSError, ValueError, IndexError, AttributeError):
        pages = Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1]
        return int(pages) * os.sysconf("SC_PAGE_SIZE") / GIGABYTE
    return 0.0


def _group_limits() -> Iterator[float]:
    """Limits of the groups this process is in [bytes], of both kinds that Linux has."""
    lines: list[str] = []
    with suppress(OSError, UnicodeDecodeError):
        lines = Path("/proc/self/cgroup").read_text(encoding="utf-8").splitlines()
    for line in lines:
        _, kind, name = line.split(":", 2)
        if kind not in ("", "memory"):
            continue
        top = GROUPS / kind
        file = "memory.limit_in_bytes" if kind else "memory.max"
        inner = top / name.lstrip("/")
        for group in (inner, *inner.parents):
            with suppress(OSError, ValueError):  # "max" is no number
                yield float((group / file).read_text(encoding="ascii"))
            if group == top:
                break
