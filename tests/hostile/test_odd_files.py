"""Files that are no files, and contents no reader can be trusted with."""

import os
import re
from pathlib import Path

import meshio
import numpy as np
import pytest

from spokecheck.errors import DesignError, InputError
from spokecheck.mesh.reading_process import read_mesh_apart
from spokecheck.run.cache import key_of
from spokecheck.screen.request import Request
from spokecheck.wheel.elsewhere.paired_files import mesh_files
from spokecheck.wheel.reading.read import parse_design, read_brief, read_design
from spokecheck.wheel.source import read_source
from tests.hostile.cases import ASPEN, SIDECAR, command, run

TEXT = ASPEN.read_text(encoding="utf-8")
PLATE = Path("meshes/gallery/plate.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a = " + "[" * 3000 + "]" * 3000, "nested too deep"),
        ("a = " + "{a=" * 3000 + "1" + "}" * 3000, "nested too deep"),
        (".".join("a" * 9000) + " = 1", "a key of more than 40 parts"),
        ("[[a]]\n[a" + ".a" * 14 + "]\n", "nested deeper than 12 levels"),
        ("a = " + "9" * 5000, "number out of range"),
        ("a = 0x" + "f" * 9000, "an integer beyond 64 bits"),
        ("a = nan", "finite"),
        ("".join(f"k{k} = 1\n" for k in range(30000)), "more than 20000 values"),
        (TEXT + "".join(f"k{k} = 1\n" for k in range(500)), "440 more faults"),
        (TEXT.replace("Aspen", "\\u001b[2J"), "control character U+001B"),
        (TEXT + '"\\u202e" = 1\n', "right-to-left override"),
        (
            PLATE.replace("[spokes.plate]", "[spokes.plate]\ncircel_mm = 1"),
            "circle_mm?",
        ),
        (TEXT + "[spokes.pocket]\nwal_mm = 3\n", "did you mean wall_mm?"),
    ],
)
def test_a_text_that_was_a_traceback_is_a_fault(text, words):
    """Every fault has a name, whatever the text does to the parser."""
    with pytest.raises(DesignError, match=re.escape(words)):
        parse_design(text)


def test_pipes_and_devices_are_refused_at_once(tmp_path):
    """Nobody waits for a pipe that nobody writes to, or a device without an end."""
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero")):
        with pytest.raises(DesignError, match="pipe or a device"):
            read_design(path)
        code, _, err = run(command("procedures", "--procedure-file", path))
        assert code == 2
        assert "pipe or a device" in err


@pytest.mark.parametrize("name", ["x" * 300, "a\x1bb.toml", "a\nb.toml"])
def test_names_that_no_file_should_have(tmp_path, name):
    """Too long, or with control characters: bad input, shown with their numbers."""
    code, _, err = run(command("loads", tmp_path / name))
    assert code == 2
    assert "\x1b" not in err


def test_loops_of_links_are_bad_input(tmp_path):
    """A link to itself is named, and the file beside it is read."""
    loop = tmp_path / "loop.toml"
    os.symlink("loop.toml", loop)
    (tmp_path / "sound.toml").write_text(TEXT, encoding="utf-8")
    code, out, err = run(command("loads", tmp_path))
    assert code == 2
    assert "loop.toml" in "".join(err.split())  # wherever the line is broken
    assert "Aspen 5" in out


@pytest.mark.parametrize("name", ["sub/x.step", "..", "a\\\\b", "x" * 300, ""])
def test_a_mesh_that_cannot_lie_beside_its_sidecar_is_bad_input(tmp_path, name):
    """The key is named; a folder or a name of 300 characters is no crash."""
    path = tmp_path / "a.toml"
    text = SIDECAR.replace("[mesh]", f'[mesh]\nfile = "{name}"')
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DesignError, match=r"mesh\.file"):
        read_source(path)


def test_a_surface_may_have_several_groups(tmp_path):
    """A list of groups is read, as the table says."""
    path = tmp_path / "a.toml"
    path.write_text(SIDECAR, encoding="utf-8")
    assert read_brief(path).groups("bead seat inboard") == ("a", "b")


POINTS = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
MEDIT = """MeshVersionFormatted 1
Dimension 3
Vertices
4
0 0 0 0
1 0 0 0
0 1 0 0
0 0 1 0
Tetrahedra
1
1 2 3 9 0
End
"""


def refusal(path, limit=60.0):
    """Message with which a mesh file is refused."""
    with pytest.raises(InputError) as caught:
        read_mesh_apart(mesh_files(path), limit)
    return str(caught.value)


def test_a_mesh_of_too_much_memory_is_refused(tmp_path):
    """A file of 40 bytes that asks for 26 TB costs no memory here."""
    (tmp_path / "a.node").write_text("900000000000 3 0 0\n1 0 0 0\n")
    (tmp_path / "a.ele").write_text("1 4 0\n1 1 2 3 4\n")
    assert "allocate" in refusal(tmp_path / "a.ele")


def test_a_mesh_that_never_ends_is_ended(tmp_path):
    """An empty file keeps a reader waiting for its first line for ever."""
    (tmp_path / "a.node").write_text("")
    (tmp_path / "a.ele").write_text("")
    assert "took over 2 s" in refusal(tmp_path / "a.ele", 2.0)


def test_a_node_that_does_not_exist_is_refused(tmp_path):
    """The number is named; as an index it would count from the end, or crash."""
    (tmp_path / "a.mesh").write_text(MEDIT)
    assert "node 8 does not exist: the file has 4" in refusal(tmp_path / "a.mesh")


def test_a_mesh_that_asks_for_another_file_is_refused(tmp_path):
    """What nobody named is neither read nor part of the checksum."""
    (tmp_path / "other.inp").write_text("*NODE\n")
    (tmp_path / "a.inp").write_text("*NODE\n1,0,0,0\n*INCLUDE,INPUT=other.inp\n")
    assert "asks for another file" in refusal(tmp_path / "a.inp")


def test_both_files_of_a_mesh_count(tmp_path):
    """Cache key and checksum change with the points, not with the cells alone."""
    meshio.write(tmp_path / "a.ele", meshio.Mesh(POINTS, [("tetra", [[0, 1, 2, 3]])]))
    sidecar = tmp_path / "a.ele.toml"
    sidecar.write_text(SIDECAR, encoding="utf-8")

    def seen():
        key = key_of(sidecar, Request(), "x")
        return key, read_source(sidecar).wheel.origin.sha256

    first = seen()
    points = tmp_path / "a.node"
    points.write_text(points.read_text().replace("1.0", "1.5"))
    assert all(one != other for one, other in zip(first, seen(), strict=True))
