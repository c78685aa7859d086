"""Multiaxial criteria: how far a turning stress fills a fatigue limit.

Each returns left side over right side, 1 at the limit, for every point.
They ask for two strengths at the same number of cycles, fully reversed: in tension or
bending, and in torsion.
For cast aluminium their ratio is 0.75 to 0.85, for wrought about 0.577 (FKM guideline
2012; Shigley's Mechanical Engineering Design, Table 6-14), so that cast alloys are
sensitive to hydrostatic stress and von Mises alone does not suit them.

References
----------
Papadopoulos, Davoli, Gorla, Filippini, Bernasconi, Int J Fatigue 19 (1997) 219-235
(from memory), for the forms and constants below unless stated otherwise.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.fatigue import measures
from spokecheck.fatigue.critical_planes import critical_plane
from spokecheck.fatigue.enclosing_sphere import smallest_enclosing_sphere
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.sampling import chunks, crest, turn_count
from spokecheck.fatigue.tensors import (
    deviator5,
    extreme_principals,
    from_deviator5,
    trace,
)
from spokecheck.units import FloatArray


@dataclass(frozen=True)
class FatigueLimits:
    """Fully reversed strengths at the same number of cycles.

    Attributes
    ----------
    normal : float
        In bending or tension, f_-1 [MPa].
    shear : float
        In torsion, t_-1 [MPa].

    Raises
    ------
    FatigueError
        If their ratio leaves 0.5 to 1, within which the criteria have a meaning.
    """

    normal: float
    shear: float

    def __post_init__(self) -> None:
        ratio = self.shear / self.normal
        if not 0.5 <= ratio < 1.0:
            raise FatigueError(
                f"shear over normal fatigue strength = {ratio:.3g}: must be at least "
                "0.5 and below 1; wrought aluminium has about 0.58, cast 0.75 to 0.85"
            )


def von_mises(
    history: StressHistory, limits: FatigueLimits, measure: str = "ellipse"
) -> FloatArray:
    """Von Mises amplitude over the normal strength; no mean stress.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    limits : FatigueLimits
        Strengths.
    measure : {"ellipse", "hypersphere"}
        How the amplitude of the deviator is taken.

    Returns
    -------
    ndarray (n_points,)
        sqrt(3 J2,a) / f_-1.
    """
    return _amplitude(history, measure) / limits.normal


def sines(
    history: StressHistory,
    limits: FatigueLimits,
    pulsating: float,
    measure: str = "ellipse",
) -> FloatArray:
    """Sines: amplitude of the deviator and mean hydrostatic stress.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    limits : FatigueLimits
        Strengths; only the one in torsion is used.
    pulsating : float
        Amplitude at the limit in pulsating bending, R = 0, f_0 [MPa].
    measure : {"ellipse", "hypersphere"}
        How the amplitude of the deviator is taken.

    Returns
    -------
    ndarray (n_points,)
        (sqrt(J2,a) + k sH,mean) / t_-1 with k = 3 t_-1 / f_0 - sqrt(3).

    Raises
    ------
    FatigueError
        If `pulsating` is so large that a mean tension would help.
    """
    k = 3.0 * limits.shear / pulsating - np.sqrt(3.0)
    if not k >= 0.0:
        raise FatigueError(
            f"pulsating strength {pulsating:g} MPa: must not exceed sqrt(3) times the "
            f"one in torsion, {np.sqrt(3.0) * limits.shear:.4g} MPa; give an amplitude"
        )
    root = _amplitude(history, measure) / np.sqrt(3.0)
    mean = measures.mean_stress(history) / 3.0
    return np.asarray((root + k * mean) / limits.shear)


def crossland(
    history: StressHistory, limits: FatigueLimits, measure: str = "ellipse"
) -> FloatArray:
    """Crossland: amplitude of the deviator and greatest hydrostatic stress.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    limits : FatigueLimits
        Strengths, shear over normal at least 1 / sqrt(3).
    measure : {"ellipse", "hypersphere"}
        How the amplitude of the deviator is taken.

    Returns
    -------
    ndarray (n_points,)
        (sqrt(J2,a) + k sH,max) / t_-1 with k = 3 t_-1 / f_-1 - sqrt(3).

    Notes
    -----
    For 0.577, rounded below 1 / sqrt(3), k is taken as 0.
    """
    k = max(3.0 * limits.shear / limits.normal - np.sqrt(3.0), 0.0)
    root = _amplitude(history, measure) / np.sqrt(3.0)
    crest_ = measures.hydrostatic_crest(history)
    return np.asarray((root + k * crest_) / limits.shear)


def dang_van(history: StressHistory, limits: FatigueLimits) -> FloatArray:
    """Dang Van: Tresca shear about the centre of the path, with hydrostatic stress.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    limits : FatigueLimits
        Strengths.

    Returns
    -------
    ndarray (n_points,)
        max over the turn of (tau + a sH) / t_-1 with a = 3 (t_-1 / f_-1 - 1/2).

    Notes
    -----
    The centre is that of the minimum enclosing hypersphere of the deviatoric path; for
    one turning order the steady deviator.
    Up to 18 % unsafe near circular paths: must not be used alone.

    Examples
    --------
    Reversed bending of 100 MPa in a casting with strengths of 120 MPa in bending and
    95 MPa in torsion:

    >>> bending = np.array([[[100.0, 0, 0, 0, 0, 0]]]) + 0j
    >>> history = StressHistory(np.array([1]), bending)
    >>> round(float(dang_van(history, FatigueLimits(normal=120.0, shear=95.0))[0]), 3)
    0.833
    """
    a = 3.0 * (limits.shear / limits.normal - 0.5)
    turns = turn_count(history)
    filled = np.empty(history.n_points)
    for part in chunks(history, 30 * turns):
        some = history.take(part)
        stress = some.sample(turns)
        if some.single:
            centre = deviator5(some.mean)
        else:
            path = np.ascontiguousarray(deviator5(stress).transpose(1, 0, 2))
            centre = smallest_enclosing_sphere(path)[0]
        # Tresca shear of the deviator about the centre, with the hydrostatic stress
        low, high = extreme_principals(stress - from_deviator5(centre))
        filled[part] = crest(0.5 * (high - low) + a * trace(stress) / 3.0)
    return filled / limits.shear


def normal(history: StressHistory, limits: FatigueLimits) -> FloatArray:
    """Greatest normal-stress amplitude over all planes, over the normal strength.

    For brittle, cast material; takes no account of mean stress.
    """
    return critical_plane(history).amplitude / limits.normal


def _amplitude(history: StressHistory, measure: str) -> FloatArray:
    """Von Mises amplitude [MPa] by name of its measure."""
    by_name: dict[str, Callable[[StressHistory], FloatArray]] = {
        "ellipse": measures.ellipse_amplitude,
        "hypersphere": measures.hypersphere_amplitude,
    }
    if measure not in by_name:
        raise FatigueError(
            f"measure {measure}: unknown; use one of {', '.join(by_name)}"
        )
    return by_name[measure](history)
