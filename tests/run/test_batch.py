"""Batches: run apart, one failure costs only itself."""

import os
from pathlib import Path

import pytest

from spokecheck.errors import ComputationError, MeshError
from spokecheck.run.batch import in_order, run_batch


def job(path):
    """Job with every kind of end."""
    if path.stem == "mesh":
        raise MeshError("no mesh")
    if path.stem == "surprise":
        raise ZeroDivisionError("a bug")
    if path.stem == "killed" and "PARENT" in os.environ:
        os._exit(9)
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


def test_a_killed_process_is_told_not_suffered(monkeypatch):
    """A worker ended from outside becomes an error of the designs it took with it."""
    monkeypatch.setenv("PARENT", "1")
    paths = [Path("killed.toml"), Path("killed.toml").with_stem("good")]
    found = list(run_batch(paths, job, 2))
    assert len(found) == 2
    assert any("ended from outside" in str(outcome.error) for outcome in found)


def test_thread_limits_are_put_back(monkeypatch):
    """The environment is the same after a batch."""
    monkeypatch.setenv("OMP_NUM_THREADS", "7")
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    list(run_batch([Path("a.toml"), Path("b.toml")], job, 2))
    assert os.environ["OMP_NUM_THREADS"] == "7"
    assert "OPENBLAS_NUM_THREADS" not in os.environ
