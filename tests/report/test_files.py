"""Files are whole or not there."""

import os

import pytest

from spokecheck.report.whole_files import write_text, write_whole


def test_failed_write_leaves_the_old_file_and_no_part(tmp_path):
    """A writer that fails half-way leaves the older file and nothing beside it."""
    path = write_text(tmp_path / "deep" / "a.json", "old")

    def fail(part):
        part.write_text("half", encoding="utf-8")
        raise RuntimeError("no more paper")

    with pytest.raises(RuntimeError, match="no more paper"):
        write_whole(path, fail)
    assert path.read_text(encoding="utf-8") == "old"
    assert list(path.parent.iterdir()) == [path]


def test_new_file_obeys_the_umask(tmp_path):
    """The file gets the permissions of any new file, not those of a private one."""
    plain = tmp_path / "plain"
    plain.touch()
    written = write_text(tmp_path / "a.txt", "x")
    assert os.stat(written).st_mode == os.stat(plain).st_mode


def test_line_ends_do_not_depend_on_the_platform(tmp_path):
    """A newline is one byte."""
    assert write_text(tmp_path / "a.txt", "a\nb\n").read_bytes() == b"a\nb\n"
