"""All designs of a command: those with a stored result at once, the rest in processes.

What screens a wheel takes a second to import, so it is imported only when a design has
no stored result.
"""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from spokecheck.report.stems import unique_stems
from spokecheck.run.batch import Outcome, in_order, run_batch
from spokecheck.run.cache import Store, key_of, surroundings
from spokecheck.run.stored import Screened, recall
from spokecheck.screen.request import Request


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
    for path, key in keys.items():
        if store is None or key is None:
            continue
        screened = recall(store, key, out_dir, stems[path], request.vtu)
        if screened is not None:
            outcomes.append(Outcome(path, screened))
            done(path)
    recalled = {outcome.path for outcome in outcomes}
    rest = [path for path in paths if path not in recalled]
    if rest:
        from spokecheck.cases.library import read_procedures
        from spokecheck.run.job import Keeping, screen_file

        read_procedures(request.procedure_file)  # its faults are reported once

        job = partial(
            screen_file,
            request=request,
            out_dir=out_dir,
            stems=stems,
            keeping=Keeping(store, keys),
        )
        if progress is not None and len(paths) == 1:
            job = partial(job, progress=progress)
        for outcome in run_batch(rest, job, workers):
            done(outcome.path)
            outcomes.append(outcome)
    return in_order(paths, outcomes)
