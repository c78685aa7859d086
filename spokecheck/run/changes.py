"""Which designs changed since a revision of their repository, by git.

A design counts as changed if its file or a file it is read from differs from the
revision, is not tracked, or lies in a nested repository that changed.
What holds for all of them, such as the project file, counts for each; a pipe or device,
which no revision can hold, never counts.
"""

import os
import subprocess
from collections.abc import Sequence
from pathlib import Path

from spokecheck.errors import InputError
from spokecheck.wheel.elsewhere.paired_files import files_of

TIME_LIMIT = 60.0
"""Seconds that git may take."""


def changed_designs(
    designs: Sequence[Path], revision: str, common: Sequence[Path] = ()
) -> list[Path]:
    """Designs that changed since a revision.

    Parameters
    ----------
    designs : sequence of Path
        Design and sidecar files, all in one repository.
    revision : str
        Commit, branch or tag; what branched off is compared with where it did.
    common : sequence of Path
        Files that every design depends on.

    Returns
    -------
    list of Path
        In the order given.

    Raises
    ------
    InputError
        If there is no git, no repository, or no such revision in it.
    """
    if not designs:
        return []
    top = Path(_git(designs[0].parent, "rev-parse", "--show-toplevel", of=revision))
    tracked, changed = _files(top, revision)

    def is_changed(file: Path) -> bool:
        # a link counts as itself and as what it leads to
        itself = Path(os.path.realpath(file.parent), file.name)
        if os.path.lexists(file) and not (file.is_symlink() or file.is_file()):
            return False
        return any(
            place not in tracked or not changed.isdisjoint((place, *place.parents))
            for place in {itself, Path(os.path.realpath(file))}
        )

    if any(map(is_changed, common)):
        return list(designs)
    return [path for path in designs if any(map(is_changed, files_of(path, None)))]


def _files(top: Path, revision: str) -> tuple[set[Path], set[Path]]:
    """Files that git tracks, and those that differ from a revision."""
    commit = _git(
        top, "rev-parse", "--verify", "--end-of-options", f"{revision}^{{commit}}",
        of=revision,
    )  # fmt: skip
    try:
        base = _git(top, "merge-base", commit, "HEAD", of=revision)
    except InputError:  # no common past: compare with the revision itself
        base = commit
    tracked = _git(top, "ls-files", "--recurse-submodules", "-z", of=revision)
    changed = _git(
        top, "diff", "--name-only", "--no-renames", "-z", base, "--", of=revision
    )
    return (
        {top / name for name in tracked.split("\0")},
        {top / name for name in changed.split("\0") if name},
    )


def _git(folder: Path, *arguments: str, of: str) -> str:
    """What a git command prints, without the last line break."""
    option = f"--changed-since {of}"
    try:
        done = subprocess.run(
            ("git", "-C", str(folder), *arguments),
            capture_output=True,
            timeout=TIME_LIMIT,
            check=False,
        )
    except FileNotFoundError as error:
        raise InputError(
            f"{option}: there is no git here; install it, or leave the option out"
        ) from error
    except subprocess.TimeoutExpired as error:
        raise InputError(
            f"{option}: git {arguments[0]} took over {TIME_LIMIT:g} s; leave the "
            "option out"
        ) from error
    if done.returncode:
        reason = os.fsdecode(done.stderr).strip().splitlines() or ["no reason given"]
        raise InputError(
            f"{option}: {reason[0]} (git {arguments[0]} in {folder}); check the "
            "revision, and that the checkout holds it: a shallow one may not"
        )
    return os.fsdecode(done.stdout).removesuffix("\n")
