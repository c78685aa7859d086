"""First thing a child process does: tie itself to its parent, and bound its memory.

``python -m spokecheck.child_start GIGABYTES MODULE ARGUMENTS``;
started by ``child_process`` alone. 0 gigabytes set no bound.
"""

import runpy
import sys
from contextlib import suppress

from spokecheck.lifeline import end_with_input
from spokecheck.memory import GIGABYTE


def bound_memory(gigabytes: float) -> None:
    """Let this process ask for no more memory than this, where the system can."""
    with suppress(ImportError, ValueError, OSError):
        import resource

        _, hard = resource.getrlimit(resource.RLIMIT_AS)
        wanted = int(gigabytes * GIGABYTE)
        if hard != resource.RLIM_INFINITY:
            wanted = min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_AS, (wanted, hard))


def main(arguments: list[str]) -> None:
    """Run a module as a program with what is left of the arguments."""
    end_with_input()
    gigabytes, module, *rest = arguments
    if float(gigabytes):
        bound_memory(float(gigabytes))
    sys.argv = [module, *rest]
    runpy.run_module(module, run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main(sys.argv[1:])
