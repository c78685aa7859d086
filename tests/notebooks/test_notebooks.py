"""Every notebook runs from top to bottom, draws, and is kept without outputs."""

import re
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("[0-9][0-9]_*.py"))
LIMIT = 300
"""Seconds that one cell may take; a notebook takes 5 to 20 on an idle machine."""

pytestmark = pytest.mark.filterwarnings("default")
"""Warnings of the notebook machinery are not ours."""


def names(paths):
    """Test identifiers."""
    return [path.stem for path in paths]


@pytest.fixture(scope="module")
def jupytext():
    """Reader of text notebooks; the tests are skipped without the extra."""
    pytest.importorskip("nbclient")
    return pytest.importorskip("jupytext")


def test_there_are_notebooks_and_the_readme_lists_them():
    """The README of the folder names every notebook there is."""
    listed = re.findall(r"`(\d\d_\w+\.py)`", (FOLDER / "README.md").read_text("utf-8"))
    assert listed[: len(NOTEBOOKS)] == [path.name for path in NOTEBOOKS]
    assert len(NOTEBOOKS) >= 6


def test_no_notebook_with_outputs_is_kept():
    """Only text notebooks are kept; what is made from them to be opened is ignored.

    The folder is walked, so the test needs no version control.
    """
    alone = {path.stem for path in FOLDER.glob("*.ipynb")} - set(names(NOTEBOOKS))
    assert alone == set()
    ignored = (FOLDER.parent / ".gitignore").read_text("utf-8").splitlines()
    assert {"*.ipynb", ".ipynb_checkpoints/"} <= set(ignored)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=names(NOTEBOOKS))
def test_a_notebook_has_all_its_parts(path, jupytext):
    """Sketch, source and error table are there, and the last line asserts."""
    cells = jupytext.read(path).cells
    prose = "\n".join(c.source for c in cells if c.cell_type == "markdown")
    code = [c.source for c in cells if c.cell_type == "code"]
    assert prose.startswith("# ")
    assert "pencil and paper" in prose or "Three calculations" in prose
    assert re.search(r"Sources?:", prose)
    assert any("sheet(" in source for source in code)
    assert "error_table(" in code[-1]
    assert code[-1].splitlines()[-1].startswith("assert ")


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=names(NOTEBOOKS))
def test_a_notebook_runs(path, jupytext, tmp_path):
    """Converted to ipynb, it runs without error and shows its figures and its table."""
    import nbformat
    from nbclient import NotebookClient

    target = tmp_path / f"{path.stem}.ipynb"
    jupytext.write(jupytext.read(path), target)
    notebook = nbformat.read(target, as_version=4)
    where = {"metadata": {"path": str(FOLDER)}}
    NotebookClient(
        notebook, timeout=LIMIT, kernel_name="python3", resources=where
    ).execute()
    outputs = [o for c in notebook.cells for o in c.get("outputs", [])]
    shown = [o for o in outputs if "image/png" in o.get("data", {})]
    told = "".join(o.text for o in outputs if o.output_type == "stream")
    assert len(shown) >= 2
    assert "by hand" in told
    assert "Warning" not in told


def test_the_table_says_no_when_a_row_misses(monkeypatch, capsys):
    """The judge of all notebooks fails a row beyond its limit, and only then."""
    monkeypatch.syspath_prepend(str(FOLDER))
    from sketch import error_table

    good = ("one", "mm", 100.0, 100.9, 0.01)
    shown = ("two", "mm", 100.0, 200.0, None)
    assert error_table([good, shown])
    assert not error_table([good, ("three", "mm", 100.0, 101.1, 0.01)])
    assert not error_table([good, ("four", "mm", 100.0, 98.9, 0.01)])
    assert not error_table([good, ("five", "mm", 100.0, float("nan"), 0.01)])
    assert "1.10 %" in capsys.readouterr().out
