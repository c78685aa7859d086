"""One mutated file at a time, read as the commands read it, and what must hold."""

import io
import os
import re
import sys
import unicodedata
from contextlib import redirect_stderr, redirect_stdout
from functools import cache, partial
from importlib.resources import files
from pathlib import Path
from random import Random
from xml.etree import ElementTree as ET

import meshio
import numpy as np

from spokecheck.cases.procedure import requirements
from spokecheck.cli.commands import app
from spokecheck.cli.guard import guarded
from spokecheck.fatigue.alloys import read_alloys
from spokecheck.run.cache import key_of
from spokecheck.screen.request import Request
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.reading.read import read_brief
from spokecheck.wheel.source import read_source
from tests.hostile.mutations import mutated_bytes, mutated_text

ROOT = Path(__file__).resolve().parents[2]
ASPEN = ROOT / "meshes/designs/aspen-cast-5.toml"
SIDECAR = (ROOT / "meshes/elsewhere/aspen.step.toml").read_text(encoding="utf-8") + (
    '\n[surfaces]\n"bead seat inboard" = ["a", "b"]\n'
)
PROCEDURE = """
["house"]
extends = "un-r124"
title = "House procedure, invented"

[house.cornering]
friction = { value = 0.9, clause = "none", basis = "invented" }

[house.radial.pressure]
value = 450
clause = "none"
basis = "invented"
"""
SHARES = {"design": 40, "sidecar": 20, "procedure": 20, "alloy": 15, "mesh": 5}
"""Shares of the kinds of files [%]; a mesh takes half a second, others a hundredth."""

DRAWN = 0.02
"""Share of the designs that are drawn too, which takes a second."""

FORMATS = {
    "gmsh": ".msh", "vtk": ".vtk", "vtu": ".vtu", "abaqus": ".inp", "medit": ".mesh",
    "nastran": ".bdf", "netgen": ".vol", "su2": ".su2", "tetgen": ".ele",
}  # fmt: skip
SECOND_ORDER = ("gmsh", "vtk", "vtu", "abaqus")


@cache
def design_texts():
    """Texts of all committed designs."""
    folders = (ROOT / "meshes/designs", ROOT / "meshes/gallery")
    paths = [path for folder in folders for path in sorted(folder.glob("*.toml"))]
    return [path.read_text(encoding="utf-8") for path in paths]


@cache
def package_text(package, name):
    """A data file of the package."""
    return files(package).joinpath(name).read_text(encoding="utf-8")


@cache
def mesh_bytes(name, folder):
    """A small mesh in a format: its files, by suffix."""
    points = np.array(
        [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 1]], dtype=float
    )
    cells = np.array([[0, 1, 2, 3], [1, 2, 3, 4]])
    grid = meshio.Mesh(points, [("tetra", cells)])
    if name in SECOND_ORDER:
        ends = [(0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3)]
        ten, middles = [], []
        for cell in cells:
            new = len(points) + len(middles) + np.arange(6)
            middles += [points[cell[[a, b]]].mean(axis=0) for a, b in ends]
            ten.append([*cell, *new])
        grid = meshio.Mesh(np.array([*points, *middles]), [("tetra10", np.array(ten))])
    base = Path(folder) / f"plain{FORMATS[name]}"
    meshio.write(base, grid, file_format=name)
    found = {p.suffix: p.read_bytes() for p in base.parent.glob("plain.*")}
    for path in base.parent.glob("plain.*"):
        path.unlink()
    return found


def run(job):
    """Exit code of a job or a command, and what was printed on both streams."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = guarded(job)
    return code, out.getvalue(), err.getvalue()


def command(*words):
    """A command, as the command line runs it."""
    return partial(app, [str(word) for word in words], standalone_mode=False)


def judge(told, before, after, allowed=(0, 2)):
    """What does not hold of one run, in words; empty if all does."""
    code, out, err = told
    faults = []
    if code not in allowed:
        faults.append(f"exit code {code}")
    for stream in (out, err):
        if "Traceback" in stream or "unexpected" in stream:
            faults.append("traceback")
        raw = [c for c in stream if unicodedata.category(c) == "Cc" and c != "\n"]
        if raw or "\u202e" in stream:
            faults.append(f"control characters {raw[:5]}")
    if code == 2 and not err.strip():
        faults.append("bad input without a word")
    if after - before:
        faults.append(f"files {sorted(after - before)}")
    return faults


def tree(folder):
    """All files and folders below one, those of the results left out."""
    out = os.path.join(folder, "out")
    return {
        os.path.join(where, name)
        for where, folders, names in os.walk(folder)
        for name in (*folders, *names)
        if not os.path.join(where, name).startswith(out)
    }


class Cases:
    """Mutated files of one seed, written to and read from one folder."""

    def __init__(self, seed, folder):
        self.random, self.folder = Random(seed), Path(folder)
        self.file = self.folder / "case.toml"
        self.counts = dict.fromkeys((*SHARES, "accepted", "drawn"), 0)

    def one(self, kind=None):
        """Faults of one more case; its kind is drawn by the shares if not given."""
        if kind is None:
            (kind,) = self.random.choices(list(SHARES), list(SHARES.values()))
        self.counts[kind] += 1
        return getattr(self, kind)()

    def _judged(self, job, allowed=(0, 2)):
        before = tree(self.folder)
        told = run(job)
        self.counts["accepted"] += told[0] == 0
        return [
            f"{fault}: {told[2][:300]}"
            for fault in judge(told, before, tree(self.folder), allowed)
        ], told

    def _write(self, text):
        self.file.write_bytes(mutated_text(text, self.random))

    def design(self):
        """Read a design, derive its loads; now and then draw it."""
        self._write(self.random.choice(design_texts()))
        faults, told = self._judged(command("loads", self.file))
        key_of(self.file, Request(), "x")
        if not faults and told[0] == 0:
            faults = self._shown_as_written(told[1])
        if told[0] == 0 and self.random.random() < DRAWN:
            self.counts["drawn"] += 1
            out = self.folder / "out"
            more, drawn = self._judged(
                command("draw", self.file, "--out", out), (0, 2, 3)
            )
            faults += more
            if drawn[0] == 0:
                ET.parse(out / "case-drawing.svg")
        return faults

    def _shown_as_written(self, shown):
        """The name of the design stands in what is printed as it is in the file."""
        name = read_brief(self.file).name
        tight = re.sub(r"\s", "", name)
        return [] if tight in re.sub(r"\s", "", shown) else [f"{name!r} is not shown"]

    def sidecar(self):
        """Read a sidecar, move points to its frame, derive its loads."""
        self._write(SIDECAR)
        key_of(self.file, Request(), "x")

        def job():
            brief = read_brief(self.file)
            requirements(brief)
            if hasattr(brief, "mesh"):
                moved = brief.mesh.to_frame(np.ones((2, 3)))
                assert np.isfinite(moved).all(), "points moved to nowhere"

        return self._judged(job)[0]

    def procedure(self):
        """Read a procedure file, list it, and derive loads by it."""
        own = package_text("spokecheck.cases", "procedures.toml")
        text = self.random.choice(
            [PROCEDURE, PROCEDURE, own.replace("[un-r124", "[mine")]
        )
        self._write(text)
        given = ("--procedure-file", self.file)
        words = self.random.choice(
            [
                ("procedures",),
                ("procedures", "house"),
                ("loads", ASPEN, "--procedure", "house"),
            ]
        )
        return self._judged(command(*words, *given))[0]

    def alloy(self):
        """Read an alloy file."""
        self._write(package_text("spokecheck.fatigue", "alloys.toml"))
        return self._judged(lambda: read_alloys(self.file) and 0)[0]

    def mesh(self):
        """Read a mesh with its sidecar, and name its surfaces."""
        name = self.random.choice(list(FORMATS))
        raw = mesh_bytes(name, str(self.folder))
        hit = self.random.choice(list(raw))
        for suffix, content in raw.items():
            changed = mutated_bytes(content, self.random) if suffix == hit else content
            (self.folder / f"wheel{suffix}").write_bytes(changed)
        path = self.folder / f"wheel{FORMATS[name]}"
        self.file.write_text(SIDECAR, encoding="utf-8")

        def job():
            read_source(self.file, path).build(Fineness())

        return self._judged(job, (2,))[0]


def run_cases(count, seed, folder, kind=None):
    """Run cases; their counts by kind, and the faults with the files that gave them."""
    cases, found = Cases(seed, folder), []
    os.environ["COLUMNS"] = "400"
    for number in range(count):
        faults = cases.one(kind)
        if faults:
            found.append((number, faults, cases.file.read_bytes()))
            print(number, faults, file=sys.stderr, flush=True)
    return cases.counts, found
