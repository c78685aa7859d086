"""Install the lowest release that pyproject.toml allows of every dependency, and test.

Usage: python3 .ci/lowest_versions.py [folder for the virtual environment]

The lower bounds are promises; this run is where they are kept.
It needs the oldest Python of ``requires-python``, for which alone such old releases
have wheels, and takes some minutes; it is no part of .ci/run.
"""

import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LINE = re.compile(r"([\w.-]+)\s*>=\s*([\w.]+)")
TEST_TOOLS = ("pytest", "pytest-xdist", "hypothesis")
"""Of the extra ``dev``, what the tests below need; the rest checks text."""

TESTS = (
    "tests/test_cli.py::test_a_quick_look_never_clears",
    "tests/test_mesh_command.py",
    "tests/run/test_export.py",
    "tests/report/test_outputs.py",
    "tests/report/test_design_sheet.py",
    "tests/mesh",
    "tests/plane",
    "tests/fatigue",
)
"""Tests that meet every dependency: command line, screening, pictures, files."""

LIBRARIES_WARN = "ignore::DeprecationWarning"
"""Old releases of libraries warn of each other; the package's own tests elsewhere run
with warnings as errors."""


def lowest():
    """Lowest release of each dependency and of the tools of the tests."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    bounds = [LINE.match(line) for line in project["dependencies"]]
    if None in bounds:
        sys.exit("pyproject.toml: a dependency without lower bound (name>=release)")
    tools = map(LINE.match, project["optional-dependencies"]["dev"])
    bounds += [bound for bound in tools if bound[1] in TEST_TOOLS]
    return [f"{bound[1]}=={bound[2]}" for bound in bounds]


def oldest_python():
    """Oldest Python of ``requires-python``, as (3, 11)."""
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    bound = tomllib.loads(text)["project"]["requires-python"]
    return tuple(int(part) for part in re.search(r">=([\d.]+)", bound)[1].split("."))


def main():
    """Make the environment, show what is in it, run the tests."""
    if sys.version_info[:2] != oldest_python():
        needed = ".".join(map(str, oldest_python()))
        sys.exit(f"run it with Python {needed}, the oldest allowed: this is another")
    given = sys.argv[1:] or [tempfile.mkdtemp(prefix="lowest-")]
    python = str(Path(given[0], "bin", "python"))
    pip = [python, "-m", "pip", "--disable-pip-version-check"]
    steps = (
        [sys.executable, "-m", "venv", given[0]],
        [*pip, "install", "--quiet", "setuptools>=77", *lowest()],
        [*pip, "install", "--quiet", "--no-deps", "--no-build-isolation", "-e", ROOT],
        [*pip, "check"],
        [*pip, "list"],
        [python, "-m", "pytest", "-q", "-n", "2", "-W", LIBRARIES_WARN, *TESTS],
    )
    for step in steps:
        print("$", *step, flush=True)
        if code := subprocess.run(step, cwd=ROOT, check=False).returncode:
            sys.exit(code)


if __name__ == "__main__":
    main()
