"""Run handbook cases: one at one fineness, one over several, or all of them."""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from multiprocessing import get_context
from time import perf_counter

import numpy as np

from spokecheck.errors import CaseError, SpokecheckError
from spokecheck.fem.static import Solution
from spokecheck.handbook.catalogue import CASES, find_case
from spokecheck.handbook.record import Case, Quantity, Study, Values, resolve
from spokecheck.units import FloatArray

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


@dataclass(frozen=True)
class Trend:
    """One quantity over several refinements.

    Attributes
    ----------
    name, unit : str
        What is compared.
    sizes : ndarray (n,)
        Relative cell size, one over the fineness.
    values : ndarray (n,)
        Finite element values.
    target : float
        Closed form or published value.
    limit : float
        Value extrapolated to cell size zero.
    observed : float
        Order of convergence fitted to ``limit + c size^order``; nan if it cannot be.
    theoretical : float or None
        Order expected on a smooth solution.
    """

    name: str
    unit: str
    sizes: FloatArray
    values: FloatArray
    target: float
    limit: float
    observed: float
    theoretical: float | None


@dataclass(frozen=True)
class Convergence:
    """A case over several refinements."""

    runs: tuple[CaseRun, ...]
    trends: tuple[Trend, ...]


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
        Fineness, 1 to ``FINEST``; the case's own if not given.

    Returns
    -------
    CaseRun

    Raises
    ------
    CaseError
        If a parameter or the fineness is outside its limits.
    """
    n = case.fineness if fineness is None else fineness
    if not 1 <= n <= FINEST:
        raise CaseError(
            f"fineness = {n}: must be 1 to {FINEST}; {case.fineness} is usual"
        )
    values = resolve(case, changes)
    start = perf_counter()
    study = case.solve(values, n)
    readings = tuple(_reading(q, study, values) for q in case.quantities)
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


def _reading(quantity: Quantity, study: Study, values: Values) -> Reading:
    value = float(quantity.measure(study, values))
    target = float(quantity.target(values))
    error = (value - target) / abs(target) if target else value
    return Reading(
        quantity.name,
        quantity.unit,
        value,
        target,
        error,
        quantity.tolerance,
        quantity.reason,
    )


def study_convergence(
    case: Case,
    changes: Mapping[str, float] | None = None,
    refinements: Sequence[int] | None = None,
) -> Convergence:
    """Run a case at three or more finenesses and fit the rate of every quantity.

    Raises
    ------
    CaseError
        If there are fewer than three finenesses, or a parameter is outside its limits.
    """
    levels = sorted(set(case.refinements if refinements is None else refinements))
    if len(levels) < 3:
        raise CaseError(f"{len(levels)} finenesses: a rate needs at least 3; add some")
    runs = tuple(run_case(case, changes, n) for n in levels)
    sizes = 1.0 / np.array(levels, dtype=float)
    trends = []
    for k, quantity in enumerate(case.quantities):
        values = np.array([run.readings[k].value for run in runs])
        limit, order = fit_order(sizes, values)
        target = runs[0].readings[k].target
        trends.append(
            Trend(
                quantity.name,
                quantity.unit,
                sizes,
                values,
                target,
                limit,
                order,
                quantity.rate,
            )
        )
    return Convergence(runs, tuple(trends))


def fit_order(sizes: FloatArray, values: FloatArray) -> tuple[float, float]:
    """Limit and order of ``limit + c size^order``, by least squares.

    Parameters
    ----------
    sizes : ndarray (n,)
        Cell sizes, three or more.
    values : ndarray (n,)
        Values.

    Returns
    -------
    limit, order : float
        The order is nan where the values do not change beyond rounding, or where no
        order between 0.2 and 8 fits best.

    Examples
    --------
    >>> h = np.array([1.0, 0.5, 0.25])
    >>> limit, order = fit_order(h, 3.0 - 2.0 * h**2)
    >>> round(limit, 3), round(order, 2)
    (3.0, 2.0)
    """
    spread = float(np.ptp(values))
    if spread <= 1e-10 * float(np.abs(values).max()):
        return float(values[-1]), float("nan")
    orders = np.linspace(0.2, 8.0, 781)
    best = (np.inf, float(values[-1]), float("nan"))
    for index, order in enumerate(orders):
        A = np.column_stack([np.ones_like(sizes), sizes**order])
        coefficients = np.linalg.lstsq(A, values, rcond=None)[0]
        miss = float(np.abs(A @ coefficients - values).max())
        if miss < best[0]:
            inside = 0 < index < len(orders) - 1
            best = (miss, float(coefficients[0]), order if inside else float("nan"))
    return best[1], best[2]


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
        The same for all; each case's own if not given.
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
        pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
        with pool:
            jobs = [pool.submit(_run_quietly, case.id, fineness) for case in cases]
            for job in as_completed(jobs):
                run = job.result()
                done[run.case_id] = run
                if report:
                    report(run)
    return tuple(done[case.id] for case in cases)


def _run_quietly(name: str, fineness: int | None) -> CaseRun:
    """Run a case in a worker; its own errors become a message, its study stays here."""
    case = find_case(name)
    try:
        run = run_case(case, fineness=fineness)
    except SpokecheckError as failure:
        n = case.fineness if fineness is None else fineness
        values = resolve(case)
        return CaseRun(
            case.id, case.slug, case.title, values, n, (), 0, 0, 0.0, str(failure)
        )
    return CaseRun(
        **{name: getattr(run, name) for name in CaseRun.__dataclass_fields__}
        | {"study": {}}
    )
