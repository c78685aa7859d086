"""What is imported is declared in pyproject.toml, and what is declared is imported."""

import ast
import re
import sys
import tomllib
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))[
    "project"
]
EXTRAS = {
    "spokecheck": (),
    "meshes": (),
    ".ci": (),
    "notebooks": ("notebooks",),
    "tests": ("dev", "bench", "notebooks"),
}
"""Extras whose packages a folder may import beside the dependencies proper."""

BROUGHT_BY = {"netgen": "netgen-mesher", "skfem": "scikit-fem"}
"""Distributions of modules that an extra brings, for machines without that extra."""


def normalised(name):
    """Name of a distribution as the packaging standard compares it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def declared(extras=()):
    """Distributions named by the dependencies and by some extras."""
    lists = [PROJECT["dependencies"]]
    lists += [PROJECT["optional-dependencies"][extra] for extra in extras]
    return {
        normalised(re.match(r"[\w.-]+", line)[0]) for some in lists for line in some
    }


@cache
def distributions():
    """Import names of all installed distributions."""
    return packages_distributions()


def providers(name):
    """Distributions that bring a module; one that is not installed goes by its name."""
    unknown = [BROUGHT_BY.get(name, name)]
    return {normalised(found) for found in distributions().get(name, unknown)}


def imported(text):
    """Top-level names that a source file imports, those inside functions too."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield node.module.split(".")[0]


def foreign(path):
    """Names a file imports that are neither Python's nor this project's."""
    beside = (*path.parent.glob("*.py"), *(ROOT / "notebooks").glob("*.py"))
    own = {"spokecheck", "tests", *(file.stem for file in beside)}
    names = set(imported(path.read_text(encoding="utf-8")))
    return names - own - sys.stdlib_module_names


def undeclared(folder):
    """Imports of a folder that no declared distribution brings."""
    allowed = declared(EXTRAS[folder.name])
    for path in sorted(folder.rglob("*.py")):
        for name in sorted(foreign(path)):
            if not providers(name) & allowed:
                yield f"{path.relative_to(folder)} imports {name}"


@pytest.mark.parametrize("folder", EXTRAS)
def test_every_import_is_declared(folder):
    """Every module imported comes from a declared distribution."""
    assert list(undeclared(ROOT / folder)) == []


def test_every_dependency_is_imported():
    """No dependency is declared that the package never imports."""
    files = (ROOT / "spokecheck").rglob("*.py")
    names = {name for path in files for name in foreign(path)}
    assert declared() <= {found for name in names for found in providers(name)}


@pytest.mark.parametrize(
    ("folder", "line", "seen"),
    [
        ("spokecheck", "import pandas", True),
        ("spokecheck", "def f():\n    from pytest import raises", True),
        ("spokecheck", "from PIL import Image", False),
        ("tests", "import skfem", False),
        ("tests", "from . import sister", False),
        ("notebooks", "import hypothesis", True),
    ],
)
def test_a_planted_import_is_seen(folder, line, seen, tmp_path):
    """An undeclared import is reported, a declared one is not."""
    (tmp_path / folder).mkdir()
    (tmp_path / folder / "planted.py").write_text(line)
    assert bool(list(undeclared(tmp_path / folder))) is seen


def test_every_dependency_has_a_lower_bound():
    """The script that installs the lowest releases finds one for each."""
    bounds = [line.split(">=") for line in PROJECT["dependencies"]]
    assert all(len(parts) == 2 and parts[1][0].isdigit() for parts in bounds)


def test_the_versions_of_python_are_stated():
    """The classifiers are those of the workflow's matrix, the first is the bound."""
    text = (ROOT / ".github/workflows/checks.yml").read_text(encoding="utf-8")
    tested = re.findall(r'"(3\.\d+)"', text)
    stated = [c.rpartition(" ")[2] for c in PROJECT["classifiers"] if " 3." in c]
    stated = [each for each in stated if "." in each]
    assert stated == tested == ["3.11", "3.12", "3.13"]
    assert PROJECT["requires-python"] == f">={tested[0]}"
