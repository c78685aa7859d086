"""Which files below a folder are designs."""

import os
import unicodedata
from pathlib import Path

import pytest

from spokecheck.errors import DesignError
from spokecheck.run.project_file import Project, Settings, find_project
from spokecheck.run.selection import select_designs

DESIGN = 'name = "A"\n'
OTHER = "[tool.ruff]\n"


def tree(folder, **files):
    """Files by path, with two underscores for a slash."""
    for name, text in files.items():
        path = folder / (name.replace("__", "/") + ".toml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def names(paths, base):
    """Paths from a folder."""
    return [path.relative_to(base).as_posix() for path in paths]


def settings(folder, **keys):
    """Project of a folder."""
    return Project(folder / "spokecheck.toml", Settings(**keys))


def test_folders_stand_for_the_designs_below_them(tmp_path):
    """Files are found at any depth, sorted, each once; a named one comes first."""
    tree(tmp_path, z=DESIGN, a__b__x=DESIGN, a__y=DESIGN)
    (tmp_path / "a" / "note.txt").write_text(DESIGN)
    found = select_designs([tmp_path / "z.toml", tmp_path])
    assert names(found.designs, tmp_path) == ["z.toml", "a/b/x.toml", "a/y.toml"]


def test_other_toml_files_are_left_out_and_reported(tmp_path):
    """A file without any key of a design is none; one that is no TOML may be."""
    tree(tmp_path, x=DESIGN, pyproject=OTHER, spokecheck="", broken="[[", empty="")
    found = select_designs([tmp_path])
    assert names(found.designs, tmp_path) == ["broken.toml", "empty.toml", "x.toml"]
    assert names(found.left_out, tmp_path) == ["pyproject.toml"]
    assert "no design" in found.words


def test_a_named_file_is_a_design_whatever_it_holds(tmp_path):
    """Unless the caller asks for a choice among named files too."""
    tree(tmp_path, pyproject=OTHER)
    file = tmp_path / "pyproject.toml"
    assert select_designs([file]).designs == (file,)
    assert select_designs([file], named_too=True).designs == ()


def test_hidden_folders_are_left_out(tmp_path):
    """What lies in .git or .venv is nobody's design."""
    tree(tmp_path, x=DESIGN)
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / "y.toml").write_text(DESIGN)
    assert names(select_designs([tmp_path]).designs, tmp_path) == ["x.toml"]


def test_links_in_a_circle_end(tmp_path):
    """A link to itself is one file, a linked folder is not entered."""
    tree(tmp_path, a__x=DESIGN)
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    (tmp_path / "a" / "up").symlink_to("..")
    assert names(select_designs([tmp_path]).designs, tmp_path) == [
        "a/x.toml",
        "loop.toml",
    ]


def test_a_pipe_is_not_opened(tmp_path):
    """It is listed, for the reader to refuse."""
    os.mkfifo(tmp_path / "pipe.toml")
    assert len(select_designs([tmp_path]).designs) == 1


@pytest.mark.parametrize(
    ("screen", "ignore", "left"),
    [
        ((), (), ["a/draft-1.toml", "a/x.toml", "b/y.toml", "ü.toml"]),
        (("a",), (), ["a/draft-1.toml", "a/x.toml"]),
        (("./a/",), ("**/draft-*.toml",), ["a/x.toml"]),
        (("*.toml",), (), ["ü.toml"]),
        ((".",), ("a", "b"), ["ü.toml"]),
        (("?/*.toml",), ("a/draft-?.toml",), ["a/x.toml", "b/y.toml"]),
        (("**/x.toml",), (), ["a/x.toml"]),
        (("ü.toml",), (), ["ü.toml"]),
        ((unicodedata.normalize("NFD", "ü.toml"),), (), ["ü.toml"]),
    ],
)
def test_patterns_choose(tmp_path, screen, ignore, left):
    """Folders, one star within a folder, two over folders; umlauts in either form."""
    tree(tmp_path, a__x=DESIGN, **{"a__draft-1": DESIGN}, b__y=DESIGN, ü=DESIGN)
    found = select_designs([], settings(tmp_path, screen=screen, ignore=ignore))
    assert names(found.designs, tmp_path) == left


def test_a_folder_without_designs_is_bad_input(tmp_path):
    """An empty folder is not an empty success; what was left out is not one either."""
    with pytest.raises(DesignError, match="no design file"):
        select_designs([tmp_path])
    tree(tmp_path, a__x=DESIGN)
    with pytest.raises(DesignError, match=r"check the path and .*spokecheck\.toml"):
        select_designs([tmp_path], settings(tmp_path, ignore=("a",)))


def test_a_name_that_no_file_can_have_is_left_to_the_reader():
    """It is no folder; what is wrong with it the reader says."""
    path = Path("x" * 300 + ".toml")
    assert find_project([path]) is None
    assert select_designs([path]).designs == (path,)
