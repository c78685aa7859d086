"""The same design gives the same mesh, whatever the clock says or else is running."""

import ast
import multiprocessing
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from random_designs import random_design

import spokecheck
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing import kernel_process, mesher
from spokecheck.wheel.tables.design import Design

DENTED = 750
"""A seed whose first mesh is dented, so that it is made again."""

PACKAGE = Path(spokecheck.__file__).parent
FAST_CHILD = (
    "import time, runpy, sys; real = time.monotonic, time.perf_counter; "
    "time.monotonic = lambda: 100.0 * real[0](); "
    "time.perf_counter = lambda: 100.0 * real[1](); "
    "runpy.run_module('spokecheck.wheel.meshing.kernel', run_name='__main__')"
)
"""The kernel's process with clocks that run a hundred times too fast."""


@pytest.fixture(scope="module")
def quiet():
    """The wheel as it is meshed with true clocks."""
    return build_wheel(Design.model_validate(random_design(DENTED)))


def busy():
    """Work without end, beside the mesher."""
    while True:
        np.linalg.svd(np.ones((200, 200)))


def assert_same(one, other):
    """Byte for byte."""
    for name in ("points", "cells"):
        assert getattr(one.mesh, name).tobytes() == getattr(other.mesh, name).tobytes()
    assert one.quality == other.quality
    assert one.fallback == other.fallback


def test_a_fast_clock_changes_nothing(quiet, monkeypatch):
    """Minutes that pass in a second lead to no other trial, mesh or drawing."""
    true = time.monotonic, time.perf_counter
    monkeypatch.setattr(time, "monotonic", lambda: 100.0 * true[0]())
    monkeypatch.setattr(time, "perf_counter", lambda: 100.0 * true[1]())
    child, ask = (sys.executable, "-c", FAST_CHILD), kernel_process.ask_kernel

    def fast(task, kind, usual, limit):
        return ask(task, kind, child, 100.0 * limit)

    monkeypatch.setattr(mesher, "ask_kernel", fast)
    assert_same(build_wheel(quiet.design), quiet)


@pytest.mark.slow
def test_a_busy_machine_changes_nothing(quiet):
    """Nor does a machine with more to do than it has cores."""
    context = multiprocessing.get_context("spawn")
    others = [context.Process(target=busy, daemon=True) for _ in range(3)]
    for other in others:
        other.start()
    try:
        assert_same(build_wheel(quiet.design), quiet)
    finally:
        for other in others:
            other.kill()
            other.join()


@pytest.mark.parametrize("room", ["mesh", "wheel"])
def test_no_module_that_meshes_asks_for_the_time(room):
    """What it cannot know it cannot choose by; the limit of a process ends the run."""
    asking = [
        str(path.relative_to(PACKAGE))
        for path in sorted((PACKAGE / room).rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text()))
        if (isinstance(node, ast.Import) and any(a.name == "time" for a in node.names))
        or (isinstance(node, ast.ImportFrom) and node.module == "time")
    ]
    assert asking == []
