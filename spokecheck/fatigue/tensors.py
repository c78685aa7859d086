"""Invariants of stress tensors held as six Voigt components.

Order xx yy zz xy yz zx, tensor shear; the last axis is always the components.
"""

import numpy as np

from spokecheck.units import FloatArray

_ROW = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2]])


def as_matrix(stress: FloatArray) -> FloatArray:
    """Symmetric 3 x 3 matrices of Voigt tensors.

    Parameters
    ----------
    stress : ndarray (..., 6)
        Stress [MPa].

    Returns
    -------
    ndarray (..., 3, 3)
        The same tensors [MPa].
    """
    return stress[..., _ROW]


def trace(stress: FloatArray) -> FloatArray:
    """Sum of the three normal stresses [MPa], shape (...)."""
    total: FloatArray = stress[..., :3].sum(axis=-1)
    return total


def deviator5(stress: FloatArray) -> FloatArray:
    """Deviator as a five-vector whose Euclidean norm is the root of J2.

    Parameters
    ----------
    stress : ndarray (..., 6)
        Stress [MPa]; the hydrostatic part drops out.

    Returns
    -------
    ndarray (..., 5)
        Vector d [MPa] with d.d = J2, so that von Mises is sqrt(3) |d|.

    Notes
    -----
    d = ((2 sxx - syy - szz) / (2 sqrt 3), (syy - szz) / 2, sxy, syz, szx).
    The map is linear and an isometry, so that ellipses stay ellipses.

    References
    ----------
    Papadopoulos et al., Int J Fatigue 19 (1997) 219-235 (from memory).

    Examples
    --------
    >>> d = deviator5(np.array([100.0, 0, 0, 0, 0, 0]))
    >>> round(float(np.sqrt(3 * d @ d)), 9)
    100.0
    """
    xx, yy, zz = stress[..., 0], stress[..., 1], stress[..., 2]
    first = (2.0 * xx - yy - zz) / (2.0 * np.sqrt(3.0))
    second = 0.5 * (yy - zz)
    return np.stack([first, second, *np.moveaxis(stress[..., 3:], -1, 0)], axis=-1)


def from_deviator5(vector: FloatArray) -> FloatArray:
    """Deviatoric stress of a five-vector: `deviator5` undone.

    Parameters
    ----------
    vector : ndarray (..., 5)
        As made by `deviator5` [MPa].

    Returns
    -------
    ndarray (..., 6)
        Stress without hydrostatic part [MPa].
    """
    first = vector[..., 0] / np.sqrt(3.0)
    second = vector[..., 1]
    normals = [2.0 * first, second - first, -second - first]
    return np.stack([*normals, *np.moveaxis(vector[..., 2:], -1, 0)], axis=-1)


def von_mises(stress: FloatArray) -> FloatArray:
    """Von Mises equivalent stress [MPa] of (..., 6), shape (...).

    Must not be used as the amplitude of a turning stress: it is never negative and
    pulsates at twice the frequency of the load.
    """
    d = deviator5(stress)
    root: FloatArray = np.sqrt(3.0 * np.einsum("...d,...d->...", d, d))
    return root


def extreme_principals(stress: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least and greatest principal stress by the trigonometric closed form.

    Parameters
    ----------
    stress : ndarray (..., 6)
        Stress [MPa].

    Returns
    -------
    least, greatest : ndarray (...)
        Principal stresses [MPa].

    Notes
    -----
    Much faster on large batches than an iterative solver, but near equal principal
    stresses it keeps only half the digits (about 1e-8 of the norm).

    References
    ----------
    Smith, Communications of the ACM 4 (1961) 168 (from memory).

    Examples
    --------
    >>> low, high = extreme_principals(np.array([0.0, 0, 0, 50, 0, 0]))
    >>> round(float(low), 9), round(float(high), 9)
    (-50.0, 50.0)
    """
    # invariants J2 and J3 of the deviator; cos(3 angle) = J3 / (2 (J2 / 3)^1.5)
    centre = trace(stress) / 3.0
    xx, yy, zz = (stress[..., i] - centre for i in range(3))
    xy, yz, zx = (stress[..., i] for i in range(3, 6))
    second = 0.5 * (xx**2 + yy**2 + zz**2) + xy**2 + yz**2 + zx**2
    third = xx * (yy * zz - yz**2) - xy * (xy * zz - yz * zx) + zx * (xy * yz - yy * zx)
    size = np.sqrt(second / 3.0)
    cube = np.where(size > 0.0, size, 1.0) ** 3
    angle = np.arccos(np.clip(third / (2.0 * cube), -1.0, 1.0)) / 3.0
    greatest = centre + 2.0 * size * np.cos(angle)
    least = centre + 2.0 * size * np.cos(angle + 2.0 * np.pi / 3.0)
    return least, greatest


def greater_semi_axis_squared(a: FloatArray, b: FloatArray) -> FloatArray:
    """Square (...) of the greater semi-axis of ellipses ``a cos + b sin`` (..., d).

    The greater eigenvalue of the Gram matrix ((aa, ab), (ab, bb)).
    """
    pairs = ((a, a), (a, b), (b, b))
    aa, ab, bb = (np.einsum("...d,...d->...", x, y) for x, y in pairs)
    return np.asarray(0.5 * (aa + bb) + np.hypot(0.5 * (aa - bb), ab))


def normal_weights(directions: FloatArray) -> FloatArray:
    """Six weights w with w . stress = n . S . n.

    Parameters
    ----------
    directions : ndarray (..., 3)
        Unit normals n.

    Returns
    -------
    ndarray (..., 6)
        Weights for the Voigt components.
    """
    x, y, z = np.moveaxis(directions, -1, 0)
    return np.stack([x * x, y * y, z * z, 2 * x * y, 2 * y * z, 2 * z * x], axis=-1)
