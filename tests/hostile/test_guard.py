"""Whatever ends a command becomes a message and one of a few exit codes."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from spokecheck.cli import console, guard
from spokecheck.errors import InputError, MeshError
from tests.hostile.cases import ASPEN, command, run

FOLDER = Path("meshes/designs")


def raising(failure):
    """A command that ends with an exception."""

    def job():
        raise failure

    return job


@pytest.mark.parametrize(
    ("failure", "code", "words"),
    [
        (ZeroDivisionError("by zero"), 3, "unexpected ZeroDivisionError: by zero"),
        (RecursionError("deep"), 3, "unexpected RecursionError"),
        (MemoryError(), 3, "out of memory"),
        (InputError("no such key"), 2, "no such key"),
        (MeshError("no mesh"), 3, "no mesh"),
        (KeyboardInterrupt(), 130, "interrupted by SIGINT"),
        (guard.Interrupted(15), 143, "interrupted by SIGTERM"),
        (OSError(28, "No space left on device", "z"), 3, "No space left"),
    ],
)
def test_an_exception_becomes_a_message_and_a_code(failure, code, words):
    """No exception ends with 0 or 1, which belong to verdicts."""
    found, out, err = run(raising(failure))
    assert found == code
    assert words in err
    assert "Traceback" not in err + out


def test_the_place_of_a_surprise_is_said():
    """File and line, so that it can be reported."""
    _, _, err = run(lambda: guard.drop_stream("none"))
    assert "cli/guard.py:" in err


def test_mistakes_in_the_arguments_end_with_two():
    """Their text is the user's, with control characters shown as numbers."""
    code, out, err = run(command("\x1b[2J[bold]"))
    assert (code, out) == (2, "")
    assert "\\x1b[2J[bold]" in err


def test_brackets_in_a_path_are_no_markup(tmp_path, monkeypatch):
    """A path is shown as it is, wherever it comes from."""
    monkeypatch.setenv("COLUMNS", "400")
    out = tmp_path / "z[" / "x]" / "[bold red]"
    code, shown, _ = run(command("draw", ASPEN, "--out", out))
    assert code == 0
    assert str(out) in shown


def test_a_long_stem_leaves_room_for_suffixes(tmp_path):
    """A file name of 250 bytes draws; its results have a shorter one."""
    path = tmp_path / f"{'ä' * 122}.toml"
    path.write_text(ASPEN.read_text(encoding="utf-8"), encoding="utf-8")
    code, _, err = run(command("draw", path, "--out", tmp_path / "out"))
    assert code == 0, err
    assert len(list((tmp_path / "out").iterdir())) == 2


class Broken(io.StringIO):
    """A stream that takes nothing."""

    def __init__(self, failure):
        super().__init__()
        self.failure = failure

    def write(self, text):
        """Fail."""
        raise self.failure


@pytest.mark.parametrize(
    ("failure", "code"),
    [(BrokenPipeError(32, "Broken pipe"), 0), (OSError(28, "Full"), 3)],
)
def test_a_lost_output_is_no_verdict(monkeypatch, failure, code):
    """A closed pipe changes nothing; a full disk is said, and ends with 3."""
    monkeypatch.setattr(console, "out", console.PlainConsole())
    monkeypatch.setattr(console, "drop_stream", lambda number: None)
    monkeypatch.setattr(sys, "stdout", Broken(failure))

    def job():
        console.out.print("text")
        console.out.print("more")
        return 0

    assert guard.guarded(job) == code


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs /dev/full")
def test_real_streams(tmp_path):
    """A full output ends with 3, an ASCII terminal shows numbers of characters."""
    start = [sys.executable, "-m", "spokecheck"]
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [*start, "--version"], stdout=full, stderr=subprocess.PIPE, text=True
        )
    assert done.returncode == 3
    assert "standard output" in done.stderr
    plain = {**os.environ, "PYTHONIOENCODING": "ascii"}
    path = tmp_path / "a.toml"
    text = ASPEN.read_text(encoding="utf-8").replace("Aspen 5", "Äspen 5")
    path.write_text(text, encoding="utf-8")
    done = subprocess.run([*start, "loads", path], capture_output=True, env=plain)
    assert done.returncode == 0
    assert b"\\xc4spen 5" in done.stdout
