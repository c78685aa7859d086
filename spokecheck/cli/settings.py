"""What holds for a run: the command line, else the project file, else the default."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from spokecheck.cli.console import err, out, reported
from spokecheck.errors import InputFileError
from spokecheck.screen.verdict import CLEARS

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.report.findings.annotations import Form
    from spokecheck.report.findings.baseline import Baseline
    from spokecheck.run.project_file import Project
    from spokecheck.run.selection import Selection


@dataclass(frozen=True, kw_only=True)
class Given:
    """What the command line gives in place of the project file; None or () if not.

    Attributes
    ----------
    required_margin : float or None
    procedures : tuple of str
    procedure_file : Path or None
    allowed_alloys : tuple of str
    against : Path or None
    allow_fall : float or None
        In percent.
    """

    required_margin: float | None = None
    procedures: tuple[str, ...] = ()
    procedure_file: Path | None = None
    allowed_alloys: tuple[str, ...] = ()
    against: Path | None = None
    allow_fall: float | None = None


@dataclass(frozen=True, kw_only=True)
class RunSettings:
    """Settings of one run.

    Attributes
    ----------
    project : Project or None
    selection : Selection
        The designs.
    required_margin, procedures, procedure_file, allowed_alloys
        As in the project file.
    baseline : Baseline or None
        Results of an earlier run.
    """

    project: "Project | None"
    selection: "Selection"
    required_margin: float
    procedures: tuple[str, ...]
    procedure_file: Path | None
    allowed_alloys: tuple[str, ...]
    baseline: "Baseline | None"

    @property
    def common_files(self) -> list[Path]:
        """Files that the result of every design depends on."""
        own = [] if self.project is None else [self.project.file]
        return own + ([self.procedure_file] if self.procedure_file else [])


def settle(
    designs: Sequence[Path], given: Given, annotate: "Form | None" = None
) -> RunSettings:
    """Find designs and settings, and report both on standard error."""
    from spokecheck.report.findings.baseline import ALLOWED_FALL, read_baseline
    from spokecheck.run.project_file import Settings

    project, selection = find_designs(designs, annotate=annotate)
    file = Settings() if project is None else project.settings
    named_file = None if project is None else project.path(file.procedure_file)
    against = given.against
    if against is None and project is not None:
        against = project.path(file.against)
    fall = file.allow_fall_percent if given.allow_fall is None else given.allow_fall
    allowed = ALLOWED_FALL if fall is None else fall / 100.0
    with reported():
        baseline = None if against is None else read_baseline(against, allowed)
    required = given.required_margin or file.required_margin or CLEARS
    return RunSettings(
        project=project,
        selection=selection,
        required_margin=required,
        procedures=given.procedures or file.procedures,
        procedure_file=given.procedure_file or named_file,
        allowed_alloys=given.allowed_alloys or file.allowed_alloys,
        baseline=baseline,
    )


def find_designs(
    designs: Sequence[Path],
    *,
    named_too: bool = False,
    annotate: "Form | None" = None,
) -> "tuple[Project | None, Selection]":
    """Project file and design files, and a line on each where there is one.

    Faults of the project file are remarked on their lines too, if remarks are asked
    for.
    """
    from spokecheck.run.project_file import find_project
    from spokecheck.run.selection import select_designs

    with reported():
        try:
            project = find_project(designs)
        except InputFileError as error:
            if annotate is not None:
                _remark(error, annotate)
            raise
        selection = select_designs(designs, project, named_too=named_too)
    for line in ("" if project is None else project.words, _left_out(selection)):
        if line:
            err.print(line, style="dim", highlight=False, markup=False, soft_wrap=True)
    return project, selection


def _remark(error: InputFileError, form: "Form") -> None:
    from spokecheck.report.findings.annotations import on_file

    for remark in on_file(error):
        out.print(remark.text(form), highlight=False, markup=False, soft_wrap=True)


def _left_out(selection: "Selection") -> str:
    return f"Left out: {selection.words}" if selection.left_out else ""
