"""Wall and CPU time of a piece of work, and of a whole process with its memory."""

import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

ROOT = Path(__file__).resolve().parents[2]
THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
KIB, MIB = 1024, 1024**2
POLL = 0.01
"""Seconds between looks at a process: the resolution of its wall time."""


@dataclass
class Clock:
    """Wall and CPU seconds of named pieces of work, in the order they were done."""

    wall: dict[str, float] = field(default_factory=dict)
    cpu: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def time(self, name: str) -> Iterator[None]:
        """Add the time of the block to a name; CPU time is that of all threads."""
        wall, cpu = time.perf_counter(), time.process_time()
        yield
        self.wall[name] = self.wall.get(name, 0.0) + time.perf_counter() - wall
        self.cpu[name] = self.cpu.get(name, 0.0) + time.process_time() - cpu

    def told(self) -> dict[str, object]:
        """Both, with their sums."""
        return {
            "wall_s": self.wall,
            "cpu_s": self.cpu,
            "total_wall_s": sum(self.wall.values()),
            "total_cpu_s": sum(self.cpu.values()),
        }


def peak_mib() -> float:
    """Largest resident memory of this process so far [MiB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * KIB / MIB


@dataclass(frozen=True)
class Child:
    """What became of a process.

    Attributes
    ----------
    code : int
        Exit code; negative for a signal.
    out, err : str
        What it wrote.
    wall, cpu : float
        Seconds; CPU with its children.
    peak : float
        Largest resident memory [MiB] of it or of one of its children.
    late : bool
        Whether it was ended for taking too long.
    """

    code: int
    out: str
    err: str
    wall: float
    cpu: float
    peak: float
    late: bool


def run_child(
    command: Sequence[str], threads: int | None = None, limit: float = 600.0
) -> Child:
    """Run a command in the project's folder and measure it.

    Parameters
    ----------
    command : sequence of str
        Arguments after the Python interpreter.
    threads : int, optional
        Threads of the linear algebra; left as they are if not given.
    limit : float
        Seconds after which it and its children are ended.
    """
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        start = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, *command],
            cwd=ROOT,
            env=_environment(threads),
            stdout=out,
            stderr=err,
            start_new_session=True,
        )
        late = False
        done, status, usage = os.wait4(process.pid, os.WNOHANG)
        while not done:
            if time.perf_counter() - start > limit and not late:
                late = True
                os.killpg(process.pid, signal.SIGKILL)
            time.sleep(POLL)
            done, status, usage = os.wait4(process.pid, os.WNOHANG)
        wall = time.perf_counter() - start
        process.returncode = os.waitstatus_to_exitcode(status)
        return Child(
            process.returncode,
            _read(out),
            _read(err),
            wall,
            usage.ru_utime + usage.ru_stime,
            usage.ru_maxrss * KIB / MIB,
            late,
        )


def _read(file: IO[bytes]) -> str:
    file.seek(0)
    return file.read().decode("utf-8", "replace")


def _environment(threads: int | None) -> Mapping[str, str]:
    """Environment of this process, with the project importable and no cache."""
    path = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    wanted = {} if threads is None else dict.fromkeys(THREADS, str(threads))
    return {**os.environ, "PYTHONPATH": path, **wanted}


def ask_child(
    task: str, choices: Mapping[str, object], threads: int, limit: float = 600.0
) -> dict[str, Any]:
    """Do a task of ``tests.bench.tasks`` in a process of its own.

    Returns
    -------
    dict
        What the task told, with ``process``: wall and CPU seconds and peak memory of
        the whole process; or ``failed`` with the reason in words.
    """
    command = ["-m", "tests.bench.tasks", task, json.dumps(dict(choices))]
    done = run_child(command, threads, limit)
    if done.late:
        return {"failed": f"ended after {limit:.0f} s"}
    if done.code:
        lines = done.err.strip().splitlines() or ["no message"]
        return {"failed": f"exit code {done.code}: {lines[-1][:200]}"}
    whole = {"wall_s": done.wall, "cpu_s": done.cpu, "peak_mib": done.peak}
    return {**json.loads(done.out.strip().splitlines()[-1]), "process": whole}
