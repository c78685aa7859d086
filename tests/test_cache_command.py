"""The cache seen from the command line: the same again, or screened again."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from spokecheck.cli import app

ASPEN = Path("meshes/designs/aspen-cast-5.toml")
QUICK = ["--meshes", "1", "--no-pictures"]
STORED = "stored result shown"


def run(*args):
    """Result of a command."""
    return CliRunner().invoke(app, [str(arg) for arg in args])


def overloaded(name):
    """Text of an example under half as much load again: it does not clear."""
    text = ASPEN.read_text(encoding="utf-8")
    changed = text.replace("rating_kg = 620", "rating_kg = 930")
    assert changed != text
    return changed.replace("Aspen 5", name)


def tree(folder):
    """Content of every file of a folder, by name."""
    return {path.name: path.read_bytes() for path in Path(folder).iterdir()}


@pytest.fixture(scope="module")
def cold(tmp_path_factory):
    """The weak design, screened once: folder, the command and its result."""
    base = tmp_path_factory.mktemp("cold")
    design = base / "weak.toml"
    design.write_text(overloaded("Weak"), encoding="utf-8")
    out = ["--out", base / "out", "--cache", base / "cache"]
    command = ["screen", design, *out, *QUICK, "--vtu", "--junit", base / "out/j.xml"]
    result = run(*command)
    assert result.exit_code == 1, result.output
    assert STORED not in result.stderr
    return base, command, result, tree(base / "out")


def test_an_unchanged_design_is_shown_again_exactly(cold):
    """Terminal, JSON, page, VTU, JUnit and exit code are the same, and it says so."""
    base, command, first, files = cold
    shutil.rmtree(base / "out")
    again = run(*command)
    assert STORED in again.stderr
    assert again.exit_code == first.exit_code == 1
    assert again.stdout == first.stdout
    assert tree(base / "out") == files
    assert set(files) == {"weak.json", "weak.html", "weak.vtu", "j.xml"}


def test_a_hit_imports_nothing_heavy(cold):
    """The answer is found before the libraries that would compute it are loaded."""
    _, command, first, _ = cold
    code = (
        "import sys; from spokecheck.cli import app\n"
        "try: app(sys.argv[1:])\n"
        "except SystemExit as end: code = end.code\n"
        "heavy = {'scipy', 'gmsh', 'pyvista', 'matplotlib', 'meshio'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr); sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, command)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == first.exit_code
    assert done.stderr.splitlines()[-1] == "[]"
    assert STORED in done.stderr


def test_no_cache_screens_again(cold, tmp_path):
    """Without the cache nothing stored is shown, and nothing stored."""
    base, _, _, files = cold
    before = tree(base / "cache")
    args = ["--out", tmp_path, "--cache", base / "cache", "--no-cache", *QUICK]
    result = run("screen", base / "weak.toml", *args)
    assert STORED not in result.stderr
    assert (tmp_path / "weak.json").read_bytes() == files["weak.json"]
    assert set(tree(base / "cache")) == set(before)


def test_a_damaged_entry_is_screened_again_and_mended(cold, tmp_path):
    """A cut entry costs the time of a run, gives the same, and is replaced."""
    base, command, first, files = cold
    shutil.copytree(base / "cache", tmp_path / "cache")
    (entry,) = (tmp_path / "cache").iterdir()
    entry.write_bytes(entry.read_bytes()[:2000])
    moved = [tmp_path / "cache" if arg == base / "cache" else arg for arg in command]
    again = run(*moved)
    assert STORED not in again.stderr
    assert again.stdout == first.stdout
    assert tree(base / "out") == files
    assert STORED in run(*moved).stderr


def test_compare_and_screen_share_what_is_stored(cold, tmp_path):
    """A design that was screened is not screened again for a comparison.

    Without pictures both ask for the same, so either finds what the other stored;
    a changed design beside it is screened.
    """
    base, _, _, files = cold
    changed = tmp_path / "changed.toml"
    changed.write_text(overloaded("Dogtooth"), encoding="utf-8")
    common = ["--out", tmp_path / "out", "--cache", base / "cache", *QUICK]
    designs = [base / "weak.toml", changed]
    first = run("compare", *designs, *common)
    again = run("compare", *designs, *common)
    assert f"{STORED} for 2 of 2" in " ".join(again.stderr.split())
    assert again.stdout == first.stdout
    assert "Dogtooth" in again.stdout
    assert again.exit_code == 1
    assert (tmp_path / "out" / "weak.json").read_bytes() == files["weak.json"]
    screened = run("screen", changed, *common)
    assert STORED in screened.stderr


def test_failures_are_never_stored(tmp_path):
    """A bad design is told of every time, and leaves no entry."""
    bad = tmp_path / "bad.toml"
    bad.write_text("name = 3")
    for _ in range(2):
        args = ["--out", tmp_path / "out", "--cache", tmp_path / "cache", *QUICK]
        result = run("screen", bad, *args)
        assert result.exit_code == 2
        assert STORED not in result.stderr
    assert not (tmp_path / "cache").exists()


@pytest.mark.slow
def test_two_commands_at_once_end_well(cold, tmp_path):
    """Two processes with one cache and one folder both give the whole result."""
    base, _, _, files = cold
    args = ["--out", tmp_path / "out", "--cache", tmp_path / "cache", *QUICK]
    command = [sys.executable, "-m", "spokecheck", "screen", base / "weak.toml", *args]
    both = [
        subprocess.Popen(
            [str(part) for part in command], stdout=subprocess.PIPE, text=True
        )
        for _ in range(2)
    ]
    told = [process.communicate(timeout=300)[0] for process in both]
    assert [process.returncode for process in both] == [1, 1]
    assert told[0] == told[1]
    assert (tmp_path / "out" / "weak.json").read_bytes() == files["weak.json"]
    kinds = {path.suffix for path in (tmp_path / "cache").iterdir()}
    assert kinds == {".zip"}
