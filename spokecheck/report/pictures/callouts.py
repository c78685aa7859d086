"""Numbers beside a drawing: where each label goes so that none hides the part."""

from dataclasses import dataclass

import numpy as np

from spokecheck.units import FloatArray


@dataclass(frozen=True)
class Frame:
    """Columns left and right of a drawing in which labels stand.

    Attributes
    ----------
    left, right : float
        Position of the two columns.
    low, high : float
        Lowest and highest label.
    gap : float
        Least distance of two labels in a column.
    """

    left: float
    right: float
    low: float
    high: float
    gap: float


def spread(asked: FloatArray, gap: float, low: float, high: float) -> FloatArray:
    """Positions near those asked for, in the same order, at least ``gap`` apart.

    Parameters
    ----------
    asked : ndarray (n,)
        In any order.
    gap : float
        Least distance; smaller if ``n`` labels do not fit between the limits.
    low, high : float
        Limits.

    Returns
    -------
    ndarray (n,)

    Examples
    --------
    >>> spread(np.array([5.0, 5.0, 1.0]), 2.0, 0.0, 6.0).tolist()
    [4.0, 6.0, 1.0]
    """
    count = len(asked)
    if count == 0:
        return np.empty(0)
    gap = min(gap, (high - low) / max(count - 1, 1))
    order = np.argsort(asked, kind="stable")
    steps = gap * np.arange(count)
    free = np.clip(asked[order] - steps, low, high - steps[-1])
    placed = np.empty(count)
    placed[order] = np.maximum.accumulate(free) + steps
    return placed


def place_labels(places: FloatArray, frame: Frame) -> FloatArray:
    """Label positions (n, 2) for places (n, 2): in the nearer column, untangled."""
    labels = np.empty_like(places)
    is_left = places[:, 0] < (frame.left + frame.right) / 2.0
    for side, column in ((is_left, frame.left), (~is_left, frame.right)):
        labels[side, 0] = column
        labels[side, 1] = spread(places[side, 1], frame.gap, frame.low, frame.high)
    return labels
