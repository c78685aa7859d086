"""The guides name what is there, and the README says what its commands print."""

import ast
import re
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "spokecheck"
GUIDES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    *sorted(PACKAGE.rglob("README.md")),
    *sorted((ROOT / "tests").rglob("README.md")),
    *sorted((ROOT / "notebooks").glob("README.md")),
    *sorted((ROOT / "meshes").rglob("README.md")),
]
FILE = re.compile(r"`([\w./-]+\.(?:py|css|html)|[\w.-]+/[\w./-]+\.(?:toml|md|yml))`")
CONSTANT = re.compile(
    r"`([A-Z][A-Z_0-9]+|_\w+|\w+(?:\.\w+)?)` (?:in|of) `([\w./-]+\.py)`"
)
WRITTEN = "spokecheck-out/"
"""What begins so is written by a command."""
LONGEST_GUIDE = 150
LONGEST_SENTENCE = 20


def name(path):
    """Path as a test identifier."""
    return str(path.relative_to(ROOT))


def located(word, guide):
    """File that a guide means: from the top, from the package, or beside the guide."""
    for base in (ROOT, PACKAGE, guide.parent):
        if (base / word).is_file():
            return base / word
    return None


def absent_files(text, guide):
    """Files named in a guide that are not there."""
    words = {w for w in FILE.findall(text) if not w.startswith(WRITTEN)}
    return sorted(word for word in words if located(word, guide) is None)


def absent_names(text, guide):
    """Names that a guide places in a file which has no such word."""
    for word, file in CONSTANT.findall(text):
        path = located(file, guide)
        source = path.read_text(encoding="utf-8") if path else ""
        for part in word.split("."):
            if not re.search(rf"\b{part}\b", source):
                yield f"{part} in {file}"


@pytest.mark.parametrize("guide", GUIDES, ids=name)
def test_files_and_names_in_a_guide_exist(guide):
    """Every file a guide names is there, and holds the names the guide finds in it."""
    text = guide.read_text(encoding="utf-8")
    assert absent_files(text, guide) == []
    assert list(absent_names(text, guide)) == []


def test_a_planted_path_is_seen():
    """A file and a constant that do not exist are reported."""
    guide = ROOT / "DEVELOPERS.md"
    assert absent_files("`fem/nothing.py`", guide) == ["fem/nothing.py"]
    assert absent_files("`fem/fronts.py`, `spokecheck-out/a.html`", guide) == []
    lost = absent_names("`NOTHING` in `fem/fronts.py`", guide)
    assert list(lost) == ["NOTHING in fem/fronts.py"]


def reading_order(path):
    """Modules that a package's docstring lists after "Reading order"."""
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return re.findall(r"``(\w+)``", text.partition("Reading order")[2])


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("__init__.py")), ids=name)
def test_reading_order_names_modules(path):
    """The reading order of a package consists of modules it has."""
    there = {p.stem for p in path.parent.iterdir() if p.suffix == ".py" or p.is_dir()}
    assert [word for word in reading_order(path) if word not in there] == []


def test_readme_begins_with_short_sentences():
    """The first paragraph describes the job; no sentence has more than 20 words."""
    _, paragraph, caution, *_ = (ROOT / "README.md").read_text("utf-8").split("\n\n")
    assert caution.startswith("> **Caution.**")
    for sentence in re.split(r"(?<=\.)\s", paragraph):
        assert len(sentence.split()) <= LONGEST_SENTENCE, sentence


def test_guide_for_developers_is_short():
    """Three screens of 50 lines."""
    lines = (ROOT / "DEVELOPERS.md").read_text("utf-8").splitlines()
    assert len(lines) <= LONGEST_GUIDE


def test_version_and_licence_agree():
    """pyproject.toml and CITATION.cff give the same; the changelog has the version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    citation = (ROOT / "CITATION.cff").read_text("utf-8").splitlines()
    assert f"version: {project['version']}" in citation
    assert f"license: {project['license']}" in citation
    changes = (ROOT / "CHANGELOG.md").read_text("utf-8")
    assert f"\n## {project['version']}" in changes


def test_workflow_calls_the_two_scripts_alone():
    """What is checked stands in .ci; the workflow adds nothing of its own."""
    text = (ROOT / ".github/workflows/checks.yml").read_text("utf-8")
    assert re.findall(r"run: (.*)", text) == ["sh .ci/setup", ".ci/run"]
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    (versions,) = re.findall(r"python: \[(.*)\]", text)
    assert versions.split(", ")[0].strip('"') == project["requires-python"].strip(">=")


@pytest.fixture
def checker(monkeypatch):
    """The script that runs the README's commands."""
    monkeypatch.syspath_prepend(str(ROOT / ".ci"))
    yield __import__("readme_commands")
    sys.modules.pop("readme_commands", None)


PRINTED = "margin 1.18 is\nfine, life 7.50e6\n...\nerror 5.0 %\n"


@pytest.mark.parametrize(
    ("output", "lacking"),
    [
        ("x\nmargin 1.18 is fine,\n  life 7.50e6 y\nerror 5.0 %", None),
        ("margin 1.20 is fine, life 1.2e7 error 2.5 %", None),
        ("margin 1.25 is fine, life 7.50e6 error 5.0 %", "margin"),
        ("margin 1.18 is poor, life 7.50e6 error 5.0 %", "margin"),
        ("margin 1.18 is fine, life 1.6e7 error 5.0 %", "margin"),
        ("margin 1.18 is fine, life 7.50e6 error 8.1 %", "error"),
        ("error 5.0 % margin 1.18 is fine, life 7.50e6", "error"),
        ("margin 1.18 is fine, life", "margin"),
    ],
)
def test_printed_blocks_are_compared(checker, output, lacking):
    """Words must be the same and in order, numbers near the printed ones."""
    found = checker.missing(PRINTED, output)
    assert found is None if lacking is None else found.startswith(lacking)


def test_readme_shows_what_its_first_command_prints(checker):
    """The block after the first command is found, and its exit codes are read."""
    text = (ROOT / "README.md").read_text("utf-8")
    (language, code, printed), (_, second, _), *_ = checker.blocks(text)
    assert language == "sh"
    assert [status for _, status in checker.commands(code)] == [0]
    assert "worst margin" in printed
    assert second.strip() == ".venv/bin/pytest"
    assert ("x # exit code 3", 3) in checker.commands("x # exit code 3\n# note\n")
