"""Which files of a repository are designs.

A file that is named is one; below folders, the settings of the repository and the keys
of each file decide.
"""

import os
import re
import tomllib
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from spokecheck.errors import DesignError, Fault
from spokecheck.run.project_file import NAME, Project
from spokecheck.toml_file import LARGEST_FILE

SUFFIX = ".toml"

MOST_NAMES = 5
"""Files left out that a line names for each reason."""

DESIGN_KEYS = frozenset(
    "format name note rim hub bolts spokes duty material mesh surfaces".split()
)
"""First keys of design and sidecar files; a file with others only is neither."""


@dataclass(frozen=True)
class Selection:
    """Design files, and what was left out below the folders given.

    Attributes
    ----------
    designs : tuple of Path
        In the order given, those of a folder sorted; each file once.
    left_out : dict of Path to str
        TOML files that are no designs, or are ignored, with the reason.
    """

    designs: tuple[Path, ...]
    left_out: dict[Path, str] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """What was left out, in one line; empty for nothing."""
        reasons: dict[str, list[str]] = {}
        for path, reason in self.left_out.items():
            reasons.setdefault(reason, []).append(str(path))
        return "; ".join(f"{why}: {_some(files)}" for why, files in reasons.items())


def _some(names: Sequence[str]) -> str:
    """Names, cut where there are many."""
    more = len(names) - MOST_NAMES
    return ", ".join(names[:MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def select_designs(
    paths: Sequence[Path], project: Project | None = None, *, named_too: bool = False
) -> Selection:
    """Design files named, and those below folders named.

    Parameters
    ----------
    paths : sequence of Path
        Files and folders; the folder of the project file if there are none.
    project : Project, optional
        Which folders and patterns to screen, and which to ignore.
    named_too : bool
        Whether a file that is named is left out too if it is no design.

    Returns
    -------
    Selection

    Raises
    ------
    DesignError
        If a folder holds no design file.

    Notes
    -----
    Hidden folders are left out, and linked folders, which could lead in a circle.
    """
    if not paths and project is not None:
        paths = [project.folder]
    found: dict[str, Path] = {}
    left_out: dict[Path, str] = {}
    for path in paths:
        is_folder = os.path.isdir(path)  # Path fails on names too long
        here = 0
        for file in sorted(_toml_files(path)) if is_folder else [path]:
            reason = _reason(file, project) if is_folder or named_too else ""
            if reason:
                left_out[file] = reason
                continue
            here += 1
            found.setdefault(os.path.realpath(file), file)
        if is_folder and not here:
            remedy = "check the path" + (f" and {project.file}" if project else "")
            fault = Fault("folder", "", "no design file below it", remedy)
            raise DesignError(str(path), [fault])
    return Selection(tuple(found.values()), left_out)


def _toml_files(folder: Path) -> Iterator[Path]:
    for base, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in names:
            if name.endswith(SUFFIX) and name != NAME and not name.startswith("."):
                yield Path(base, name)


def _reason(file: Path, project: Project | None) -> str:
    """Why a file is no design to screen; empty if it is one."""
    if not _has_design_key(file):
        return "no design"
    if project is None:
        return ""
    inside = _inside(file, project.folder)
    settings = project.settings
    if inside is None:
        return ""
    if settings.screen and not _matches(inside, settings.screen):
        return f"not under screen in {project.file}"
    if _matches(inside, settings.ignore):
        return f"ignored by {project.file}"
    return ""


def _has_design_key(file: Path) -> bool:
    """Whether a file may be a design; one that cannot be read may, and is reported."""
    try:
        if not file.is_file() or file.stat().st_size > LARGEST_FILE:
            return True
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return True
    return not raw or not DESIGN_KEYS.isdisjoint(raw)


def _inside(file: Path, folder: Path) -> str | None:
    """Path of a file from a folder, with slashes; None if it lies elsewhere."""
    whole = Path(os.path.realpath(file.parent), file.name)
    try:
        return whole.relative_to(os.path.realpath(folder)).as_posix()
    except ValueError:
        return None


def _matches(inside: str, patterns: Sequence[str]) -> bool:
    """Whether a path or a folder above it matches one of the patterns.

    Examples
    --------
    >>> _matches("wheels/a/x.toml", ["wheels"]), _matches("wheels/x.toml", ["*.toml"])
    (True, False)
    >>> _matches("wheels/a/draft-1.toml", ["**/draft-*.toml"])
    True
    """
    text = unicodedata.normalize("NFC", inside)
    return any(_expression(pattern).match(text) for pattern in patterns)


def _expression(pattern: str) -> re.Pattern[str]:
    """Regular expression of a pattern: ``**/`` is any folders, ``*`` has no slash."""
    text = unicodedata.normalize("NFC", pattern).removeprefix("./").rstrip("/")
    if text in (".", ""):
        return re.compile("")
    pieces = {"**/": "(?:.*/)?", "**": ".*", "*": "[^/]*", "?": "[^/]"}
    parts = re.split(r"(\*\*/|\*\*|\*|\?)", text)
    body = "".join(pieces.get(part) or re.escape(part) for part in parts)
    return re.compile(f"{body}(?:/|$)", re.DOTALL)
