"""Batches: run apart, one failure costs only itself."""

import os
from pathlib import Path

import pytest

from spokecheck.errors import ComputationError, MeshError
from spokecheck.run.batch import in_order, run_batch


def job(path, progress):
    """Job with every kind of end."""
    if path.stem == "mesh":
        raise MeshError("no mesh")
    if path.stem == "surprise":
        raise ZeroDivisionError("a bug")
    if path.stem == "killed":
        os._exit(9)
    progress(f"works on {path.stem}")
    return path.stem


@pytest.mark.parametrize("workers", [1, 2])
def test_one_failure_costs_only_itself(workers):
    """Errors of the package and surprises stay with their design."""
    paths = [Path(f"{name}.toml") for name in ("good", "mesh", "surprise", "fine")]
    found = in_order(paths, list(run_batch(paths, job, workers)))
    assert [outcome.path for outcome in found] == paths
    assert [outcome.value for outcome in found] == ["good", None, None, "fine"]
    assert isinstance(found[1].error, MeshError)
    assert isinstance(found[2].error, ComputationError)
    assert "a bug" in str(found[2].error)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_killed_process_is_told_not_suffered(workers):
    """A worker that dies becomes the error of its design; another takes its place."""
    paths = [Path(f"{name}.toml") for name in ("a", "killed", "b", "c")]
    found = in_order(paths, run_batch(paths, job, workers))
    assert [outcome.value for outcome in found] == ["a", None, "b", "c"]
    assert "ended from outside (with code 9)" in str(found[1].error)


def test_stages_reach_the_caller():
    """What a job says of its progress crosses the processes."""
    stages = []
    list(run_batch([Path("a.toml")], job, 1, stages.append))
    assert stages == ["works on a"]


def test_thread_limits_are_put_back(monkeypatch):
    """The environment is the same after a batch."""
    monkeypatch.setenv("OMP_NUM_THREADS", "7")
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    list(run_batch([Path("a.toml"), Path("b.toml")], job, 2))
    assert os.environ["OMP_NUM_THREADS"] == "7"
    assert "OPENBLAS_NUM_THREADS" not in os.environ
