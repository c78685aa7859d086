"""Memory that there is and that processes take, by what Linux says of it."""

import os
import re
import resource
import sys
from pathlib import Path

import pytest

from spokecheck import memory
from spokecheck.memory import GIGABYTE, machine_gigabytes, process_gigabytes

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")


def test_the_machine_has_no_more_than_the_kernel_lists(monkeypatch, tmp_path):
    """Without a group of its own, all that stands in meminfo."""
    text = Path("/proc/meminfo").read_text(encoding="ascii")
    total = int(re.search(r"MemTotal:\s+(\d+) kB", text)[1]) * 1024 / GIGABYTE
    assert 0.0 < machine_gigabytes() <= 1.001 * total
    monkeypatch.setattr(memory, "GROUPS", tmp_path)
    assert machine_gigabytes() == pytest.approx(total, rel=1e-3)  # both in pages


@pytest.mark.parametrize(
    ("file", "content", "limited"),
    [
        ("memory.max", "1073741824\n", True),
        ("memory.max", "max\n", False),
        ("memory/memory.limit_in_bytes", "1073741824\n", True),
        ("memory/memory.limit_in_bytes", "9223372036854771712\n", False),
    ],
)
def test_a_container_may_have_less(monkeypatch, tmp_path, file, content, limited):
    """Groups of both kinds, at the top where a container sees its own."""
    monkeypatch.setattr(memory, "GROUPS", tmp_path)
    whole = machine_gigabytes()
    (tmp_path / file).parent.mkdir(exist_ok=True)
    (tmp_path / file).write_text(content, encoding="ascii")
    kinds = Path("/proc/self/cgroup").read_text(encoding="ascii")
    if "memory/" in file and ":memory:" not in kinds:
        pytest.skip("no group of the older kind on this machine")
    if "memory/" not in file and "\n0::" not in f"\n{kinds}":
        pytest.skip("no group of the newer kind on this machine")
    assert machine_gigabytes() == (1.0 if limited else whole)


def test_a_process_takes_what_its_own_account_says():
    """Of the tests: no more than its peak, and more than an interpreter's 5 MB."""
    taken = process_gigabytes(os.getpid())
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / GIGABYTE
    assert 0.005 < taken <= 1.02 * peak  # the kernel counts both in steps of its own
    assert process_gigabytes(2**22 + 1) == 0.0  # beyond the largest number of Linux
