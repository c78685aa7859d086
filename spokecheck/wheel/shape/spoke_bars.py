"""Bars of the face view: centre-lines with a width, as curves and as regions.

A spoke is one bar or several; every pattern is a way to lay bars.
The sides of a bar are lines where it is straight, else arcs that follow each other
without a corner.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import Polygon, make_valid
from shapely.geometry.base import BaseGeometry

from spokecheck.plane.boundary import CurveSource, chords
from spokecheck.plane.curves import Arc, Curve, Line, as_point, turned
from spokecheck.units import FloatArray

FLAT = 1.0e-4
"""Arcs that bow by less than this [mm] are drawn as lines: of radii of kilometres, the
CAD kernel loses the ends."""


@dataclass(frozen=True)
class Bar:
    """A bar in the face view.

    Attributes
    ----------
    points : ndarray (n, 2)
        Points of the centre-line, from hub to rim [mm].
    along : ndarray (n, 2)
        Unit directions of the centre-line there.
    widths : ndarray (n,)
        Width square to it [mm].
    before, after : float
        How far its sides run on [mm] beyond the first and the last point.
    """

    points: FloatArray
    along: FloatArray
    widths: FloatArray
    before: float
    after: float

    def turned(self, angle: float) -> "Bar":
        """The same bar, turned about the axle."""
        points, along = turned(self.points, angle), turned(self.along, angle)
        return replace(self, points=points, along=along)

    def side(self, sign: float) -> tuple[Curve, ...]:
        """Left (+1) or right (-1) side, from hub to rim."""
        normal = np.stack([-self.along[:, 1], self.along[:, 0]], axis=1)
        edge = self.points + sign * self.widths[:, None] / 2.0 * normal
        if len(edge) == 2 and np.allclose(self.along[0], self.along[1]):
            along = (edge[1] - edge[0]) / np.linalg.norm(edge[1] - edge[0])
            ends = edge[0] - self.before * along, edge[1] + self.after * along
            return (Line(as_point(ends[0]), as_point(ends[1]), "spoke side"),)
        first, last = _ends(edge, self.along)
        curves: list[Curve] = [_line(edge[0] - self.before * first, edge[0])]
        tangents = _tangents(edge, self.along, first, last)
        for k in range(len(edge) - 1):
            curves += biarc(edge[k], tangents[k], edge[k + 1], tangents[k + 1])
        return (*curves, _line(edge[-1], edge[-1] + self.after * last))

    def sources(self, chain: int) -> list[CurveSource]:
        """Curves that bound the bar, ends included; ``chain`` numbers its left side."""
        left, right = self.side(1.0), self.side(-1.0)
        ends = (
            _line(np.array(left[0].start), np.array(right[0].start)),
            _line(np.array(left[-1].end), np.array(right[-1].end)),
        )
        sides = [CurveSource(c, chain) for c in left] + [
            CurveSource(c, chain + 1) for c in right
        ]
        return sides + [CurveSource(c, chain + 2 + k) for k, c in enumerate(ends)]

    def region(self) -> BaseGeometry:
        """The bar as a polygon; as two where a strong taper makes its sides cross."""
        left, right = _polyline(self.side(1.0)), _polyline(self.side(-1.0))
        return make_valid(Polygon(np.vstack([left, right[::-1]])))


def straight_bar(
    start: Sequence[float],
    end: Sequence[float],
    widths: tuple[float, float],
    before: float,
    after: float,
) -> Bar:
    """Bar between two points [mm], its width going from one value to another."""
    points = np.array([start, end], dtype=float)
    along = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
    return Bar(points, np.stack([along, along]), np.array(widths), before, after)


def curved_bar(
    points: FloatArray, widths: FloatArray, before: float, after: float
) -> Bar:
    """Bar through points (n, 2) [mm], n at least 3, without a corner.

    Directions are those of circles through each point and its two neighbours.
    """
    middle = [
        _circle_direction(*points[k - 1 : k + 2]) for k in range(1, len(points) - 1)
    ]
    first = _mirrored(middle[0], points[1] - points[0])
    last = _mirrored(middle[-1], points[-1] - points[-2])
    return Bar(points, np.stack([first, *middle, last]), widths, before, after)


def _circle_direction(a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
    """Direction (2,) at b of the circle through three points."""
    u, v = b - a, c - b
    p, q = float(np.linalg.norm(u)), float(np.linalg.norm(v))
    along = u / p * q + v / q * p
    return np.asarray(along / np.linalg.norm(along))


def _mirrored(direction: FloatArray, chord: FloatArray) -> FloatArray:
    """Direction at the other end of an arc with this chord."""
    unit = chord / np.linalg.norm(chord)
    return np.asarray(2.0 * (direction @ unit) * unit - direction)


def _ends(points: FloatArray, along: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Directions of a side at its ends, so that its first and last piece are arcs."""
    if len(points) == 2:
        return np.asarray(along[0]), np.asarray(along[1])
    first = _mirrored(_circle_direction(*points[:3]), points[1] - points[0])
    last = _mirrored(_circle_direction(*points[-3:]), points[-1] - points[-2])
    return first, last


def _tangents(
    points: FloatArray, along: FloatArray, first: FloatArray, last: FloatArray
) -> FloatArray:
    """Directions (n, 2) of a side through points (n, 2)."""
    middle = [
        _circle_direction(*points[k - 1 : k + 2]) for k in range(1, len(points) - 1)
    ]
    return np.stack([first, *middle, last])


def _line(start: FloatArray, end: FloatArray) -> Line:
    return Line(as_point(start), as_point(end), "spoke side")


def biarc(p: FloatArray, s: FloatArray, q: FloatArray, t: FloatArray) -> list[Curve]:
    """Two arcs from p in direction s to q in direction t, without a corner.

    The ends of the two tangents have equal lengths d, so that the joint lies halfway
    between them: ``|q - p - d (s + t)| = 2 d``.

    References
    ----------
    Bolton, Biarc curves, Computer-Aided Design 7 (1975) 89-92 (from memory).
    """
    v = q - p
    sum_ = s + t
    a, b, c = 2.0 * (1.0 - float(s @ t)), 2.0 * float(v @ sum_), float(v @ v)
    d = c / b if abs(a) < 1e-9 else (-b + np.sqrt(b * b + 4.0 * a * c)) / (2.0 * a)
    joint = (p + d * s + q - d * t) / 2.0
    return [*_arc_along(p, s, joint), *map(_reversed, _arc_along(q, -t, joint))]


def _reversed(curve: Curve) -> Curve:
    return replace(curve, start=curve.end, end=curve.start)


def _arc_along(p: FloatArray, s: FloatArray, end: FloatArray) -> list[Curve]:
    """Arc from p in direction s to a point, or a line where it is straight."""
    chord = end - p
    normal = np.array([-s[1], s[0]])
    across = float(normal @ chord)
    size = float(np.linalg.norm(chord))
    if size < 1e-9:
        return []
    if abs(across) < 4.0 * FLAT:  # an arc bows by a quarter of that
        return [_line(p, end)]
    radius = size * size / (2.0 * across)
    return [
        Arc(as_point(p), as_point(end), as_point(p + radius * normal), "spoke side")
    ]


def _polyline(curves: Sequence[Curve]) -> FloatArray:
    """Points (n, 2) along a chain of curves, whichever way each of them runs."""
    points: list[FloatArray] = []
    for curve in curves:
        piece = chords(curve)
        if points and np.linalg.norm(piece[0] - points[-1][-1]) > 1e-6:
            piece = piece[::-1]
        points.append(piece)
    return np.vstack(points)
