"""Runs that are killed leave nothing: no process, no folder, no bad entry."""

import json
import os
import random
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(
    not Path("/proc/self/environ").exists(), reason="needs the list of processes"
)

DESIGNS = ["meshes/designs/aspen-cast-5.toml", "meshes/designs/dogwood-weak-5.toml"]
QUICK = ["--meshes", "1", "--workers", "2"]

PATIENCE = 10.0
"""Seconds in which the kernel takes the children of the dead away on a busy machine."""


class Runs:
    """Runs that share a cache and a folder for what they do not keep."""

    def __init__(self, folder):
        self.folder, self.scratch = folder, folder / "scratch"
        self.scratch.mkdir()
        self.environment = {
            **os.environ,
            "TMPDIR": str(self.scratch),
            "SPOKECHECK_CACHE": str(folder / "cache"),
        }

    def start(self, *options):
        """A run in a process group of its own."""
        command = [sys.executable, "-m", "spokecheck", "screen", *DESIGNS, *QUICK]
        return subprocess.Popen(
            [*command, "--out", str(self.folder / "out"), *options],
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )  # a job in the background passes on that it ignores interrupts

    def processes(self):
        """Numbers of the processes that these runs have left."""
        mark, found = f"TMPDIR={self.scratch}\0".encode(), []
        for entry in Path("/proc").glob("[0-9]*/environ"):
            try:
                alive = "Z" not in (entry.parent / "stat").read_text().split()[2]
                if alive and mark in entry.read_bytes():
                    found.append(int(entry.parent.name))
            except OSError:
                continue
        return found

    def left_processes(self):
        """The same once those that are about to end have ended."""
        until = time.monotonic() + PATIENCE
        while self.processes() and time.monotonic() < until:
            time.sleep(0.05)
        return self.processes()


@pytest.fixture
def runs(tmp_path):
    """Runs below a folder of the test."""
    return Runs(tmp_path)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupt_ends_a_run_at_once(runs, number):
    """One line, the code that says which signal, no process and no folder."""
    run = runs.start("--no-pictures", "--no-cache")
    time.sleep(2.0)  # the workers have begun
    run.send_signal(number)
    out, err = run.communicate(timeout=30)  # under one second on a machine at rest
    assert run.returncode == 128 + number
    assert err.splitlines() == [
        f"interrupted by {number.name}; finished designs are kept"
    ]
    assert out == ""
    assert runs.left_processes() == []
    assert list(runs.scratch.iterdir()) == []


def test_workers_end_with_a_parent_that_is_killed(runs):
    """Two workers and their mesher end, and the next run sweeps their folders."""
    run = runs.start("--no-pictures", "--no-cache")
    until = time.monotonic() + 60.0
    while len(runs.processes()) < 4 and time.monotonic() < until:
        time.sleep(0.02)  # until a mesher is at work
    assert len(runs.processes()) > 2
    run.kill()
    run.communicate(timeout=30)
    assert runs.left_processes() == []
    again = runs.start("--no-pictures", "--no-cache", "--procedure", "iso-3006")
    again.communicate(timeout=120)  # refused by its designs, after the sweep
    assert list(runs.scratch.iterdir()) == []


@pytest.mark.slow
def test_runs_killed_at_any_time_leave_nothing(request, runs):
    """0 processes, 0 folders, and every entry of the cache is whole.

    As many runs as ``--kills`` says: about 5 s each.
    """
    randomly = random.Random(14)
    for _ in range(request.config.getoption("--kills")):
        run = runs.start("--no-pictures")
        time.sleep(randomly.uniform(0.0, 9.0))
        # half of them together with their group, as a terminal or a CI job does it
        if randomly.random() < 0.5:
            run.kill()
        else:
            os.killpg(run.pid, signal.SIGKILL)
        run.communicate(timeout=30)
        assert runs.left_processes() == []
    last = runs.start("--no-pictures")
    last.communicate(timeout=300)
    assert last.returncode == 1  # one mesh settles nothing
    assert list(runs.scratch.iterdir()) == []
    entries = list((runs.folder / "cache").glob("*.zip"))
    assert entries
    for entry in entries:
        assert zipfile.ZipFile(entry).testzip() is None
    served = runs.start("--no-pictures")
    _, err = served.communicate(timeout=60)
    assert "stored result shown for 2 of 2" in " ".join(err.split())
    for name in ("aspen-cast-5", "dogwood-weak-5"):
        text = (runs.folder / "out" / f"{name}.json").read_text(encoding="utf-8")
        assert json.loads(text)["hot_spots"]
