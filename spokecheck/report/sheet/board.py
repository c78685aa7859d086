"""A drawing board: takes lines and lettering, and places lettering that has a choice.

Lines are drawn at once; lettering with several possible places is placed when all lines
are there, where it hides least.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from spokecheck.report.sheet.sheet import FilledArea, Item, Stroke, Words
from spokecheck.units import FloatArray

STEP = 0.5
"""Spacing [mm] of the points of a line in the search for room."""

CLEAR = 0.5
"""Clearance [mm] round lettering."""

ARROW = 3.0
"""Length of an arrowhead [mm]."""

ARROW_HALF = np.tan(np.deg2rad(10.0))
"""Half its width over its length: closed and filled, 20 degrees."""


@dataclass(frozen=True)
class Choice:
    """Lettering with one of its places.

    Attributes
    ----------
    words : Words
    pieces : ndarray (n, 2, 2)
        Lines that come with it.
    arrow : tuple of ndarray (2,) or None
        Tip and direction of an arrowhead that comes with it.
    """

    words: Words
    pieces: FloatArray = field(default_factory=lambda: np.empty((0, 2, 2)))
    arrow: tuple[FloatArray, FloatArray] | None = None


@dataclass
class Board:
    """What has been drawn so far on a sheet within a frame.

    Attributes
    ----------
    frame : tuple of float
        Left, low, right and high limit [mm] of what may be lettered.
    """

    frame: tuple[float, float, float, float]
    items: list[Item] = field(default_factory=list)
    _ink: list[FloatArray] = field(default_factory=list)
    _boxes: list[FloatArray] = field(default_factory=list)
    _waiting: list[tuple[Choice, ...]] = field(default_factory=list)

    def stroke(self, pen: str, pieces: FloatArray, counts: bool = True) -> None:
        """Draw pieces (n, 2, 2); they take room unless ``counts`` is false."""
        self.items.append(Stroke(pen, pieces))
        if counts and len(pieces):
            self._ink.append(_spread(pieces))

    def arrow(self, tip: FloatArray, along: FloatArray) -> None:
        """Draw an arrowhead that points along a unit direction (2,)."""
        side = ARROW_HALF * ARROW * np.array([-along[1], along[0]])
        foot = tip - ARROW * along
        self.items.append(FilledArea(np.stack([tip, foot + side, foot - side])))

    def letter(self, words: Words) -> None:
        """Write lettering that has no choice."""
        self.items.append(words)
        self._boxes.append(words.box())

    def wait(self, choices: Sequence[Choice]) -> None:
        """Have lettering written later, at the best of its places."""
        self._waiting.append(tuple(choices))

    def settle(self) -> None:
        """Write all that waits, in the order it came."""
        taken = _Raster(self.frame)
        for points in self._ink:
            taken.add(points)
        for choices in self._waiting:
            costs = []
            for rank, choice in enumerate(choices):
                costs.append(self._cost(choice, taken) + 1e-3 * rank)
                if costs[-1] < 1.0:
                    break
            best = choices[int(np.argmin(costs))]
            self.letter(best.words)
            if len(best.pieces):
                self.items.append(Stroke("thin", best.pieces))
                taken.add(_spread(best.pieces))
            if best.arrow is not None:
                self.arrow(*best.arrow)
        self._waiting.clear()

    def _cost(self, choice: Choice, taken: "_Raster") -> float:
        """Nothing if the place is free; lettering on lettering costs most."""
        box = choice.words.box(CLEAR)
        left, low, right, high = self.frame
        (x0, y0), (x1, y1) = box.min(axis=0), box.max(axis=0)
        if x0 < left or y0 < low or x1 > right or y1 > high:
            return 1e9
        cost = 1e6 * sum(overlap(box, other) for other in self._boxes)
        if len(choice.pieces):
            line = _spread(choice.pieces)
            cost += 1e4 * sum(int(within(line, b).sum()) for b in self._boxes)
        return float(cost + within(taken.near(x0, y0, x1, y1), box).sum())


class _Raster:
    """Squares of the sheet that lines cross."""

    def __init__(self, frame: tuple[float, float, float, float]) -> None:
        self._start = np.array(frame[:2])
        size = np.ceil((np.array(frame[2:]) - self._start) / STEP).astype(int) + 1
        self._cells = np.zeros((int(size[0]), int(size[1])), dtype=bool)

    def add(self, points: FloatArray) -> None:
        """Mark the squares of points (n, 2)."""
        squares = np.rint((points - self._start) / STEP).astype(int)
        fits = ((squares >= 0) & (squares < self._cells.shape)).all(axis=1)
        self._cells[squares[fits, 0], squares[fits, 1]] = True

    def near(self, x0: float, y0: float, x1: float, y1: float) -> FloatArray:
        """Middles (n, 2) of marked squares between two corners."""
        low = ((np.array([x0, y0]) - self._start) / STEP).astype(int)
        high = ((np.array([x1, y1]) - self._start) / STEP).astype(int) + 2
        low = np.maximum(low, 0)
        squares = np.argwhere(self._cells[low[0] : high[0], low[1] : high[1]])
        return np.asarray(self._start + STEP * (squares + low))


def _spread(pieces: FloatArray) -> FloatArray:
    """Points (n, 2) along pieces, about ``STEP`` apart."""
    along = pieces[:, 1] - pieces[:, 0]
    counts = np.ceil(np.linalg.norm(along, axis=1) / STEP).astype(int) + 1
    which = np.repeat(np.arange(len(pieces)), counts)
    first = np.cumsum(counts) - counts
    share = (np.arange(counts.sum()) - first[which]) / np.maximum(counts[which] - 1, 1)
    return np.asarray(pieces[which, 0] + share[:, None] * along[which])


def within(points: FloatArray, box: FloatArray) -> FloatArray:
    """Whether points (n, 2) lie in a box given by its corners (4, 2) in turn."""
    first, second = box[1] - box[0], box[3] - box[0]
    x = (points - box[0]) @ first / (first @ first)
    y = (points - box[0]) @ second / (second @ second)
    return np.asarray((x > 0) & (x < 1) & (y > 0) & (y < 1))


def overlap(a: FloatArray, b: FloatArray) -> bool:
    """Whether two boxes (4, 2), each turned as it may be, share ground.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> overlap(square, square + 0.5), overlap(square, square + 1.5)
    (True, False)
    """
    for box in (a, b):
        for axis in (box[1] - box[0], box[3] - box[0]):
            p, q = a @ axis, b @ axis
            if p.max() <= q.min() or q.max() <= p.min():
                return False
    return True
