"""Run handbook cases: one of them at one fineness, or all of them on several cores."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from time import perf_counter

from spokecheck.errors import CaseError, SpokecheckError
from spokecheck.fem.solution import Solution
from spokecheck.fem.threads import single_threaded
from spokecheck.handbook.case import Case, Quantity, Study, Values, resolve
from spokecheck.handbook.catalogue import CASES, find_case
from spokecheck.worker_pool import run_apart

FINEST = 16
"""Largest fineness accepted; memory grows with its cube."""


@dataclass(frozen=True)
class Reading:
    """One quantity of one run beside its target.

    Attributes
    ----------
    name, unit : str
        What is compared.
    value, target : float
        Finite element value and closed form or published value.
    error : float
        Relative error; absolute where the target is zero.
    tolerance : float or None
        None where the number is shown, but not judged.
    reason : str
        Why this tolerance, or why the value may miss.
    """

    name: str
    unit: str
    value: float
    target: float
    error: float
    tolerance: float | None
    reason: str

    @property
    def passed(self) -> bool:
        """Whether the error is within the tolerance; a number not judged passes."""
        return self.tolerance is None or bool(abs(self.error) <= self.tolerance)


@dataclass(frozen=True)
class CaseRun:
    """Result of one case at one fineness.

    Attributes
    ----------
    case_id, slug, title : str
        Which case.
    values : Values
        Its parameters.
    fineness : int
        Fineness of the mesh.
    readings : tuple of Reading
        One for each quantity.
    n_points, n_cells : int
        Size of the largest mesh, 0 where the case has none to show.
    seconds : float
        Wall time.
    failure : str
        Message of the error that stopped the case; empty if none did.
    study : mapping
        What was solved; empty when the run came from another process.
    """

    case_id: str
    slug: str
    title: str
    values: Values
    fineness: int
    readings: tuple[Reading, ...]
    n_points: int
    n_cells: int
    seconds: float
    failure: str = ""
    study: Study = field(default_factory=dict, compare=False, repr=False)

    @property
    def passed(self) -> bool:
        """Whether the case ran and every judged quantity is within tolerance."""
        return not self.failure and all(r.passed for r in self.readings)


def run_case(
    case: Case, changes: Mapping[str, float] | None = None, fineness: int | None = None
) -> CaseRun:
    """Run one case at one fineness.

    Parameters
    ----------
    case : Case
        The case.
    changes : mapping of str to float, optional
        Parameters other than the defaults.
    fineness : int, optional
        Fineness, from the case's least to ``FINEST``; the case's own if not given.

    Returns
    -------
    CaseRun

    Raises
    ------
    CaseError
        If a parameter or the fineness is outside its limits.
    """
    n = case.fineness if fineness is None else fineness
    if not case.least <= n <= FINEST:
        raise CaseError(
            f"fineness = {n}: must be {case.least} to {FINEST}; "
            f"{case.fineness} is usual"
        )
    values = resolve(case, changes)
    start = perf_counter()
    study = case.solve(values, n)
    default = values == resolve(case)
    readings = tuple(_reading(q, study, values, default) for q in case.quantities)
    meshes = [s.mesh for s in study.values() if isinstance(s, Solution)]
    return CaseRun(
        case_id=case.id,
        slug=case.slug,
        title=case.title,
        values=values,
        fineness=n,
        readings=readings,
        n_points=max((mesh.n_points for mesh in meshes), default=0),
        n_cells=max((mesh.n_cells for mesh in meshes), default=0),
        seconds=perf_counter() - start,
        study=study,
    )


def _reading(
    quantity: Quantity, study: Study, values: Values, default: bool
) -> Reading:
    value = float(quantity.measure(study, values))
    target = float(quantity.target(values))
    error = (value - target) / abs(target) if target else value
    reason = quantity.reason
    if default and quantity.at_default:
        reason = f"{reason}; {quantity.at_default}"
    return Reading(
        quantity.name,
        quantity.unit,
        value,
        target,
        error,
        quantity.tolerance,
        reason,
    )


def run_all(
    names: Sequence[str] | None = None,
    fineness: int | None = None,
    workers: int = 2,
    report: Callable[[CaseRun], None] | None = None,
) -> tuple[CaseRun, ...]:
    """Run all cases, or those named, on several cores.

    Parameters
    ----------
    names : sequence of str, optional
        Cases; all of them if not given.
    fineness : int, optional
        The same for all, but no less than a case's least; each case's own if not
        given.
    workers : int
        Number of processes; with 1 everything runs in this one.
    report : callable, optional
        Called with each run as it ends, in whatever order.

    Returns
    -------
    tuple of CaseRun
        In the order of the catalogue; a case that raised carries its message.
    """
    cases = CASES if names is None else tuple(find_case(name) for name in names)
    done: dict[str, CaseRun] = {}
    if workers == 1 or len(cases) == 1:
        for case in cases:
            done[case.id] = _run_quietly(case.id, fineness)
            if report:
                report(done[case.id])
    else:
        job = partial(_run_apart, fineness)
        with single_threaded():
            for result in run_apart([case.id for case in cases], job, workers):
                case = cases[result.number]
                run = result.value or _failed(case, fineness, str(result.error))
                done[case.id] = run
                if report:
                    report(run)
    return tuple(done[case.id] for case in cases)


def _run_apart(
    fineness: int | None, name: str, progress: Callable[[str], None]
) -> CaseRun:
    """Run a case in a worker, which has nothing to say of its progress."""
    return _run_quietly(name, fineness)


def _run_quietly(name: str, fineness: int | None) -> CaseRun:
    """Run a case in a worker; its own errors become a message, its study stays here."""
    case = find_case(name)
    if fineness is not None and 1 <= fineness < case.least:
        fineness = case.least
    try:
        run = run_case(case, fineness=fineness)
    except SpokecheckError as failure:
        return _failed(case, fineness, str(failure))
    return CaseRun(
        **{name: getattr(run, name) for name in CaseRun.__dataclass_fields__}
        | {"study": {}}
    )


def _failed(case: Case, fineness: int | None, message: str) -> CaseRun:
    """Run of a case that gave nothing but a message."""
    n = case.fineness if fineness is None else fineness
    return CaseRun(
        case.id, case.slug, case.title, resolve(case), n, (), 0, 0, 0.0, message
    )
