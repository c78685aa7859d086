"""One design file from reading to written results: what a worker process does."""

from collections.abc import Callable, Mapping
from pathlib import Path

from spokecheck.errors import InputError
from spokecheck.report.write import Written, write_outputs
from spokecheck.screen.options import Options
from spokecheck.screen.pipeline import screen
from spokecheck.screen.results import Screening
from spokecheck.wheel.read import read_design


def screen_file(
    path: Path,
    options: Options,
    out_dir: Path,
    pictures: bool,
    vtu: bool,
    stems: Mapping[Path, str],
    tell: Callable[[str], None] | None = None,
) -> tuple[Screening, Written]:
    """Read, screen and write one design.

    Parameters
    ----------
    path : Path
        Design file.
    options : Options
        How to screen.
    out_dir : Path
        Folder for the results.
    pictures, vtu : bool
        What to write beside JSON and page.
    stems : mapping of Path to str
        File name, without suffix, for the results of each design.
    tell : callable, optional
        Told each stage.

    Returns
    -------
    screening : Screening
    written : Written

    Raises
    ------
    SpokecheckError
        If the design has faults, cannot be computed, or the folder not be written.
    """
    design = read_design(path)
    screening = screen(design, options, tell or _silent)
    try:
        written = write_outputs(screening, out_dir, pictures, vtu, stems[path])
    except OSError as failure:
        where = failure.filename or out_dir
        raise InputError(
            f"{where}: {failure.strerror or failure}; choose another --out"
        ) from failure
    return screening, written


def _silent(stage: str) -> None:
    pass
