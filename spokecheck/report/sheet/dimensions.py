"""Dimensions in the manner of ISO 129-1: extension lines, arrows, figures, leaders.

Figures stand above their line and read from below or from the right.
From memory of ISO 129-1: arrows closed and filled, gap and overshoot of extension lines
a few widths of the line.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.report.sheet.board import ARROW, Board, Choice
from spokecheck.report.sheet.sheet import Words, polyline
from spokecheck.units import FloatArray

GAP, BEYOND = 1.0, 2.0
"""Extension lines start this far [mm] from the part and end so far past the line."""

ABOVE = 1.0
"""Figures stand this far [mm] above their line."""

NARROW = 9.0
"""Below this span [mm] arrows point inward from outside."""

TAIL = 6.0
"""Length [mm] of the line behind an arrow that stands outside."""


@dataclass(frozen=True)
class Span:
    """What a linear dimension measures, in mm of paper.

    Attributes
    ----------
    a, b : ndarray (2,)
        Measured points.
    along : ndarray (2,)
        Unit direction of the measure.
    level : float
        Position of the dimension line, square to ``along`` (to its left).
    """

    a: FloatArray
    b: FloatArray
    along: FloatArray
    level: float

    @property
    def across(self) -> FloatArray:
        """Unit direction to the left of ``along``."""
        return np.array([-self.along[1], self.along[0]])

    def foot(self, point: FloatArray) -> FloatArray:
        """Where a measured point comes to lie on the dimension line."""
        reach = float(point @ self.along)
        return np.asarray(reach * self.along + self.level * self.across)


def horizontal(a: FloatArray, b: FloatArray, y: float) -> Span:
    """Measure along x with the line at height y."""
    low, high = (a, b) if a[0] <= b[0] else (b, a)
    return Span(low, high, np.array([1.0, 0.0]), y)


def vertical(a: FloatArray, b: FloatArray, x: float) -> Span:
    """Measure along y with the line at x; its figure reads from the right."""
    low, high = (a, b) if a[1] <= b[1] else (b, a)
    return Span(low, high, np.array([0.0, 1.0]), -x)


def linear(board: Board, span: Span, text: str, best: str = "middle") -> None:
    """Draw a linear dimension.

    Parameters
    ----------
    board : Board
        Where to draw.
    span : Span
        What it measures.
    text : str
        Figure.
    best : {"middle", "start", "end"}
        Preferred place of the figure: between the arrows, or outside of them.
    """
    low, high = span.foot(span.a), span.foot(span.b)
    size = float((high - low) @ span.along)
    _extend(board, span.a, low)
    _extend(board, span.b, high)
    out = span.along
    if size < NARROW:
        ends = [[low - TAIL * out, low], [high, high + TAIL * out]]
        board.stroke("thin", np.array(ends))
        board.arrow(low, out)
        board.arrow(high, -out)
    else:
        board.arrow(low, -out)
        board.arrow(high, out)
    board.stroke("thin", polyline([low, high]))
    board.wait(_figure_places(span, low, high, text, best))


def _extend(board: Board, point: FloatArray, foot: FloatArray) -> None:
    """Extension line from a measured point past the dimension line."""
    way = foot - point
    size = float(np.linalg.norm(way))
    if size > GAP:
        way = way / size
        board.stroke("thin", polyline([point + GAP * way, foot + BEYOND * way]))


def _figure_places(
    span: Span, low: FloatArray, high: FloatArray, text: str, best: str
) -> list[Choice]:
    """Places of a figure: along the line, or beyond either end of it."""
    out, up = span.along, span.across
    angle = float(np.rad2deg(np.arctan2(out[1], out[0])))
    if not -90.0 < angle <= 90.0:
        angle, up = (angle + 360.0) % 360.0 - 180.0, -up
    sample = Words(text, (0.0, 0.0))
    width, up = sample.width, (ABOVE + sample.tail) * up
    size = float((high - low) @ out)
    between = []
    if width + 1.0 < size:
        free = (size - width) / 2.0 - (ARROW if size > width + 2.0 * ARROW else 0.0)
        for share in (0.0, 0.5, -0.5, 1.0, -1.0, 0.25, -0.25, 0.75, -0.75):
            middle = (low + high) / 2.0 + share * free * out + up
            between.append(Choice(Words(text, _pair(middle), angle=angle)))
    start = TAIL if size < NARROW else 0.0
    beyond: dict[str, list[Choice]] = {"start": [], "end": []}
    for side, foot, sense in (("start", low, -1.0), ("end", high, 1.0)):
        for gap in (1.5, 6.0, 12.0, 20.0, 30.0, 42.0):
            near = max(start - width, 0.0) if gap < 2.0 else 0.0
            middle = foot + sense * (gap + near + width / 2.0) * out + up
            far = foot + sense * (gap + near + width + 0.5) * out
            line = polyline([foot, far])
            beyond[side].append(
                Choice(Words(text, _pair(middle), angle=angle), np.asarray(line))
            )
    order = {
        "middle": between + beyond["end"] + beyond["start"],
        "start": beyond["start"] + between + beyond["end"],
        "end": beyond["end"] + between + beyond["start"],
    }
    return order[best]


def _pair(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


LENGTHS = (9.0, 13.0, 18.0, 24.0, 31.0, 39.0, 48.0, 60.0)
"""Lengths of a leader [mm] tried, short ones first."""


def leader(
    board: Board,
    tips: list[tuple[FloatArray, FloatArray]],
    text: str,
    lengths: tuple[float, ...] = LENGTHS,
    spread: tuple[float, ...] = (0.0, 25.0, -25.0, 50.0, -50.0, 70.0, -70.0),
) -> None:
    """Draw a leader with its figure on a short landing, where there is room.

    Parameters
    ----------
    board : Board
        Where to draw.
    tips : list of (ndarray (2,), ndarray (2,))
        Equivalent points of the part, each with the best unit direction of the leader.
    text : str
        Figure.
    lengths : tuple of float
        Lengths tried [mm].
    spread : tuple of float
        Turns [deg] from the best direction that are tried.
    """
    sample = Words(text, (0.0, 0.0))
    width, rise = sample.width, ABOVE + sample.tail
    choices = []
    for length in lengths:
        for turn in spread:
            c, s = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
            for tip, way in tips:
                out = np.array([c * way[0] - s * way[1], s * way[0] + c * way[1]])
                elbow = tip + length * out
                side = 1.0 if out[0] >= 0 else -1.0
                end = elbow + side * (width + 1.0) * np.array([1.0, 0.0])
                words = Words(
                    text,
                    (float(elbow[0] + side * 0.5), float(elbow[1] + rise)),
                    across="left" if side > 0 else "right",
                )
                line = polyline([tip, elbow, end])
                choices.append(Choice(words, line, (tip, -out)))
    board.wait(choices)
