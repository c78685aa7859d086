"""How far the last value of a convergence study may still be off.

References
----------
Roache, Perspective: a method for uniform reporting of grid refinement studies, J.
Fluids Eng. 116 (1994) 405-413; Celik et al., Procedure for estimation and reporting of
uncertainty due to discretization, J. Fluids Eng. 130 (2008) 078001 (both from memory).
"""

from collections.abc import Sequence

from scipy.optimize import brentq

FORMAL_ORDER = 2.0
"""Stress of second-order cells is off by the square of the edge length."""

LEAST_ORDER = 0.5
"""No slower convergence is believed in; a series that seems slower has not settled."""

TWO_MESHES, THREE_MESHES = 3.0, 1.25
"""Factors of safety of the grid convergence index: with the formal order, and with an
observed one (Roache)."""

CONFIRMED = 1.5
"""The same with the formal order where an independent estimate of the error fell with
the first power of the edge or faster; own choice, by ``tests.bench.coverage``."""

CONFIRMING_ORDER = 1.0
"""That power."""

UNSEEN = 0.1
"""A place whose value moved by more than this share was hardly seen by the mesh before:
there nothing confirms an order."""

NOISE = 0.01
"""Relative moves up to this hold no order: cells lie otherwise on each mesh."""

LEAST_BAR = 0.015
"""No error bar is smaller: geometry, integration and cells elsewhere have errors of
their own."""

UNREFINED, REFINED_SHARE = 1.5, 0.8
"""How many times the estimate of error counts: where nothing was refined, it then
covers 99 % of the surface points of first meshes (``fem.surface_stress``); beside the
index less, since it is that of the plain mean of the cells, which is further off."""


def grid_convergence(
    edges: Sequence[float],
    values: Sequence[float],
    scale: float,
    confirmed: bool = False,
) -> float:
    """Grid convergence index: how far the last value of a series may be off.

    Parameters
    ----------
    edges : sequence of float
        Edge lengths [mm], falling; two at least.
    values : sequence of float
        One for each.
    scale : float
        What the index is a share of, such as the last value.
    confirmed : bool, optional
        Whether an estimate of the error fell with the edges, see ``falls``.

    Returns
    -------
    float
        ``F |f_n - f_(n-1)| / (r^p - 1)`` over the scale, r the last ratio of edges.
        F is 3 with the formal order p, where there are two meshes or moves are within
        ``NOISE``, and 1.5 if the order is confirmed and the move small; 1.25 with an
        observed order, but 3 where moves do not fall.

    Examples
    --------
    Errors 4, 1: the last value is off by 1, a third of the move.

    >>> grid_convergence([2.0, 1.0], [96.0, 99.0], 100.0)
    0.03
    """
    move, ratio = abs(values[-1] - values[-2]), edges[-2] / edges[-1]
    confirmed = confirmed and move <= UNSEEN * scale
    order, safety = FORMAL_ORDER, CONFIRMED if confirmed else TWO_MESHES
    if len(values) > 2 and move > NOISE * scale:
        order = observed_order(edges[-3:], values[-3:])
        safety = THREE_MESHES if order > LEAST_ORDER else TWO_MESHES
    return float(safety * move / scale / (ratio**order - 1.0))


def falls(edges: Sequence[float], estimates: Sequence[float]) -> bool:
    """Whether the last estimate of error confirms that the stress converges.

    Parameters
    ----------
    edges : sequence of float
        Edge lengths [mm], falling; two at least.
    estimates : sequence of float
        Relative errors, one for each.
    """
    ratio = edges[-1] / edges[-2]
    return bool(estimates[-1] <= estimates[-2] * ratio**CONFIRMING_ORDER)


def observed_order(edges: Sequence[float], values: Sequence[float]) -> float:
    """Order of convergence of the last three values, within what is believed in.

    Notes
    -----
    If values are off by ``C h^p``, the last move over that before is
    ``(r21^p - 1) / (r21^p (r32^p - 1))`` with the ratios r21 (last) and r32 of edges,
    which falls with p.  The sign of the moves plays no part.
    """
    r21, r32 = edges[1] / edges[2], edges[0] / edges[1]
    last, before = abs(values[2] - values[1]), abs(values[1] - values[0])

    def excess(order: float) -> float:
        slower = last * r21**order * (r32**order - 1.0)
        return float(slower - before * (r21**order - 1.0))

    if excess(LEAST_ORDER) >= 0.0:
        return LEAST_ORDER
    if excess(FORMAL_ORDER) <= 0.0:
        return FORMAL_ORDER
    return float(brentq(excess, LEAST_ORDER, FORMAL_ORDER))
