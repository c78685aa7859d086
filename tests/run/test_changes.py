"""Designs that changed since a revision, in repositories made here."""

import os
import subprocess
from shutil import which

import pytest

from spokecheck.errors import InputError
from spokecheck.run import changes
from spokecheck.run.changes import changed_designs

pytestmark = pytest.mark.skipif(not which("git"), reason="there is no git here")


def git(folder, *words):
    """Run git with an identity of its own."""
    identity = ("-c", "user.name=A", "-c", "user.email=a@example.org")
    subprocess.run(
        ("git", "-C", folder, *identity, "-c", "init.defaultBranch=main", *words),
        check=True,
        capture_output=True,
    )


@pytest.fixture
def repository(tmp_path):
    """A repository of two designs, a sidecar with its mesh, and a branch."""
    git(tmp_path, "init")
    for name in ("a.toml", "b ü.toml", "mesh.msh", "common.toml"):
        (tmp_path / name).write_text("x = 1\n")
    (tmp_path / "side.toml").write_text('[mesh]\nfile = "mesh.msh"\n')
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-m", "first")
    git(tmp_path, "checkout", "-b", "work")
    return tmp_path


def changed(folder, revision="main", common=()):
    """Names of the changed designs."""
    designs = [folder / name for name in ("a.toml", "b ü.toml", "side.toml")]
    return [path.name for path in changed_designs(designs, revision, common)]


def test_nothing_changed(repository):
    """The commit itself has changed nothing."""
    assert changed(repository) == []
    assert changed_designs([], "main") == []


def test_an_edit_counts_before_and_after_its_commit(repository):
    """The working tree is compared, and names with blanks and umlauts are read."""
    (repository / "b ü.toml").write_text("x = 2\n")
    assert changed(repository) == ["b ü.toml"]
    git(repository, "commit", "-am", "second")
    assert changed(repository) == ["b ü.toml"]
    assert changed(repository, "HEAD") == []


def test_a_mesh_changes_its_sidecar(repository):
    """A design counts as changed if a file it is read from changed."""
    (repository / "mesh.msh").write_text("other")
    assert changed(repository) == ["side.toml"]


def test_a_common_file_changes_all(repository):
    """A project or procedure file holds for every design."""
    common = repository / "common.toml"
    assert changed(repository, common=[common]) == []
    common.write_text("x = 2\n")
    assert len(changed(repository, common=[common])) == 3


def test_what_git_does_not_know_has_changed(repository):
    """New files, ignored ones, and links to files outside."""
    (repository / ".gitignore").write_text("c.toml\n")
    for name in ("c.toml", "d.toml"):
        (repository / name).write_text("x = 1\n")
    new = [repository / "c.toml", repository / "d.toml"]
    assert changed_designs(new, "main") == new


def test_a_link_changes_with_its_target(repository):
    """The bytes read are those of the target."""
    link = repository / "link.toml"
    link.symlink_to("a.toml")
    git(repository, "add", ".")
    git(repository, "commit", "-m", "link")
    assert changed_designs([link], "HEAD") == []
    (repository / "a.toml").write_text("x = 2\n")
    assert changed_designs([link], "HEAD") == [link]


def test_a_branch_is_compared_with_where_it_began(repository):
    """What main changed since is not this branch's."""
    git(repository, "checkout", "main")
    (repository / "a.toml").write_text("x = 3\n")
    git(repository, "commit", "-am", "on main")
    git(repository, "checkout", "work")
    assert changed(repository, "main") == []


@pytest.mark.parametrize("revision", ["none", "--output=x", ""])
def test_an_unknown_revision_is_bad_input(repository, revision):
    """The message says which, and what a shallow checkout lacks."""
    with pytest.raises(InputError, match="shallow"):
        changed(repository, revision)
    assert not (repository / "x").exists()


def test_no_repository_is_bad_input(tmp_path):
    """The message is git's, with the option that asked."""
    (tmp_path / "a.toml").write_text("")
    with pytest.raises(InputError, match=r"--changed-since main: .*not a git rep"):
        changed_designs([tmp_path / "a.toml"], "main")


def test_no_git_is_bad_input(repository, monkeypatch):
    """Without the program the message says so."""
    monkeypatch.setenv("PATH", "")
    with pytest.raises(InputError, match="there is no git here"):
        changed(repository)


def test_a_git_that_hangs_is_ended(repository, monkeypatch):
    """A time limit holds."""
    monkeypatch.setattr(changes, "TIME_LIMIT", 0.0)
    with pytest.raises(InputError, match="took over 0 s"):
        changed(repository)


def test_a_pipe_has_not_changed(repository):
    """No revision can hold one."""
    os.mkfifo(repository / "pipe.toml")
    assert changed_designs([repository / "pipe.toml"], "main") == []
