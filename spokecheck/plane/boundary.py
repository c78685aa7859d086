"""Boundary of a region: the drawn curves that the sides of its polygon follow."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from spokecheck.plane.curves import (
    Arc,
    Curve,
    Line,
    angle_between,
    as_point,
    distance_to,
    on_circle,
)
from spokecheck.units import FloatArray

SAGITTA = 1.0e-3
"""Largest gap [mm] between an arc and its chords."""

FOUND = 0.2
"""A polygon's side belongs to a curve if it lies this near [mm] to it; the library that
erodes polygons simplifies them by a hundredth of the distance."""

ONE_LINE = 1.0e-2
"""Distance [mm] of a line's ends from another line at which the two are one."""

TINY = 0.05
"""Sides of a polygon shorter than this [mm] in all are leftovers."""


@dataclass(frozen=True)
class CurveSource:
    """A curve that may bound a region.

    Attributes
    ----------
    curve : Line or Arc
        Its name is that of the surface it makes.
    chain : int
        Curves of one chain follow each other without a corner.
    """

    curve: Curve
    chain: int


def chords(curve: Curve) -> FloatArray:
    """Points (n, 2) of a curve, both ends included, within ``SAGITTA`` of it."""
    start, end = np.array(curve.start), np.array(curve.end)
    if isinstance(curve, Line):
        return np.stack([start, end])
    centre = np.array(curve.centre)
    turn = angle_between(start - centre, end - centre)
    n = 1 + int(np.ceil(abs(turn) / np.sqrt(8.0 * SAGITTA / curve.radius)))
    points = on_circle(start, centre, np.linspace(0.0, turn, n + 1))
    points[0], points[-1] = start, end
    return np.asarray(points)


@dataclass(frozen=True)
class Run:
    """A stretch of an eroded region's boundary that follows one line or circle.

    Attributes
    ----------
    sources : tuple of CurveSource
        Several where a circle was drawn in pieces.
    points : ndarray (n, 2)
        Its corners, in order.
    """

    sources: tuple[CurveSource, ...]
    points: FloatArray

    @property
    def start(self) -> FloatArray:
        """First corner (2,) [mm]."""
        return np.asarray(self.points[0])

    @property
    def end(self) -> FloatArray:
        """Last corner (2,) [mm]."""
        return np.asarray(self.points[-1])

    @property
    def middle(self) -> FloatArray:
        """Middle (2,) of the middle piece [mm]."""
        half = (len(self.points) - 1) // 2
        return np.asarray((self.points[half] + self.points[half + 1]) / 2.0)

    @property
    def curve(self) -> Curve:
        """The line or circle it follows."""
        return self.sources[0].curve

    @property
    def side(self) -> float:
        """+1 if the region lies left of a line or outside a circle, else -1."""
        curve = self.curve
        if isinstance(curve, Arc):
            away = float(np.linalg.norm(self.middle - np.array(curve.centre)))
            return float(np.sign(away - curve.radius))
        return float(
            np.sign(left_normal(curve) @ (self.middle - np.array(curve.start)))
        )

    def foot(self, point: FloatArray) -> FloatArray:
        """Nearest point (2,) of the source, extended beyond its ends."""
        curve = self.curve
        if isinstance(curve, Arc):
            off = point - np.array(curve.centre)
            nearest = off * curve.radius / np.linalg.norm(off)
            return np.asarray(np.array(curve.centre) + nearest)
        across = left_normal(curve)
        return np.asarray(point - across * (across @ (point - np.array(curve.start))))

    def piece(self, start: FloatArray, end: FloatArray) -> list[Curve]:
        """The source between two of its points, in pieces of less than half a turn."""
        curve = self.curve
        along = self.end - self.start
        if (end - start) @ along < 0.0 and np.linalg.norm(end - start) > 1e-6:
            raise ValueError("the corner roundings of a window overlap")
        if isinstance(curve, Line):
            long = np.linalg.norm(end - start) > 1e-3
            return [Line(as_point(start), as_point(end), curve.name)] if long else []
        return arc_pieces(start, end, np.array(curve.centre), curve.name, self.middle)


def arc_pieces(
    start: FloatArray,
    end: FloatArray,
    centre: FloatArray,
    name: str,
    through: FloatArray,
) -> list[Curve]:
    """Arcs about ``centre`` from start to end by way of ``through``'s direction."""
    a, b, m = start - centre, end - centre, through - centre
    first = angle_between(a, m)
    turn = first + angle_between(m, b)
    radius = float(np.linalg.norm(a))
    if abs(turn) * radius < 1e-3:
        return []
    n = 1 + int(abs(turn) // (2.0 * np.pi / 3.0))
    points = on_circle(start, centre, np.linspace(0.0, turn, n + 1))
    points[-1] = end
    return [
        Arc(as_point(p), as_point(q), as_point(centre), name)
        for p, q in pairwise(points)
    ]


def left_normal(line: Line) -> FloatArray:
    """Unit normal (2,) to the left of a line."""
    along = np.subtract(line.end, line.start)
    return np.asarray(np.array([-along[1], along[0]]) / np.linalg.norm(along))


def _longer(curve: Curve, more: float) -> Curve:
    """A line made longer at both ends: eroded lines meet beyond a knee."""
    if isinstance(curve, Arc):
        return curve
    along = np.subtract(curve.end, curve.start)
    step = more * along / np.linalg.norm(along)
    start, end = np.array(curve.start) - step, np.array(curve.end) + step
    return Line(as_point(start), as_point(end), curve.name)


def _joined(first: Run, second: Run) -> Run:
    return Run(first.sources + second.sources, np.vstack([first.points, second.points]))


def _same(first: Curve, second: Curve) -> bool:
    """Whether two curves lie on one circle, or almost on one line, or are the same."""
    if isinstance(first, Arc) and isinstance(second, Arc):
        apart = np.hypot(*np.subtract(first.centre, second.centre))
        return bool(apart + abs(first.radius - second.radius) < 1e-6)
    if isinstance(first, Line) and isinstance(second, Line):
        ends = np.subtract([second.start, second.end], first.start) @ left_normal(first)
        return bool(np.abs(ends).max() < ONE_LINE)
    return first is second


def follow(
    ring: FloatArray, sources: Sequence[CurveSource], radius: float
) -> list[Run]:
    """Stretches of a closed ring, each with the source it follows.

    Parameters
    ----------
    ring : ndarray (n + 1, 2)
        Corners of an eroded region [mm], the first again at the end.
    sources : sequence of CurveSource
        Curves that may bound the region before erosion.
    radius : float
        By how much it was eroded [mm].

    Returns
    -------
    list of Run

    Raises
    ------
    ValueError
        If a side follows no source.
    """
    # 1. owner of each side: the source whose distance is nearest to the erosion
    middle = (ring[:-1] + ring[1:]) / 2.0
    reach = [_longer(s.curve, 3.0 * radius) for s in sources]
    gaps = np.abs(np.stack([distance_to(curve, middle) for curve in reach]) - radius)
    if gaps.min(axis=0).max() > FOUND:
        raise ValueError("a window is too narrow for its corner radius")
    owner = gaps.argmin(axis=0)
    # 2. runs of sides with one owner, from the first change on
    changes = np.flatnonzero(owner != np.roll(owner, 1))
    if not len(changes):
        return [Run((sources[owner[0]],), ring)]
    ring = np.roll(ring[:-1], -changes[0], axis=0)
    owner, bounds = np.roll(owner, -changes[0]), [*(changes - changes[0]), len(owner)]
    closed = np.vstack([ring, ring[:1]])
    runs = [Run((sources[owner[a]],), closed[a : b + 1]) for a, b in pairwise(bounds)]
    long = [run for run in runs if np.linalg.norm(run.end - run.start) > TINY]
    # 3. neighbouring runs on one line or circle are one
    merged: list[Run] = []
    for run in long:
        if merged and _same(merged[-1].curve, run.curve):
            merged.append(_joined(merged.pop(), run))
        else:
            merged.append(run)
    if len(merged) > 2 and _same(merged[-1].curve, merged[0].curve):
        merged[0] = _joined(merged.pop(), merged[0])
    return merged
