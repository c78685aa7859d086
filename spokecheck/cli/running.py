"""What commands that screen have in common: files, cache, progress."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from rich.progress import Progress, TaskID

from spokecheck.cli.console import err, reported, shown_progress
from spokecheck.errors import InputError, SpokecheckError
from spokecheck.plain_text import escaped
from spokecheck.screen.request import Request

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.run.cache import Store
    from spokecheck.run.stored import Screened


def wheel_files(
    designs: list[Path], mesh: Path | None, sidecar: Path | None
) -> list[Path]:
    """Files to read: designs, or the sidecar of a mesh."""
    from spokecheck.wheel.elsewhere.paired_files import sidecar_of

    with reported():
        if mesh is not None and not designs:
            return [sidecar_of(mesh, sidecar)]
        if mesh is None and sidecar is None and designs:
            return designs
        raise InputError(
            "screen: give design files, or one --mesh, with a --sidecar if need be"
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


def design_files(designs: list[Path]) -> list[Path]:
    """All design files under the paths given."""
    from spokecheck.run.batch import find_designs

    with reported():
        return find_designs(designs)


def run_designs(
    designs: list[Path],
    workers: int | None,
    request: Request,
    out_dir: Path,
    store: "Store | None",
) -> "list[tuple[Path, Screened | SpokecheckError]]":
    """Screen all designs, with progress on a terminal; in the order given."""
    from spokecheck.run.designs import screen_designs

    check_writable(out_dir)
    paths = design_files(designs)
    with reported(), shown_progress() as progress:
        task = progress.add_task("screening", total=len(paths))
        outcomes = screen_designs(
            paths,
            request,
            out_dir,
            store,
            workers,
            lambda path: progress.update(
                task, advance=1, description=escaped(f"done {path.name}")
            ),
            partial(_show_stage, progress, task, paths[0].name),
        )
    stored = sum(o.value.stored for o in outcomes if o.value is not None)
    if stored:
        err.print(
            f"stored result shown for {stored} of {len(paths)}: nothing that could "
            "change it has changed (--no-cache screens again)",
            highlight=False,
        )
    pairs = [(o.path, o.value if o.error is None else o.error) for o in outcomes]
    return [(path, value) for path, value in pairs if value is not None]


def _show_stage(progress: Progress, task: TaskID, name: str, stage: str) -> None:
    progress.update(task, description=escaped(f"{name}: {stage}"))
