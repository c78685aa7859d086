"""All designs of a command: those with a stored result at once, the rest in processes.

What screens a wheel takes a second to import, so it is imported only when a design has
no stored result; files with the same content are screened once.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

from spokecheck.run.batch import Outcome, in_order, run_batch
from spokecheck.run.cache import Store, key_of, surroundings
from spokecheck.run.precheck import alloy_error, faults_before
from spokecheck.run.screen_job import ScreenJob
from spokecheck.run.serving import recall_serving
from spokecheck.run.stored import Screened
from spokecheck.screen.request import Request


@dataclass(frozen=True, kw_only=True)
class Batch:
    """Designs to screen, and how.

    Attributes
    ----------
    paths : sequence of Path
        Design files.
    stems : mapping of Path to str
        File name, without suffix, for the results of each.
    request : Request
        How, and what to write.
    out_dir : Path
        Folder for the results.
    store : Store or None
        Cache of results; without it everything is computed and nothing kept.
    workers : int or None
        Processes; as many as cores if None.
    allowed_alloys : sequence of str
        Alloys that a design may name; empty for all.
    """

    paths: Sequence[Path]
    stems: Mapping[Path, str]
    request: Request
    out_dir: Path
    store: Store | None = None
    workers: int | None = None
    allowed_alloys: Sequence[str] = ()


def _import_reports() -> None:
    """Import what shows results, while the workers are busy."""
    import_module("spokecheck.report.findings.terminal")
    import_module("spokecheck.report.findings.json_report")


def screen_designs(
    batch: Batch,
    done: Callable[[Outcome[Screened]], None] = lambda outcome: None,
    progress: Callable[[str], None] | None = None,
    work_begins: Callable[[], None] = lambda: None,
) -> list[Outcome[Screened]]:
    """Screen designs and write their results.

    Parameters
    ----------
    batch : Batch
    done : callable
        Called with each outcome as it is known.
    progress : callable, optional
        Called with each stage, if there is only one design.
    work_begins : callable
        Called before workers start, when all else is known.

    Returns
    -------
    list of Outcome
        In the order of the paths.

    Raises
    ------
    InputError
        If the procedure file has faults, or stored files cannot be written.
    """
    outcomes: list[Outcome[Screened]] = []

    def known(found: Iterator[Outcome[Screened]]) -> None:
        for outcome in found:
            outcomes.append(outcome)
            done(outcome)

    def rest() -> list[Path]:
        finished = {outcome.path for outcome in outcomes}
        return [path for path in batch.paths if path not in finished]

    around = surroundings() if batch.store else ""
    keys = _keys(batch, around)
    known(_not_allowed(batch))
    known(_recalled(batch, around, rest()))
    if not rest():
        return in_order(batch.paths, outcomes)
    from spokecheck.cases.library import read_procedures

    read_procedures(batch.request.procedure_file)  # its faults are reported once
    if len(rest()) > 1:  # of one alone its worker finds the faults, which is quicker
        known(_faulty(batch, rest()))
    if rest():
        work_begins()
    known(_screened(batch, keys, _first_of_each(keys, rest()), progress))
    known(_recalled(batch, around, rest()))
    known(_screened(batch, keys, rest(), progress))
    return in_order(batch.paths, outcomes)


def _keys(batch: Batch, around: str) -> dict[Path, str | None]:
    """Cache key of each design."""
    if batch.store is None:
        return {}
    return {path: key_of(path, batch.request, around) for path in batch.paths}


def _first_of_each(
    keys: Mapping[Path, str | None], paths: Sequence[Path]
) -> list[Path]:
    """Designs without those whose content an earlier one has."""
    firsts: dict[object, Path] = {}
    for path in paths:
        firsts.setdefault(keys.get(path) or path, path)
    return list(firsts.values())


def _not_allowed(batch: Batch) -> Iterator[Outcome[Screened]]:
    for path in batch.paths:
        error = alloy_error(path, batch.allowed_alloys, batch.request)
        if error is not None:
            yield Outcome(path, error=error)


def _recalled(
    batch: Batch, around: str, paths: Sequence[Path]
) -> Iterator[Outcome[Screened]]:
    """Outcomes of designs with a stored result."""
    for path in paths:
        screened = recall_serving(
            batch.store, path, batch.request, around, batch.out_dir, batch.stems[path]
        )
        if screened is not None:
            yield Outcome(path, screened)


def _faulty(batch: Batch, paths: Sequence[Path]) -> Iterator[Outcome[Screened]]:
    """Outcomes of designs whose files have faults."""
    for path in paths:
        error = faults_before(path, batch.request)
        if error is not None:
            yield Outcome(path, error=error)


def _screened(
    batch: Batch,
    keys: Mapping[Path, str | None],
    paths: Sequence[Path],
    progress: Callable[[str], None] | None,
) -> Iterator[Outcome[Screened]]:
    """Outcomes of designs as workers finish them."""
    if not paths:
        return
    job = ScreenJob(batch.request, batch.out_dir, batch.stems, batch.store, keys)
    shown = progress if progress is not None and len(batch.paths) == 1 else _unshown
    yield from run_batch(paths, job, batch.workers, shown, _import_reports)


def _unshown(stage: str) -> None:
    """Show no progress: the stages of several designs would mix."""
