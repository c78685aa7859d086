"""Mutated files of every kind: no traceback, no strange code, no stray character."""

import pytest

from tests.hostile.cases import SHARES, Cases, run_cases

QUICK = {"design": 40, "sidecar": 40, "procedure": 40, "alloy": 40, "mesh": 2}


@pytest.mark.parametrize("kind", SHARES)
def test_a_few_mutated_files_of_each_kind(kind, tmp_path, monkeypatch):
    """Exit codes 0 and 2 alone, a message without a traceback, nothing written."""
    monkeypatch.setenv("COLUMNS", "400")
    counts, found = run_cases(QUICK[kind], 7, tmp_path, kind)
    assert not found
    assert counts[kind] == QUICK[kind]


@pytest.mark.slow
def test_some_hundreds_of_mutated_files(request, tmp_path, monkeypatch):
    """The same for as many as ``--hostile-cases`` says.

    Ten thousand are run by ``python -m tests.hostile --cases 10000``.
    """
    monkeypatch.setenv("COLUMNS", "400")
    asked = request.config.getoption("--hostile-cases")
    counts, found = run_cases(asked, 2026, tmp_path)
    assert not found
    # unless some files are read as sound, nothing behind the reading has been tried
    assert counts["accepted"] > asked // 50


def test_the_harness_sees_what_it_looks_for(tmp_path, monkeypatch):
    """A command with a fault in it is found out: traceback, characters, file, code."""
    cases = Cases(1, tmp_path)

    def broken():
        (tmp_path / "stray").write_text("")
        print("\x1b[2J")
        raise ZeroDivisionError("a bug")

    faults, _ = cases._judged(broken)
    found = " ".join(faults)
    for word in ("exit code 3", "traceback", "control characters", "stray"):
        assert word in found
