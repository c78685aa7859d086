"""How much a turning stress tensor swings: amplitudes with one number per point.

The deviator of ``M + A cos + B sin`` runs along an ellipse, so everything about one
turning order is a closed form.
Half the range of the scalar von Mises stress is not an amplitude: von Mises of a fully
reversed stress is never negative and pulsates at twice the frequency.
"""

import numpy as np

from spokecheck.fatigue.enclosing_sphere import smallest_enclosing_sphere
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.sampling import chunks, crest, span, turn_count
from spokecheck.fatigue.tensors import (
    deviator5,
    greater_semi_axis_squared,
    trace,
    von_mises,
)
from spokecheck.units import FloatArray


def ellipse_amplitude(history: StressHistory, n_turns: int | None = None) -> FloatArray:
    """Enclosing von Mises amplitude: sqrt(3) times the root sum square of half-ranges.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    n_turns : int, optional
        Angles per turn for several orders; see `sampling.turn_count`.

    Returns
    -------
    ndarray (n_points,)
        Amplitude [MPa]; sigma_a for uniaxial sigma_a, sqrt(3) tau_a for shear.

    Notes
    -----
    One turning order: sqrt(3 (A.A + B.B)) with a.b half the double contraction of the
    deviators, that is sqrt(3 (l1 + l2)) with the squared semi-axes l1 >= l2 of the
    ellipse.
    It does not depend on the phase between the components.
    Several orders: half-ranges of the deviatoric path along its five principal axes
    (of its covariance over the turn), root sum square.
    The path lies in the box of those ranges, and the box in the hypersphere round it,
    so the measure is never less than that of the smallest hypersphere; for an ellipse
    it is the closed form.

    One enclosing cycle per turn is counted: smaller cycles inside the turn are not.

    References
    ----------
    Measure of the Frobenius or smallest-ellipsoid kind: Zouain, Mamiya, Comes,
    Eur J Mech A 25 (2006) 265-286 (from memory).

    Examples
    --------
    >>> turning = np.array([[[100.0, 0, 0, 0, 0, 0]]]) + 0j
    >>> history = StressHistory(np.array([1]), turning)
    >>> round(float(ellipse_amplitude(history)[0]), 9)
    100.0
    """
    if history.single:
        a, b = (deviator5(part) for part in history.ellipse())
        squares = np.einsum("nd,nd->n", a, a) + np.einsum("nd,nd->n", b, b)
        root: FloatArray = np.sqrt(3.0 * squares)
        return root
    half = half_ranges(history, n_turns)
    box: FloatArray = np.sqrt(3.0 * np.einsum("nj,nj->n", half, half))
    return box


def half_ranges(history: StressHistory, n_turns: int | None = None) -> FloatArray:
    """Half-ranges of the deviatoric path along its principal axes.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    n_turns : int, optional
        Angles per turn; see `sampling.turn_count`.

    Returns
    -------
    ndarray (n_points, 5)
        Half-ranges [MPa] in the space of `deviator5`, for axes of growing variance.
    """
    turns = turn_count(history, n_turns)
    # per chunk: covariance of the deviator over the turn, its axes, ranges along them
    half = np.empty((history.n_points, 5))
    for part in chunks(history, 24 * turns):
        some = history.take(part)
        fields = some.turning[1]
        d = deviator5(fields.real) + 1j * deviator5(fields.imag)
        covariance = 0.5 * np.einsum("mni,mnj->nij", d, d.conj()).real
        axes = np.linalg.eigh(covariance)[1]
        path = deviator5(some.sample(turns)).transpose(1, 0, 2)
        half[part] = span((path @ axes).transpose(1, 0, 2))[1]
    return half


def hypersphere_amplitude(
    history: StressHistory, n_turns: int | None = None
) -> FloatArray:
    """Von Mises amplitude by the minimum enclosing hypersphere of the deviatoric path.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    n_turns : int, optional
        Angles per turn for several orders; see `sampling.turn_count`.

    Returns
    -------
    ndarray (n_points,)
        sqrt(3) times the radius [MPa].

    Notes
    -----
    One turning order: sqrt(3 l1), l1 the greater eigenvalue of the Gram matrix of A, B.
    It overlooks the minor semi-axis and is up to 18 % unsafe near circular paths (test
    table of `criteria`); shown for comparison, must not be used alone.
    """
    if history.single:
        a, b = (deviator5(part) for part in history.ellipse())
        root: FloatArray = np.sqrt(3.0 * greater_semi_axis_squared(a, b))
        return root
    turns = turn_count(history, n_turns)
    measured = np.empty(history.n_points)
    for part in chunks(history, 24 * turns):
        path = deviator5(history.take(part).sample(turns))
        radius = smallest_enclosing_sphere(
            np.ascontiguousarray(path.transpose(1, 0, 2))
        )[1]
        measured[part] = np.sqrt(3.0) * radius
    return measured


def mean_stress(history: StressHistory, n_turns: int | None = None) -> FloatArray:
    """Signed mean stress that goes with a von Mises amplitude.

    Parameters
    ----------
    history : StressHistory
        Any orders.
    n_turns : int, optional
        Angles per turn for several orders; see `sampling.turn_count`.

    Returns
    -------
    ndarray (n_points,)
        Middle of the range of the sum of the three normal stresses [MPa].
        0 for one turning order alone, sigma_m for a uniaxial sigma_m + sigma_a sin.

    Notes
    -----
    Why the sum of normal stresses (three times the hydrostatic stress): it goes with
    von Mises amplitudes since Sines, has a sign, does not depend on axes, varies
    smoothly where the critical plane jumps, gives a steady shear no effect (as torsion
    tests with mean torsion show), and is redone on paper by adding three numbers.
    Counting both tensions of a biaxial mean is the safe side.
    Limit: a steady compression across the cyclic stress lowers it; the mean normal
    stress on the critical plane is given beside it, in `critical_planes`.
    For several orders the middle of the range, not the time average, is what the
    greatest cycle sees: a short pulse from 0 to s has mean s / 2.

    References
    ----------
    Sines, in Metal Fatigue, McGraw-Hill 1959, 145-169; Dowling, Mechanical Behavior of
    Materials, section on multiaxial fatigue (effective mean stress) (from memory).
    """
    if history.single:
        return trace(history.mean)
    turns = turn_count(history, n_turns)
    middle = np.empty(history.n_points)
    for part in chunks(history, 12 * turns):
        middle[part] = span(trace(history.take(part).sample(turns)))[0]
    return middle


def hydrostatic_crest(history: StressHistory, n_turns: int | None = None) -> FloatArray:
    """Greatest hydrostatic stress over the turn [MPa], (n_points,).

    One turning order: tr(M)/3 + sqrt((trA/3)^2 + (trB/3)^2).
    """
    if history.single:
        a, b = (trace(part) / 3.0 for part in history.ellipse())
        return trace(history.mean) / 3.0 + np.hypot(a, b)
    turns = turn_count(history, n_turns)
    greatest = np.empty(history.n_points)
    for part in chunks(history, 12 * turns):
        greatest[part] = crest(trace(history.take(part).sample(turns))) / 3.0
    return greatest


def greatest_von_mises(
    history: StressHistory, n_turns: int | None = None
) -> FloatArray:
    """Greatest von Mises stress over the turn [MPa], (n_points,), for yield.

    Sampled, its square refined by a parabola: the square is a trigonometric polynomial
    of twice the greatest order; for one order 72 angles leave less than 2e-4
    (half the cubic remainder of `sampling.turn_count`, 3.4e-4 for 36 per wave).
    """
    turns = turn_count(history, n_turns)
    greatest = np.empty(history.n_points)
    for part in chunks(history, 18 * turns):
        stress = history.take(part).sample(turns)
        greatest[part] = np.sqrt(crest(von_mises(stress) ** 2))
    return greatest
