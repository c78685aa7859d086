"""What the handbook answers to one request: text, pictures, whether all was met."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

from rich.console import RenderableType

from spokecheck.errors import CaseError
from spokecheck.handbook.catalogue import families, find_case
from spokecheck.handbook.convergence import study_convergence
from spokecheck.handbook.runner import CaseRun, run_all, run_case
from spokecheck.report.findings.handbook_figures import save_figures
from spokecheck.report.findings.handbook_tables import (
    render_case_list,
    render_convergence,
    render_run,
    render_summary,
)


@dataclass(frozen=True)
class Answer:
    """What to print, which files were written, and whether every target was met."""

    text: RenderableType
    files: tuple[Path, ...] = ()
    passed: bool = True


@dataclass(frozen=True)
class HandbookRequest:
    """What was asked of the handbook.

    Attributes
    ----------
    case : str or None
        Id or name; None for the list, or for all of them.
    changes : sequence of str
        Parameters as ``name=value``.
    fineness : int or None
        The case's own if None; the finest of three in a convergence study.
    convergence : bool
        Whether to refine.
    out_dir : Path
        Where pictures go.
    """

    case: str | None
    changes: Sequence[str]
    fineness: int | None
    convergence: bool
    out_dir: Path


def answer(request: HandbookRequest) -> Answer:
    """List the cases, run one, or refine one.

    Raises
    ------
    CaseError
        If the case is unknown, or a parameter or the fineness cannot be used.
    """
    if request.case is None:
        if request.changes or request.convergence or request.fineness:
            raise CaseError("no case named: give its name before the options")
        return Answer(render_case_list(families()))
    case = find_case(request.case)
    changes = parse_changes(request.changes)
    if not request.convergence:
        run = run_case(case, changes, request.fineness)
        return Answer(render_run(case, run), passed=run.passed)
    n = request.fineness
    levels = None if n is None else range(max(1, n - 2), n + 1)
    study = study_convergence(case, changes, levels)
    files = save_figures(case, study, request.out_dir)
    return Answer(render_convergence(case, study), tuple(files), study.runs[-1].passed)


def answer_all(
    request: HandbookRequest,
    workers: int,
    report: Callable[[CaseRun], None] | None = None,
) -> Answer:
    """Run every case as it stands, in several processes.

    Raises
    ------
    CaseError
        If the request names a case or narrows one.
    """
    if request.case or request.changes or request.convergence:
        raise CaseError("--all runs every case as it stands: leave out what narrows it")
    start = perf_counter()
    runs = run_all(fineness=request.fineness, workers=workers, report=report)
    summary = render_summary(runs, perf_counter() - start)
    return Answer(summary, passed=all(run.passed for run in runs))


def parse_changes(pairs: Sequence[str]) -> dict[str, float]:
    """Values of ``name=value`` pairs.

    Raises
    ------
    CaseError
        If a pair is not of that form.

    Examples
    --------
    >>> parse_changes(["L=300", "end-load = 50"])
    {'L': 300.0, 'end-load': 50.0}
    """
    found = {}
    for pair in pairs:
        name, _, value = pair.partition("=")
        try:
            found[name.strip()] = float(value)
        except ValueError as failure:
            raise CaseError(
                f"--set {pair}: must be name=value with a number, as in --set L=300"
            ) from failure
    return found
