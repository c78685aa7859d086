"""Other criteria at a hot spot; no part of the ranking.

Their two strengths are the allowable amplitude at the required cycles and that times
the alloy's shear ratio, so all are held against the same survival and knock-downs.
"""

import numpy as np

from spokecheck.fatigue import criteria
from spokecheck.fatigue.assess import Assessment
from spokecheck.fatigue.criteria import FatigueLimits
from spokecheck.fatigue.findley import findley, findley_constant
from spokecheck.screen.findings import OtherCriterion
from spokecheck.units import FloatArray


def other_criteria(assessment: Assessment, point: int) -> tuple[OtherCriterion, ...]:
    """All criteria at one point.

    Parameters
    ----------
    assessment : Assessment
        Assessment that holds the point.
    point : int
        Its number within the history.

    Returns
    -------
    tuple of OtherCriterion
    """
    one, alloy = assessment.history.take([point]), assessment.alloy
    # strengths in fully reversed and pulsating tension, and in shear
    limits = FatigueLimits(
        assessment.allowable, assessment.allowable * alloy.shear_ratio
    )
    unit = np.ones(1)
    pulsating = assessment.allowable / float(
        alloy.mean_stress.equivalent(unit, unit)[0]
    )
    f, t = limits.normal, limits.shear
    # Sines: k of the mean; Crossland: k of the greatest hydrostatic stress
    root = np.sqrt(3.0)
    k_sines = 3.0 * t / pulsating - root
    k_cross = max(3.0 * t / f - root, 0.0)
    tension = f"f_-1 = {f:.4g} MPa"
    both = f"{tension}, t_-1 = {t:.4g} MPa"
    k_findley = findley_constant(limits)
    sines = criteria.sines(one, limits, pulsating)
    return (
        _margin("hypersphere", criteria.von_mises(one, limits, "hypersphere"), tension),
        _margin("greatest normal amplitude", criteria.normal(one, limits), tension),
        _margin("Findley", findley(one, limits), _with_k(k_findley, both)),
        _margin("Sines", sines, _with_k(k_sines, both)),
        _margin("Crossland", criteria.crossland(one, limits), _with_k(k_cross, both)),
    )


def _with_k(k: float, strengths: str) -> str:
    return f"k = {k:.3g}, {strengths}"


def _margin(criterion: str, filled: FloatArray, note: str) -> OtherCriterion:
    """Margin of one criterion: the inverse of the share of it that is filled."""
    share = float(filled[0])
    margin = 1.0 / share if share > 0.0 else None
    return OtherCriterion(criterion=criterion, margin=margin, note=note)
