"""Reports of a run while it lasts, and the commands of CI without a screening."""

import os
import re
import shlex
from pathlib import Path
from shutil import which
from xml.etree import ElementTree as ET

import pytest
from typer.testing import CliRunner

from spokecheck.cli import app
from spokecheck.cli.job_report import JobReport
from spokecheck.errors import MeshError
from spokecheck.report.findings.annotations import Form
from spokecheck.report.findings.baseline import Baseline, Earlier
from spokecheck.report.findings.job_summary import Summary
from spokecheck.report.whole_files import Written
from spokecheck.run.batch import Outcome
from spokecheck.run.designs import Batch
from spokecheck.run.stored import Screened
from spokecheck.screen.request import Request

ROOT = Path(__file__).resolve().parent.parent
ASPEN = ROOT / "meshes/designs/aspen-cast-5.toml"
DOGWOOD = ROOT / "meshes/designs/dogwood-weak-5.toml"


def run(*args):
    """Result of a command."""
    return CliRunner().invoke(app, [str(arg) for arg in args])


@pytest.fixture(autouse=True)
def _no_terminal(monkeypatch):
    """No user says how wide a terminal is."""
    monkeypatch.delenv("COLUMNS", raising=False)


@pytest.fixture
def report(tmp_path):
    """A report on three designs, two of them named alike."""
    paths = [Path(f"{name}/wheel.toml") for name in "abc"]
    batch = Batch(
        paths=paths,
        stems={path: f"{path.parent}-wheel" for path in paths},
        request=Request(),
        out_dir=tmp_path / "out",
    )
    return JobReport(
        batch=batch,
        junit=tmp_path / "junit.xml",
        summary=Summary(tmp_path / "summary.md"),
    )


def screened(small_screening, folder):
    """What a worker returns."""
    written = Written(folder / "a.json", folder / "a.html", small=b"jpeg")
    return Screened(small_screening.findings, written)


def errors(report):
    """Suites of the JUnit file that have an error, by its type."""
    root = ET.parse(report.junit).getroot()
    return {
        suite.get("name"): suite.find("testcase/error").get("type")
        for suite in root
        if suite.find("testcase/error") is not None
    }


def test_a_job_ended_early_keeps_what_it_had(report, small_screening, tmp_path):
    """Before the first design all are unfinished; each that ends is in the files.

    The files are read while the report is open: whatever ends the process now finds
    them so.
    """
    report.start()
    assert set(errors(report).values()) == {"not finished"}
    report.work_begins()
    report.finished(Outcome(Path("b/wheel.toml"), screened(small_screening, tmp_path)))
    assert set(errors(report)) == {"a/wheel.toml", "c/wheel.toml"}
    assert "2 not finished" in report.summary.file.read_text(encoding="utf-8")
    assert (tmp_path / "out/b-wheel.jpg").read_bytes() == b"jpeg"
    report.finished(Outcome(Path("a/wheel.toml"), error=MeshError("no mesh")))
    assert errors(report) == {
        "a/wheel.toml": "MeshError",
        "c/wheel.toml": "not finished",
    }


def test_a_line_for_each_design_as_it_finishes(
    report, small_screening, tmp_path, capsys
):
    """Verdict, file and margin in one line each, and a table at the end."""
    report.annotate = Form.PLAIN
    report.start()
    report.finished(Outcome(Path("a/wheel.toml"), screened(small_screening, tmp_path)))
    line = capsys.readouterr().out.splitlines()[0]
    assert re.match(r"1/3 not settled  a/wheel.toml  margin \d\.\d\d, ", line)
    report.finished(Outcome(Path("b/wheel.toml"), error=MeshError("no mesh")))
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "2/3 computation failed  b/wheel.toml  no mesh"
    assert lines[1].startswith("b/wheel.toml:1: error: computation failed: no mesh")
    assert report.close() == 3
    assert "3 designs: 1 computation failed, 1 not finished, 1 not settled" in (
        capsys.readouterr().out
    )


def test_what_is_known_without_work_is_written_when_work_begins(report):
    """A stored result is not lost to a job that ends in the next design's screening."""
    report.start()
    report.finished(Outcome(Path("a/wheel.toml"), error=MeshError("no mesh")))
    report.work_begins()
    assert errors(report)["a/wheel.toml"] == "MeshError"


def test_a_margin_that_fell_is_exit_code_1(report, small_screening, tmp_path):
    """A design may clear and fail all the same."""
    before = Earlier("X", {"radial": 9.0})
    report.baseline = Baseline("released", {"a-wheel": before})
    done = screened(small_screening, tmp_path)
    report.start()
    report.finished(Outcome(Path("a/wheel.toml"), done))
    assert report.close() == 1
    text = report.summary.file.read_text(encoding="utf-8")
    assert "Margins that fell" in text


def test_a_report_that_cannot_be_written_is_found_before_the_work(tmp_path):
    """Exit code 2 at once, with nothing screened."""
    (tmp_path / "file").write_text("")
    done = run(
        "screen", ASPEN, "--out", tmp_path / "out", "--junit", tmp_path / "file/j.xml"
    )
    assert done.exit_code == 2
    assert "--junit" in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--junit", "wheel.toml"], "in place of a TOML file"),
        (["--markdown", "other.TOML"], "in place of a TOML file"),
        (["--junit", "r", "--markdown", "./r"], "--markdown r: .*another report"),
        (["--against", "old.json", "--junit", "old.json"], "reads that file"),
        (["--junit", "folder"], "--junit folder: Is a directory"),
    ],
)
def test_a_report_replaces_no_input(tmp_path, monkeypatch, options, words):
    """As ``--junit *.toml`` would, where the shell puts a design in its place."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "wheel.toml").write_bytes(ASPEN.read_bytes())
    (tmp_path / "folder").mkdir()
    done = run("screen", "wheel.toml", "--out", "out", *options)
    assert done.exit_code == 2
    assert re.search(words, " ".join(done.stderr.split()))
    assert (tmp_path / "wheel.toml").read_bytes() == ASPEN.read_bytes()
    assert not (tmp_path / "out").exists()


def test_an_alloy_that_is_not_allowed_is_bad_input(tmp_path):
    """No screening starts; the remark stands on the line of the alloy."""
    file = tmp_path / "wheel.toml"
    text = ASPEN.read_text(encoding="utf-8")
    file.write_text(text, encoding="utf-8")
    (tmp_path / "spokecheck.toml").write_text('allowed_alloys = ["6061-t6-forged"]')
    out = ["--out", tmp_path / "out", "--annotate", "plain"]
    done = run("screen", tmp_path, *out)
    assert done.exit_code == 2
    line = 1 + text.splitlines().index('alloy = "a356-t6-low-pressure"')
    assert f"wheel.toml:{line}: error: material.alloy" in done.stdout
    assert "Settings of" in done.stderr
    # the command line overrides the file; the next fault is then another
    file.write_text(text.replace("count = 5", "count = 2"), encoding="utf-8")
    other = run("screen", tmp_path, *out, "--allowed-alloy", "a356-t6-low-pressure")
    assert "material.alloy" not in other.stdout
    assert "spokes.count" in other.stdout


def test_without_designs_those_of_the_project_file_are_taken(tmp_path, monkeypatch):
    """And without a project file the message names it."""
    (tmp_path / "a.toml").write_text("name = 3")
    monkeypatch.chdir(tmp_path)
    assert "write a spokecheck.toml" in run("screen").stderr
    (tmp_path / "spokecheck.toml").write_text("")
    assert "a.toml" in run("screen", "--annotate", "plain").stdout


def test_faults_of_the_project_file_are_remarked_on_their_lines(tmp_path):
    """Before any design is looked at."""
    (tmp_path / "a.toml").write_text("name = 3")
    (tmp_path / "spokecheck.toml").write_text("screen = ['.']\nrequired_margin = 0.5")
    done = run("screen", tmp_path, "--annotate", "plain")
    assert done.exit_code == 2
    assert "spokecheck.toml:2: error: required_margin = 0.5" in done.stdout


def test_nothing_is_wrapped_in_a_pipe(tmp_path):
    """A message with a long path is one line where no terminal shows it."""
    file = tmp_path / f"{'long ' * 40}.toml"
    file.write_text("name = 3")
    done = run("draw", "--check", file)
    assert str(file) in done.stderr


# hooks


def hook(name):
    """Words of a hook's entry."""
    text = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    return shlex.split(
        re.search(rf"- id: {name}\n.*?entry: (.*?)\n", text, re.DOTALL)[1]
    )


def test_the_quick_hook_passes_sound_files_and_skips_others(tmp_path):
    """It writes no file, and takes no pyproject.toml for a design."""
    before = set(tmp_path.iterdir())
    program, *words = hook("spokecheck-draw")
    assert program == "spokecheck"
    sidecar = ROOT / "meshes/elsewhere/aspen.step.toml"
    done = run(*words, ASPEN, DOGWOOD, sidecar, ROOT / "pyproject.toml")
    assert done.exit_code == 0, done.output
    assert "Mass [kg]" in done.stdout
    assert "no design" in done.stderr
    assert set(tmp_path.iterdir()) == before


def test_the_quick_hook_stops_a_bad_file(tmp_path):
    """Exit code 2, with the fault."""
    file = tmp_path / "x.toml"
    text = ASPEN.read_text(encoding="utf-8")
    file.write_text(text.replace("count = 5", "count = 2"), encoding="utf-8")
    done = run(*hook("spokecheck-draw")[1:], file)
    assert done.exit_code == 2
    assert "spokes.count" in done.stderr


@pytest.mark.skipif(not which("git"), reason="there is no git here")
def test_the_slow_hook_screens_nothing_if_nothing_changed(tmp_path, monkeypatch):
    """Exit code 0 in a repository without changes."""
    for words in (
        "init", "add .", "-c user.name=A -c user.email=a@example.org commit -m first",
    ):  # fmt: skip
        (tmp_path / "x.toml").write_bytes(ASPEN.read_bytes())
        os.spawnlp(os.P_WAIT, "git", "git", "-C", str(tmp_path), *words.split())
    monkeypatch.chdir(tmp_path)
    done = run(*hook("spokecheck-screen")[1:])
    assert done.exit_code == 0, done.output
    assert "0 of 1 designs changed since HEAD" in done.stderr
