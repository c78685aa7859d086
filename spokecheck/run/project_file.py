"""The settings a repository of designs keeps in ``spokecheck.toml``.

The file is looked for from the folder of the designs upward, no further than the root
of their repository.
Whatever the command line gives takes the place of its keys.
"""

import os
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from importlib.resources import files
from pathlib import Path, PurePosixPath
from typing import Any

from pydantic import Field, ValidationError

from spokecheck.errors import Fault, InputError, InputFileError
from spokecheck.screen.verdict import LEAST_REQUIRED, MOST_REQUIRED
from spokecheck.toml_file import field_fault, parse_toml, read_text
from spokecheck.wheel.tables.key_fields import StrictTable

NAME = "spokecheck.toml"
WHAT = "project file"


class Settings(StrictTable):
    """Keys of the file; paths and patterns are relative to its folder."""

    required_margin: float | None = Field(
        default=None,
        ge=LEAST_REQUIRED,
        le=MOST_REQUIRED,
        description="Margin, less its error bar, from which a design clears",
    )
    procedures: tuple[str, ...] = Field(
        default=(), strict=False, description="Test procedures, in place of a design's"
    )
    procedure_file: str | None = Field(
        default=None, description="TOML file of your own procedures"
    )
    screen: tuple[str, ...] = Field(
        default=(), strict=False, description="Folders and patterns of design files"
    )
    ignore: tuple[str, ...] = Field(
        default=(), strict=False, description="Folders and patterns to leave out"
    )
    allowed_alloys: tuple[str, ...] = Field(
        default=(), strict=False, description="Alloys a design may name"
    )
    against: str | None = Field(
        default=None, description="Folder or JSON file of an earlier run"
    )
    allow_fall_percent: float | None = Field(
        default=None, ge=0, le=50, description="Fall of a margin that is let pass"
    )


@dataclass(frozen=True)
class Project:
    """A project file that was read.

    Attributes
    ----------
    file : Path
    settings : Settings
    """

    file: Path
    settings: Settings

    @property
    def folder(self) -> Path:
        """Folder that its paths and patterns are relative to."""
        return self.file.parent

    def path(self, name: str | None) -> Path | None:
        """A path that it names."""
        return None if name is None else self.folder / name

    @property
    def words(self) -> str:
        """Its settings in one line."""
        given = self.settings.model_dump(exclude_defaults=True)
        shown = [f"{key} {_in_words(value)}" for key, value in given.items()]
        return f"Settings of {self.file}: {'; '.join(shown) or 'none'}"


def _in_words(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def find_project(paths: Sequence[Path]) -> Project | None:
    """Read the project file that holds for some designs, if there is one.

    Parameters
    ----------
    paths : sequence of Path
        Design files and folders of them; the present folder if there are none.

    Returns
    -------
    Project or None

    Raises
    ------
    InputError
        If two of them lie under different project files.
    InputFileError
        With every fault of the file.
    """
    found: dict[str, Path] = {}
    for path in paths or [Path()]:
        file = _above(path if os.path.isdir(path) else path.parent)
        if file is not None:
            found.setdefault(os.path.realpath(file), file)
    if len(found) > 1:
        raise InputError(
            f"designs of {len(found)} project files ({', '.join(map(str, found))}): "
            "screen them one by one"
        )
    return next((read_project(file) for file in found.values()), None)


def _above(folder: Path) -> Path | None:
    """Project file of a folder or of the next folder above that has one."""
    here = Path(os.path.realpath(folder))
    for depth, above in enumerate((here, *here.parents)):
        if (above / NAME).is_file():
            # named as the user would from the folder given, as far as that is shorter
            near = Path(os.path.normpath(folder.joinpath(*[".."] * depth, NAME)))
            return near if near.is_file() else above / NAME
        if (above / ".git").exists():
            return None
    return None


def read_project(file: Path) -> Project:
    """Read a project file.

    Raises
    ------
    InputFileError
        With every fault: unreadable, unknown keys, values out of range, files that are
        not there, procedures and alloys that nobody knows.
    """
    failure = partial(InputFileError, str(file), what=WHAT)
    raw = parse_toml(read_text(file, failure), failure)
    try:
        settings = Settings.model_validate(raw)
        faults = []
    except ValidationError as error:
        faults = [field_fault(e, Settings) for e in error.errors(include_url=False)]
        bad = {str(e["loc"][0]) for e in error.errors()}
        good = {k: v for k, v in raw.items() if k not in bad}
        settings = Settings.model_validate(good)
    faults += _outside_faults(Project(file, settings))
    if faults:
        raise failure(faults)
    return Project(file, settings)


def _outside_faults(project: Project) -> list[Fault]:
    """Faults in what the file says of other files, procedures and alloys."""
    settings = project.settings
    faults = []
    for key in ("procedure_file", "against"):
        path = project.path(getattr(settings, key))
        if path is not None and not path.exists():
            fault = Fault(key, str(path), "no such file", "check the path")
            faults.append(fault)
    for key in ("screen", "ignore"):
        for pattern in getattr(settings, key):
            parts = PurePosixPath(pattern).parts
            here = pattern in (".", "./")
            if not (parts or here) or pattern.startswith("/") or ".." in parts:
                limit = "must stay in the folder of this file"
                remedy = "give a path relative to it, such as wheels or wheels/*.toml"
                faults.append(Fault(key, repr(pattern), limit, remedy))
    faults += _unknown("allowed_alloys", settings.allowed_alloys, _alloy_ids())
    if settings.procedures and not faults:
        faults += _unknown("procedures", settings.procedures, _procedures(project))
    return faults


def _unknown(key: str, names: Sequence[str], known: Sequence[str]) -> list[Fault]:
    return [
        Fault(key, repr(name), "is not known", f"choose from {', '.join(known)}")
        for name in names
        if name not in known
    ]


def _alloy_ids() -> tuple[str, ...]:
    """Identifiers of the alloys, without importing what computes with them."""
    text = files("spokecheck.fatigue").joinpath("alloys.toml").read_text("utf-8")
    tables: dict[str, Any] = tomllib.loads(text)
    return tuple(tables["alloy"])


def _procedures(project: Project) -> tuple[str, ...]:
    from spokecheck.cases.library import read_procedures

    return tuple(read_procedures(project.path(project.settings.procedure_file)))
