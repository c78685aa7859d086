"""How many threads the linear algebra may use while processes share the cores.

The libraries below NumPy and SciPy read these variables once, when a process
loads them; so they are set before processes are started, and put back afterwards.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager

THREAD_VARIABLES = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")


@contextmanager
def single_threaded() -> Iterator[None]:
    """While this lasts, new processes use one thread each."""
    before = {name: os.environ.get(name) for name in THREAD_VARIABLES}
    os.environ.update(dict.fromkeys(THREAD_VARIABLES, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            os.environ.pop(name, None)
            if value is not None:
                os.environ[name] = value


def limit_to_one_thread() -> None:
    """Let this process use one thread, unless its user has said otherwise.

    It must be called before NumPy is loaded.
    """
    for name in THREAD_VARIABLES:
        os.environ.setdefault(name, "1")


def each_on_one_thread() -> bool:
    """Whether this process is set to use one thread."""
    return os.environ.get(THREAD_VARIABLES[0]) == "1"
