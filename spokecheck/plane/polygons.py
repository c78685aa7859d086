"""Closed polygons in a plane: their sides, and what lies within them."""

import numpy as np

from spokecheck.units import BoolArray, FloatArray


def sides(outline: FloatArray) -> FloatArray:
    """Pieces (n, 2, 2) of a closed outline (n, 2)."""
    return np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)


def inside(points: FloatArray, outline: FloatArray) -> BoolArray:
    """Whether points (n, 2) lie within a closed outline, by the even-odd rule.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> inside(np.array([[0.5, 0.5], [2.0, 0.5]]), square).tolist()
    [True, False]
    """
    a, b = outline, np.roll(outline, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    spans = (a[:, 1] > y) != (b[:, 1] > y)
    rise = np.where(a[:, 1] == b[:, 1], 1.0, b[:, 1] - a[:, 1])
    at = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
    return np.asarray((spans & (x < at)).sum(axis=1) % 2 == 1)
