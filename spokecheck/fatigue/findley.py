"""Findley's criterion: a search over planes for shear with normal stress."""

import numpy as np

from spokecheck.fatigue.criteria import FatigueLimits
from spokecheck.fatigue.critical_planes import hemisphere
from spokecheck.fatigue.enclosing_sphere import smallest_enclosing_sphere
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.sampling import chunks, crest, turn_count
from spokecheck.fatigue.tensors import as_matrix, greater_semi_axis_squared
from spokecheck.units import FloatArray

FINDLEY_PLANES = 600
FINDLEY_ZOOMS = (0.07, 0.025, 0.009, 0.003)
"""Planes of the first search, and half-widths [rad] of the finer ones after it."""


def findley_constant(limits: FatigueLimits) -> float:
    """Findley's k from f_-1 / t_-1 = 2 / (1 + k / sqrt(1 + k^2))."""
    share = 2.0 * limits.shear / limits.normal - 1.0
    return float(share / np.sqrt(1.0 - share**2))


def findley(history: StressHistory, limits: FatigueLimits) -> FloatArray:
    """Findley: the plane of greatest shear amplitude plus k times normal stress.

    Parameters
    ----------
    history : StressHistory
        Any orders; meant for hot spots, not for whole fields, as every plane is tried.
    limits : FatigueLimits
        Strengths.

    Returns
    -------
    ndarray (n_points,)
        max over planes of (ta + k sn,max) / (t_-1 sqrt(1 + k^2)).

    Notes
    -----
    ta is the radius of the smallest circle round the path of the shear traction.
    Six hundred planes, 3.5 degrees apart, then four finer searches round the best.

    References
    ----------
    Findley, J Eng Ind 81 (1959) 301-306 (from memory).
    """
    k = findley_constant(limits)
    turns = 3 if history.single else turn_count(history)
    filled = np.empty(history.n_points)
    for part in chunks(history, FINDLEY_PLANES * turns * 16):
        some = history.take(part)
        planes = np.repeat(hemisphere(FINDLEY_PLANES)[None], some.n_points, axis=0)
        best = _best_plane(some, planes, k)
        for width in FINDLEY_ZOOMS:
            best = _best_plane(some, _around(best[1], width), k)
        filled[part] = best[0]
    return np.asarray(filled / (limits.shear * np.sqrt(1.0 + k**2)))


def _best_plane(
    history: StressHistory, planes: FloatArray, k: float
) -> tuple[FloatArray, FloatArray]:
    """Greatest ta + k sn,max over planes (n_points, n_planes, 3), and its plane."""
    on_planes = _ellipses if history.single else _paths
    shear, greatest = on_planes(history, planes)
    damage = shear + k * greatest
    best, points = damage.argmax(axis=1), np.arange(len(damage))
    return damage[points, best], planes[points, best]


def _resolved(stress: FloatArray, planes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Normal stress (..., n, p) and shear traction (..., n, p, 3) on planes."""
    traction = np.einsum("...nij,npj->...npi", as_matrix(stress), planes)
    across = np.einsum("...npi,npi->...np", traction, planes)
    return across, traction - across[..., None] * planes


def _ellipses(
    history: StressHistory, planes: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Shear amplitude and greatest normal stress, closed form for one order."""
    (na, a), (nb, b) = (_resolved(part, planes) for part in history.ellipse())
    steady = _resolved(history.mean, planes)[0]
    return np.sqrt(greater_semi_axis_squared(a, b)), steady + np.hypot(na, nb)


def _paths(history: StressHistory, planes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shear amplitude and greatest normal stress from a sampled turn."""
    across, along = _resolved(history.sample(turn_count(history)), planes)
    turns, points, n_planes = across.shape
    path = along.transpose(1, 2, 0, 3).reshape(points * n_planes, turns, 3)
    radius = smallest_enclosing_sphere(path)[1].reshape(points, n_planes)
    return radius, crest(across)


def _around(normals: FloatArray, width: float) -> FloatArray:
    """Planes on a 7 x 7 grid of tilts within a half-width [rad], (n_points, 49, 3)."""
    # two tangents at each normal, and a grid of tilts along them
    helper = np.where(np.abs(normals[:, :1]) < 0.7, [[1.0, 0, 0]], [[0, 1.0, 0]])
    first = np.cross(normals, helper)
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    second = np.cross(normals, first)
    tilt = np.linspace(-width, width, 7)
    u, v = (grid.ravel()[None, :, None] for grid in np.meshgrid(tilt, tilt))
    planes = normals[:, None] + u * first[:, None] + v * second[:, None]
    return np.asarray(planes / np.linalg.norm(planes, axis=2, keepdims=True))
