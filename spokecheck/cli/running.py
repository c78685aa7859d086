"""What commands that screen have in common: files, cache, progress."""

import os
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from rich.progress import Progress, TaskID

from spokecheck.cli.console import err, reported, shown_progress
from spokecheck.errors import InputError
from spokecheck.plain_text import escaped

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.run.batch import Outcome
    from spokecheck.run.cache import Store
    from spokecheck.run.designs import Batch
    from spokecheck.run.stored import Screened


def wheel_files(
    designs: list[Path], mesh: Path | None, sidecar: Path | None
) -> list[Path]:
    """Files to read: designs, or the sidecar of a mesh."""
    from spokecheck.run.project_file import find_project
    from spokecheck.wheel.elsewhere.paired_files import sidecar_of

    with reported():
        if mesh is not None and not designs:
            return [sidecar_of(mesh, sidecar)]
        if mesh is None and sidecar is None and (designs or find_project([])):
            return designs
        raise InputError(
            "screen: give design files, or one --mesh, with a --sidecar if need be, "
            "or write a spokecheck.toml"
        )


def open_store(cache: Path | None, no_cache: bool) -> "Store | None":
    """Where stored results lie; None for no cache."""
    from spokecheck.run.cache import Store, default_folder

    folder = None if no_cache else cache or default_folder()
    return None if folder is None else Store(folder)


def check_writable(out_dir: Path) -> None:
    """Find out now, rather than after the work."""
    with reported():
        out_dir.mkdir(parents=True, exist_ok=True)
        (out_dir / ".writable").touch()
        (out_dir / ".writable").unlink(missing_ok=True)


def check_report_places(
    places: Mapping[str, Path | None], inputs: Sequence[Path | None]
) -> None:
    """Refuse a report in place of an input, or of another report.

    ``--junit *.toml``, where the file was forgotten, would replace the first design.

    Parameters
    ----------
    places : mapping of str to Path or None
        Files to be written, by option.
    inputs : sequence of Path or None
        Files that are read and are no TOML.
    """
    taken = {Path(os.path.realpath(file)) for file in inputs if file is not None}
    with reported():
        for option, place in places.items():
            if place is None:
                continue
            real = Path(os.path.realpath(place))
            if real.suffix.lower() == ".toml":
                reason = "a report in place of a TOML file"
            elif real in taken:
                reason = "this run reads that file, or writes another report there"
            else:
                taken.add(real)
                continue
            raise InputError(f"{option} {place}: {reason}; choose another place")


def run_designs(
    batch: "Batch",
    done: "Callable[[Outcome[Screened]], None]" = lambda outcome: None,
    work_begins: Callable[[], None] = lambda: None,
) -> "list[Outcome[Screened]]":
    """Screen all designs, with progress on a terminal; in the order given."""
    from spokecheck.run.designs import screen_designs

    check_writable(batch.out_dir)
    total = len(batch.paths)
    with reported(), shown_progress() as progress:
        task = progress.add_task("screening", total=total)

        def finished(outcome: "Outcome[Screened]") -> None:
            done(outcome)
            name = escaped(f"done {outcome.path.name}")
            progress.update(task, advance=1, description=name)

        name = batch.paths[0].name if batch.paths else ""
        show = partial(_show_stage, progress, task, name)
        outcomes = screen_designs(batch, finished, show, work_begins)
    stored = sum(o.value.stored for o in outcomes if o.value is not None)
    if stored:
        err.print(
            f"stored result shown for {stored} of {total}: nothing that could "
            "change it has changed (--no-cache screens again)",
            highlight=False,
        )
    return outcomes


def _show_stage(progress: Progress, task: TaskID, name: str, stage: str) -> None:
    progress.update(task, description=escaped(f"{name}: {stage}"))
