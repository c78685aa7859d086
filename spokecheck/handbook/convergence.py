"""Run a case over several refinements and fit the order of convergence."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import CaseError
from spokecheck.handbook.case import Case
from spokecheck.handbook.runner import CaseRun, run_case
from spokecheck.units import FloatArray

IDENTITY = 1e-8
"""Values all below this, where zero is the target, are rounding and have no rate."""


STILL = 1e-6
"""Relative change over all refinements below which a value counts as exact already."""


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
class ConvergenceStudy:
    """A case over several refinements."""

    runs: tuple[CaseRun, ...]
    trends: tuple[Trend, ...]


def study_convergence(
    case: Case,
    changes: Mapping[str, float] | None = None,
    refinements: Sequence[int] | None = None,
) -> ConvergenceStudy:
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
        target = runs[0].readings[k].target
        limit, order = target, float("nan")
        if target or np.abs(values).max() > IDENTITY:
            limit, order = fit_order(sizes, values)
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
    return ConvergenceStudy(runs, tuple(trends))


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
        The order is nan where the values hardly change, or where no
        order between 0.2 and 8 fits best.

    Examples
    --------
    >>> h = np.array([1.0, 0.5, 0.25])
    >>> limit, order = fit_order(h, 3.0 - 2.0 * h**2)
    >>> round(limit, 3), round(order, 2)
    (3.0, 2.0)
    """
    spread = float(np.ptp(values))
    if spread <= STILL * float(np.abs(values).max()):
        return float(values[-1]), float("nan")
    orders = np.linspace(0.2, 8.0, 781)
    best = (np.inf, float(values[-1]), float("nan"))
    for index, order in enumerate(orders):
        A = np.column_stack([np.ones_like(sizes), sizes**order])
        coefficients = np.linalg.lstsq(A, values, rcond=None)[0]
        miss = float(np.abs(A @ coefficients - values).max())
        if miss < best[0]:
            inside = 0 < index < len(orders) - 1
            best = (miss, float(coefficients[0]), float(order) if inside else np.nan)
    return best[1], best[2]
