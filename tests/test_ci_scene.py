"""A repository of designs gated by the tool, with the very commands of the examples.

The designs are copies of two examples: files of one content are screened once, so the
scene costs two screenings, and a third for the file that is changed.
"""

import os
import re
import shlex
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

ROOT = Path(__file__).resolve().parent.parent
ASPEN = (ROOT / "meshes/designs/aspen-cast-5.toml").read_text(encoding="utf-8")
DOGWOOD = (ROOT / "meshes/designs/dogwood-weak-5.toml").read_text(encoding="utf-8")
WORKFLOW = (ROOT / ".ci/example-workflow.yml").read_text(encoding="utf-8")
HOOKS = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")

SOUND = (
    *(f"wheels/{folder}/wheel.toml" for folder in ("a", "b", "c d", "über")),
    "wheels/räder 18/Esche 5.toml",
    "wheels/räder 18/it's.toml",
    "wheels/räder 18/[x].toml",
    *(f"wheels/s{k}.toml" for k in range(1, 9)),
)
WEAK = ("wheels/a/weak.toml", "wheels/b/weak.toml", "wheels/schwach.toml")
INVALID = {
    "wheels/invalid.toml": ASPEN.replace("count = 5", "count = 2"),
    "wheels/b/broken.toml": ASPEN.replace("[hub]", "[hub"),
}
JUNK = {
    "pyproject.toml": "[tool.x]\ny = 1\n",
    "wheels/notes.txt": "no design\n",
    "drafts/draft.toml": "name = 3\n",
    "wheels/cargo.toml": "[package]\n",
}
SETTINGS = 'ignore = ["drafts"]\nallowed_alloys = ["a356-t6-low-pressure", "{}"]\n'
PIPE, LOOP = "wheels/pipe.toml", "wheels/loop.toml"
BAD = {*INVALID, PIPE, LOOP}


def git(folder, *words):
    """Run git with an identity of its own."""
    identity = ("-c", "user.name=A", "-c", "user.email=a@example.org")
    command = ("git", "-C", folder, *identity, "-c", "init.defaultBranch=main", *words)
    subprocess.run(command, check=True, capture_output=True)


def step(name):
    """Command of a step of the workflow."""
    found = re.search(
        rf"^      - name: {name}\n(?:        if: .*\n)?        run: (?:>-\n)?(.*?)"
        r"(?=^      - |\Z)",
        WORKFLOW,
        re.DOTALL | re.MULTILINE,
    )
    return " ".join(found[1].split())


@pytest.fixture(scope="module")
def repository(tmp_path_factory):
    """Twenty design files, a pipe, a loop of links and junk, committed."""
    folder = tmp_path_factory.mktemp("designs")
    weak_alloy = re.search(r'^alloy = "(.*)"', DOGWOOD, re.MULTILINE)[1]
    files = {
        **dict.fromkeys(SOUND, ASPEN),
        **dict.fromkeys(WEAK, DOGWOOD),
        **INVALID,
        **JUNK,
        "spokecheck.toml": SETTINGS.format(weak_alloy),
        ".gitignore": "spokecheck-out\n.spokecheck-cache\n",
    }
    assert len(SOUND) + len(WEAK) + len(INVALID) == 20
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    (folder / LOOP).symlink_to("loop.toml")
    (folder / "wheels/up").symlink_to("..")
    os.mkfifo(folder / PIPE)
    git(folder, "init")
    git(folder, "add", ".")
    git(folder, "commit", "-m", "first")
    shim = folder / ".git" / "spokecheck"
    shim.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m spokecheck "$@"')
    shim.chmod(0o755)
    return folder


def surroundings(folder, since=""):
    """Environment of a job in the repository."""
    return {
        **os.environ,
        "PATH": f"{folder / '.git'}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "SINCE": since,
        "GITHUB_STEP_SUMMARY": str(folder / ".git" / "page.md"),
    }


def run_step(folder, name, since="", more=""):
    """Run a step of the workflow in the repository."""
    return subprocess.run(
        ["bash", "-c", f"{step(name)} {more}"],
        cwd=folder,
        env=surroundings(folder, since),
        check=False,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )


def suites(folder):
    """Suites of the JUnit file by name."""
    root = ET.parse(folder / "spokecheck-out/junit.xml").getroot()
    return {suite.get("name"): suite for suite in root}


@pytest.mark.slow  # 2 minutes on quiet cores, 4 on busy ones
def test_the_scene(repository):
    """Exit code, JUnit, summary, remarks; then nothing changed; then one file did."""
    first = run_step(repository, "screen", more="--no-pictures")
    assert first.returncode == 2, first.stderr
    found = suites(repository)
    assert set(found) == {*SOUND, *WEAK, *BAD}
    assert {n for n, s in found.items() if int(s.get("errors"))} == BAD
    assert {n for n, s in found.items() if int(s.get("failures"))} == set(WEAK)
    remarks = re.findall(r"^::error file=(.*?),line=(\d+),", first.stdout, re.MULTILINE)
    assert {file for file, _ in remarks} == {*BAD, *WEAK}
    fault = INVALID["wheels/invalid.toml"].splitlines()
    lines = [int(line) for file, line in remarks if file == "wheels/invalid.toml"]
    assert fault[lines[0] - 1] == "count = 2"
    assert run_step(repository, "summary").returncode == 0
    page = (repository / ".git" / "page.md").read_text(encoding="utf-8")
    head = "22 designs: 4 bad input, 3 does not clear, 15 clears"
    assert head in page
    assert "über/wheel.toml" in page
    assert len(list((repository / "spokecheck-out").glob("*.html"))) == 18

    start = time.monotonic()
    again = run_step(repository, "screen", more="--no-pictures")
    print(f"nothing changed: {time.monotonic() - start:.1f} s")
    assert again.returncode == 2
    assert "stored result shown for 18 of 22" in again.stderr
    assert Counter(again.stdout.splitlines()).total() == len(first.stdout.splitlines())

    changed = repository / "wheels/über/wheel.toml"
    changed.write_text(ASPEN.replace("Aspen 5", "Aspen 5 neu"), encoding="utf-8")
    git(repository, "add", "wheels/über")
    git(repository, "commit", "-m", "second")
    one = run_step(repository, "screen", since="HEAD~1", more="--no-pictures")
    assert one.returncode == 0, one.stderr
    assert set(suites(repository)) == {"wheels/über/wheel.toml"}, one.stderr
