"""Other criteria at a hot spot, beside the ranking.

Their two strengths are the allowable amplitude at the required cycles and that times
the alloy's shear ratio, so all are held against the same survival and knock-downs.
"""

import numpy as np

from spokecheck.fatigue import criteria
from spokecheck.fatigue.assess import Assessment
from spokecheck.fatigue.criteria import FatigueLimits
from spokecheck.fatigue.findley import findley, findley_constant
from spokecheck.fatigue.history import StressHistory
from spokecheck.screen.results import OtherCriterion
from spokecheck.units import FloatArray


def other_criteria(found: Assessment, at: int) -> tuple[OtherCriterion, ...]:
    """All criteria at one point.

    Parameters
    ----------
    found : Assessment
        Assessment that holds the point.
    at : int
        Its number within the history.

    Returns
    -------
    tuple of OtherCriterion
    """
    one, alloy = found.history.take([at]), found.alloy
    limits = FatigueLimits(found.allowable, found.allowable * alloy.shear_ratio)
    unit = np.ones(1)
    pulsating = found.allowable / float(alloy.mean_stress.equivalent(unit, unit)[0])
    f, t = limits.normal, limits.shear
    root = np.sqrt(3.0)
    k_sines = 3.0 * t / pulsating - root
    k_cross = max(3.0 * t / f - root, 0.0)
    told = f"f_-1 = {f:.4g} MPa"
    both = f"{told}, t_-1 = {t:.4g} MPa"
    return (
        _beside("hypersphere", criteria.von_mises(one, limits, "hypersphere"), told),
        _beside("greatest normal amplitude", criteria.normal(one, limits), told),
        _beside("Findley", findley(one, limits), _k(findley_constant(limits), both)),
        _beside("Sines", _sines(one, limits, pulsating), _k(k_sines, both)),
        _beside("Crossland", criteria.crossland(one, limits), _k(k_cross, both)),
    )


def _sines(one: StressHistory, limits: FatigueLimits, pulsating: float) -> FloatArray:
    return criteria.sines(one, limits, pulsating)


def _k(k: float, told: str) -> str:
    return f"k = {k:.3g}, {told}"


def _beside(name: str, filled: FloatArray, told: str) -> OtherCriterion:
    share = float(filled[0])
    return OtherCriterion(name, 1.0 / share if share > 0.0 else float("inf"), told)
