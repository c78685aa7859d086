"""The machine and the versions a run was made with."""

import os
import platform
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

PACKAGES = (
    "spokecheck",
    "numpy",
    "scipy",
    "gmsh",
    "pymetis",
    "scikit-fem",
    "ngsolve",
)


def describe() -> dict[str, Any]:
    """Cores, processor, memory, load before the run, versions."""
    return {
        "processor": _processor(),
        "cores": len(os.sched_getaffinity(0)),
        "memory_gib": round(memory_mib() / 1024, 1),
        "load_before": round(os.getloadavg()[0], 2),
        "system": f"{platform.system()} {platform.machine()}",
        "python": platform.python_version(),
        "versions": {name: _version(name) for name in PACKAGES},
    }


def memory_mib() -> float:
    """Memory of the machine [MiB]."""
    return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / 1024**2


def free_mib() -> float:
    """Memory that can be had without swapping [MiB], as the kernel sees it."""
    for line in Path("/proc/meminfo").read_text(encoding="ascii").splitlines():
        if line.startswith("MemAvailable:"):
            return int(line.split()[1]) / 1024
    return memory_mib()


def _processor() -> str:
    for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
        if line.startswith("model name"):
            return line.split(":", 1)[1].strip()
    return platform.processor() or "unknown"


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "absent"
