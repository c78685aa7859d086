"""The command line: exit codes, messages, files."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from spokecheck.cli import app
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.tables.design import Design

ASPEN = "meshes/designs/aspen-cast-5.toml"
DOGWOOD = "meshes/designs/dogwood-weak-5.toml"
QUICK = ["--meshes", "1", "--no-pictures"]


def run(*args):
    """Result of a command."""
    return CliRunner().invoke(app, [str(arg) for arg in args])


def test_screening_a_sound_design_ends_with_zero(tmp_path):
    """Exit code 0, the caution on the terminal, JSON and page in the folder.

    The whole screening of a design that clears with its error bar taken off.
    """
    result = run("screen", ASPEN, "--out", tmp_path, "--no-pictures")
    assert result.exit_code == 0, result.output
    told = " ".join(result.stdout.split())
    assert "clears: worst margin" in told
    assert "quick look" not in told
    assert "does not replace certified testing" in told
    found = json.loads((tmp_path / "aspen-cast-5.json").read_text(encoding="utf-8"))
    assert found["verdict"]["word"] == "clears"
    assert found["verdict"]["worst_margin_less_bar"] >= 1.10
    assert found["convergence"]["settled"]
    assert "certified" in json.dumps(found)
    page = (tmp_path / "aspen-cast-5.html").read_text(encoding="utf-8")
    assert "certified testing" in page


def test_a_quick_look_never_clears(tmp_path):
    """One mesh of the same design: it says first that it settles nothing, and ends 1.

    Its worst margin would clear, and the same word stands in JSON, page and JUnit file.
    """
    junit = tmp_path / "junit.xml"
    result = run("screen", ASPEN, "--out", tmp_path, "--junit", junit, *QUICK)
    assert result.exit_code == 1, result.output
    told = " ".join(result.stdout.split())
    assert "a quick look, on one mesh, settles nothing; not settled" in told
    assert "clears: worst margin" not in told
    found = json.loads((tmp_path / "aspen-cast-5.json").read_text(encoding="utf-8"))
    assert found["verdict"]["word"] == "not settled"
    assert found["verdict"]["worst_margin"] > 1.10
    assert not found["convergence"]["settled"]
    for written in (tmp_path / "aspen-cast-5.html", junit):
        assert "not settled" in written.read_text(encoding="utf-8")


def test_a_weak_design_and_a_bad_file_beside_each_other(tmp_path):
    """The bad file gives 2, the weak design is screened, JUnit has both."""
    bad = tmp_path / "bad.toml"
    bad.write_text("name = 3")
    out = tmp_path / "out"
    junit = tmp_path / "junit.xml"
    result = run("screen", bad, DOGWOOD, "--out", out, "--junit", junit, *QUICK)
    assert result.exit_code == 2, result.output
    assert (out / "dogwood-weak-5.json").exists()
    assert "bad.toml" in result.stderr.replace("\n", "")  # lines wrap anywhere
    assert "Dogwood" in junit.read_text(encoding="utf-8")
    assert "bad.toml" in junit.read_text(encoding="utf-8")


def test_a_weak_design_alone_ends_with_one(tmp_path):
    """Exit code 1 says that a design does not clear."""
    result = run("compare", DOGWOOD, ASPEN, "--out", tmp_path, *QUICK)
    assert result.exit_code == 1, result.output
    assert result.stdout.index("Aspen") < result.stdout.index("Dogwood")
    assert (tmp_path / "comparison.json").exists()
    assert (tmp_path / "comparison.html").exists()


GIVEN = "given on the command line"


def test_a_patch_angle_of_the_command_line_is_the_designs(tmp_path):
    """Derivation, design, solution and page of ``--patch-angle 30`` all have 30 deg."""
    result = run("screen", ASPEN, "--patch-angle", "30", "--out", tmp_path, *QUICK)
    assert result.exit_code in (0, 1), result.output
    found = json.loads((tmp_path / "aspen-cast-5.json").read_text(encoding="utf-8"))
    radial = found["tests"][-1]
    (line,) = (s for s in radial["derivation"] if s["symbol"] == "theta_0")
    assert line["value"] == 30.0
    assert line["basis"].startswith(GIVEN)
    assert found["design"]["duty"]["patch_half_angle_deg"] == 30.0
    assert found["options"]["overrides"] == {"duty.patch_half_angle_deg": 30.0}
    assert any("patch of +/- 30 deg" in note for note in radial["notes"])
    # a test of its own, so the margin of the solution is the one told for 30 degrees
    at_30 = next(s for s in radial["sensitivities"] if s["value"] == 30.0)
    assert at_30["margin"] == radial["margin"]
    page = (tmp_path / "aspen-cast-5.html").read_text(encoding="utf-8")
    assert page.count(GIVEN) == 2  # the derivation and the table of the design


def test_loads_are_derived_with_the_values_of_the_command_line():
    """``loads`` shows patch and procedure of the command line, with their basis."""
    told = run("loads", ASPEN, "--patch-angle", "30").stdout
    assert re.search(r"theta_0 +30 +deg", told)
    assert GIVEN.split()[0] + " on" in told  # the cell wraps
    other = run("loads", ASPEN, "--procedure", "japan-passenger").stdout
    assert "japan-passenger" in other
    assert "un-r124" not in other


@pytest.mark.parametrize("command", ["screen", "loads"])
def test_a_value_of_the_command_line_keeps_the_limits_of_its_key(command):
    """99 degrees are refused as they would be in the file, with the key."""
    result = run(command, ASPEN, "--patch-angle", "99")
    assert result.exit_code == 2
    assert "duty.patch_half_angle" in result.stderr  # the last letters wrap
    assert "most 90 deg" in result.stderr


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["screen", "nowhere.toml"], "nowhere.toml"),
        (["screen", ASPEN, "--out", "/proc/none", *QUICK], "--out"),
        (["screen", ASPEN, "--fineness", "99"], "fineness"),
        (["screen", ASPEN, "--fineness", "0.5"], "fineness"),
        (["screen", ASPEN, "--workers", "0"], "workers"),
        (["screen", ASPEN, "--meshes", "0"], "meshes"),
        (["screen", ASPEN, "--places", "0"], "places"),
        (["screen", ASPEN, "--remesh"], "remesh"),
        (["loads", ASPEN, "--procedure", "nonsense"], "un-r124"),
        (["loads", ASPEN, "--procedure", "iso-3006"], "not at hand"),
        (["loads", ASPEN, "--procedure-file", "nowhere.toml"], "nowhere.toml"),
        (["procedures", "nonsense"], "un-r124"),
        (["alloys", "unobtainium"], "a356-t6"),
        (["screen"], "give design files"),
    ],
)
def test_bad_input_ends_with_two_and_says_why(args, words):
    """Exit code 2, a message with the culprit, never a traceback."""
    result = run(*args)
    assert result.exit_code == 2, result.output
    assert words in result.output
    assert "Traceback" not in result.output


def test_schema_is_json_that_editors_can_use():
    """It names its dialect and itself, and lists alloys, patterns and procedures."""
    result = run("schema")
    assert result.exit_code == 0
    schema = json.loads(result.stdout)
    assert schema["title"] == "Design"
    assert schema["$schema"].startswith("https://json-schema.org/")
    assert schema["$id"] == "urn:spokecheck:design:1"
    records = {name: one["properties"] for name, one in schema["$defs"].items()}
    assert "a356-t6-low-pressure" in records["MaterialTable"]["alloy"]["enum"]
    assert "un-r124" in records["Duty"]["procedures"]["items"]["anyOf"][0]["enum"]
    assert "lattice" in records["Spokes"]["pattern"]["enum"]
    assert not find_faults(Design.model_validate(schema["examples"][0]))


def test_draw_prints_mass_roundings_and_departures():
    """One design in lines, several as a table; with --check no file is written."""
    one = run("draw", "--check", ASPEN)
    assert one.exit_code == 0
    for words in ("Aspen 5, 14.5", "hub fillet 14 mm", "18 > 16.35 mm", "because"):
        assert words in one.stdout
    two = run("draw", "--check", ASPEN, "meshes/designs/birch-forged-10.toml")
    for words in ("Mass [kg]", "Well radius", "18 > 16.35", "birch-forged-10.toml"):
        assert words in two.stdout


def test_loads_show_clause_and_basis():
    """The derivation names its annex and how well it is known."""
    text = run("loads", ASPEN).stdout
    for words in ("Annex 6", "Annex 7", "from memory", "M_max", "does not replace"):
        assert words in text


def test_the_module_runs_quietly_in_a_pipe():
    """``python -m spokecheck --version`` prints one line and no progress."""
    done = subprocess.run(
        [sys.executable, "-m", "spokecheck", "--version"],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path.cwd(),
    )
    assert done.stdout.startswith("spokecheck ")
    assert done.stderr == ""


def test_procedures_are_listed_and_told_in_full():
    """The list names every procedure; one in full marks what is unsure."""
    listed = run("procedures").stdout
    for name in ("un-r124", "iso-3006", "sae-j328", "japan-passenger"):
        assert name in listed
    told = run("procedures", "un-r124").stdout
    for words in ("Annex 7", "unsure", "75 %", "criteria"):
        assert words in told
