"""Batches: found below folders, run apart, one failure costs only itself."""

import os
from pathlib import Path

import pytest

from spokecheck.errors import ComputationError, DesignError, MeshError
from spokecheck.run.batch import find_designs, in_order, run_batch


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


def test_folders_stand_for_the_files_below_them(tmp_path):
    """Files are found at any depth, sorted, each once."""
    (tmp_path / "a" / "b").mkdir(parents=True)
    for name in ("z.toml", "a/b/x.toml", "a/note.txt"):
        (tmp_path / name).write_text("")
    found = find_designs([tmp_path / "z.toml", tmp_path])
    assert [path.name for path in found] == ["z.toml", "x.toml"]


def test_a_folder_without_designs_is_told(tmp_path):
    """An empty folder is bad input, not an empty success."""
    with pytest.raises(DesignError, match=r"no \.toml"):
        find_designs([tmp_path])


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
