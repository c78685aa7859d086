"""Closed polygons in a plane: their sides, what lies within them, where lines cross."""

import numpy as np
import shapely

from spokecheck.units import BoolArray, FloatArray


def sides(outline: FloatArray) -> FloatArray:
    """Pieces (n, 2, 2) of a closed outline (n, 2)."""
    return np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)


def inside(points: FloatArray, outline: FloatArray) -> BoolArray:
    """Whether points (n, 2) lie within a closed outline (m, 2), by the even-odd rule.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> inside(np.array([[0.5, 0.5], [2.0, 0.5]]), square).tolist()
    [True, False]
    """
    polygon = shapely.Polygon(outline)
    shapely.prepare(polygon)
    return np.asarray(shapely.contains_xy(polygon, points))


def crossings(outline: FloatArray, x: FloatArray) -> tuple[BoolArray, FloatArray]:
    """Where the lines of constant x cross the sides of a closed outline.

    Parameters
    ----------
    outline : ndarray (m, 2)
        Closed outline (x, y).
    x : ndarray (n,)
        Lines.

    Returns
    -------
    crosses : ndarray (n, m) of bool
        Whether a line crosses a side; an end that lies on the line counts once.
    y : ndarray (n, m)
        Where; of no meaning elsewhere.
    """
    a, b = outline, np.roll(outline, -1, axis=0)
    level = x[:, None]
    crosses = (a[:, 0] > level) != (b[:, 0] > level)
    run = np.where(a[:, 0] == b[:, 0], 1.0, b[:, 0] - a[:, 0])
    return crosses, a[:, 1] + (level - a[:, 0]) * (b[:, 1] - a[:, 1]) / run


def extent(outline: FloatArray, x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest y (n,) of a closed outline on lines x (n,).

    Infinite, low above high, where a line misses the outline.
    """
    crosses, y = crossings(outline, x)
    low = np.where(crosses, y, np.inf).min(axis=1)
    return low, np.where(crosses, y, -np.inf).max(axis=1)
