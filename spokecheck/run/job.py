"""One design file from reading to written results: what a worker process does."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from functools import partial
from importlib import import_module
from pathlib import Path
from threading import Thread

from spokecheck.report.pictures.picture_process import DrawingProcess
from spokecheck.run.cache import Store, key_of, surroundings
from spokecheck.run.stored import Screened, keep, unwritable
from spokecheck.screen.pipeline import screen
from spokecheck.screen.request import Request
from spokecheck.wheel.source import read_source


@dataclass(frozen=True)
class Keeping:
    """Where to keep results, and under which keys.

    Attributes
    ----------
    store : Store or None
        None keeps nothing.
    keys : mapping of Path to str
        Key of each design as it was before the work.
    """

    store: Store | None = None
    keys: Mapping[Path, str | None] = field(default_factory=dict)


def screen_file(
    path: Path,
    request: Request,
    out_dir: Path,
    stems: Mapping[Path, str],
    keeping: Keeping,
    progress: Callable[[str], None] = lambda stage: None,
) -> Screened:
    """Read, screen, write and store one design.

    Parameters
    ----------
    path : Path
        Design file.
    request : Request
        What was asked for.
    out_dir : Path
        Folder for the results.
    stems : mapping of Path to str
        File name, without suffix, for the results of each design.
    keeping : Keeping
        The cache.
    progress : callable, optional
        Called with the name of each stage.

    Returns
    -------
    Screened

    Raises
    ------
    SpokecheckError
        If the design has faults, cannot be computed, or the folder not be written.

    Notes
    -----
    The key is found again after the work.
    If a file or the program was edited meanwhile the keys differ, it cannot be known
    which state the result belongs to, and it is not stored.
    """
    source = read_source(path, request.mesh, request.overrides)
    # what writes the results takes half a second to import: the mesher needs longer
    meanwhile = partial(imported, "spokecheck.run.write")
    files: dict[str, bytes] = {}
    # the drawing process takes a second to load its libraries: the mesher needs longer
    with DrawingProcess() if request.pictures else nullcontext() as drawing:
        screening = screen(source, request, progress, meanwhile)
        from spokecheck.run.write import write_outputs

        try:
            written = write_outputs(
                screening,
                out_dir,
                drawing,
                request.vtu,
                stems[path],
                files.__setitem__,
            )
        except OSError as failure:
            raise unwritable(failure, out_dir) from failure
    screened = Screened(screening.findings, written)
    key = keeping.keys.get(path)
    if keeping.store is None or key is None:
        return screened
    if key_of(path, request, surroundings()) != key:
        return screened
    return keep(keeping.store, key, screened, files)


@contextmanager
def imported(module: str) -> Iterator[None]:
    """Import a module in a thread; it is loaded when the block ends.

    It has to be: a copy of this process made while a thread holds a lock would wait for
    it for ever.
    """
    thread = Thread(target=import_module, args=(module,))
    thread.start()
    try:
        yield
    finally:
        thread.join()
