"""All designs of a command: those with a stored result at once, the rest in processes.

What screens a wheel takes a second to import, so it is imported only when a design has
no stored result.
"""

from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path

from spokecheck.report.stems import unique_stems
from spokecheck.run.batch import Outcome, in_order, run_batch
from spokecheck.run.cache import Store, key_of, surroundings
from spokecheck.run.screen_job import ScreenJob
from spokecheck.run.serving import recall_serving
from spokecheck.run.stored import Screened
from spokecheck.screen.request import Request


def _unshown(stage: str) -> None:
    """Show no progress: the stages of several designs would mix."""


def _import_reports() -> None:
    """Import what shows results, while the workers are busy."""
    import_module("spokecheck.report.findings.terminal")
    import_module("spokecheck.report.findings.json_report")


def screen_designs(
    paths: Sequence[Path],
    request: Request,
    out_dir: Path,
    store: Store | None = None,
    workers: int | None = None,
    done: Callable[[Path], None] = lambda path: None,
    progress: Callable[[str], None] | None = None,
) -> list[Outcome[Screened]]:
    """Screen designs and write their results.

    Parameters
    ----------
    paths : sequence of Path
        Design files.
    request : Request
        How, and what to write.
    out_dir : Path
        Folder for the results.
    store : Store, optional
        Cache of results; without it everything is computed and nothing kept.
    workers : int, optional
        Processes; as many as cores if not given.
    done : callable
        Called with each design when it is done.
    progress : callable, optional
        Called with each stage, if there is only one design.

    Returns
    -------
    list of Outcome
        In the order given.

    Raises
    ------
    InputError
        If the procedure file has faults, or stored files cannot be written.
    """
    stems = unique_stems(paths)
    around = surroundings() if store else ""
    keys = {path: key_of(path, request, around) for path in paths} if store else {}
    outcomes: list[Outcome[Screened]] = []
    for path in paths:
        screened = recall_serving(store, path, request, around, out_dir, stems[path])
        if screened is not None:
            outcomes.append(Outcome(path, screened))
            done(path)
    recalled = {outcome.path for outcome in outcomes}
    rest = [path for path in paths if path not in recalled]
    if rest:
        if request.procedure_file is not None:
            from spokecheck.cases.library import read_procedures

            read_procedures(request.procedure_file)  # its faults are reported once
        job = ScreenJob(request, out_dir, stems, store, keys)
        shown = progress if progress is not None and len(paths) == 1 else _unshown
        for outcome in run_batch(rest, job, workers, shown, _import_reports):
            done(outcome.path)
            outcomes.append(outcome)
    return in_order(paths, outcomes)
