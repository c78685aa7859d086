"""Plane curves of lines and arcs: what profiles, windows and cutters are drawn with.

A closed polygon becomes an outline by rounding its corners, so every rounded edge of
the wheel has its radius by construction and none is left to the CAD kernel.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from spokecheck.units import FloatArray

Point = tuple[float, float]

SHORTEST = 1.0e-3
"""Lines shorter than this [mm] are left out; the arcs beside them meet."""

FLAT_CORNER = 0.02
"""A rounding that lies this near [mm] to its corner is left out: the corner is so flat
that its stress is almost regular."""

GIVES_WAY = 0.5
"""Share to which roundings that no key sets shrink before one that a key sets does."""


@dataclass(frozen=True)
class Line:
    """A straight piece from ``start`` to ``end`` [mm], part of the surface ``name``."""

    start: Point
    end: Point
    name: str


@dataclass(frozen=True)
class Arc:
    """A circular piece of less than half a turn.

    Attributes
    ----------
    start, end, centre : tuple of float
        Points [mm].
    name : str
        Surface the piece belongs to.
    """

    start: Point
    end: Point
    centre: Point
    name: str

    @property
    def radius(self) -> float:
        """Radius [mm]."""
        return float(np.hypot(*np.subtract(self.start, self.centre)))


Curve = Line | Arc


def sense_of(arc: Arc) -> float:
    """+1 for an arc that runs anticlockwise, else -1."""
    a, b = np.subtract(arc.start, arc.centre), np.subtract(arc.end, arc.centre)
    return float(np.sign(a[0] * b[1] - a[1] * b[0]))


def angle_between(a: FloatArray, b: FloatArray) -> float:
    """Angle from a to b [rad], within half a turn."""
    return float(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b))


def turned(points: FloatArray, angle: float) -> FloatArray:
    """Points (n, 2) turned about the origin by an angle [rad]."""
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def on_circle(start: FloatArray, centre: FloatArray, angles: FloatArray) -> FloatArray:
    """Points (n, 2) that a start reaches when turned about a centre by angles [rad]."""
    a, c, s = start - centre, np.cos(angles), np.sin(angles)
    return np.stack([a[0] * c - a[1] * s, a[0] * s + a[1] * c], axis=1) + centre


@dataclass(frozen=True)
class Corner:
    """A corner of a polygon, with its rounding.

    Attributes
    ----------
    at : tuple of float
        Position [mm].
    radius : float
        Radius asked for [mm]; zero leaves the corner sharp.
    name : str
        Surface of the piece that leaves this corner.
    fillet : str
        Surface of the rounding; empty: that of the piece that leaves.
    key : str
        Design key that sets the radius, for messages.
    """

    at: Point
    radius: float = 0.0
    name: str = ""
    fillet: str = ""
    key: str = ""


@dataclass(frozen=True)
class ReducedRadius:
    """A rounding that is drawn smaller than asked for, to fit its corner [mm]."""

    where: str
    key: str
    asked: float
    drawn: float


def _turns(points: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Unit directions, lengths of the sides, and turn angle at each corner."""
    sides = np.roll(points, -1, axis=0) - points
    length = np.linalg.norm(sides, axis=1)
    unit = sides / length[:, None]
    before = np.roll(unit, 1, axis=0)
    cross = before[:, 0] * unit[:, 1] - before[:, 1] * unit[:, 0]
    return unit, length, np.arctan2(cross, (before * unit).sum(axis=1))


def fitting_radii(corners: Sequence[Corner]) -> FloatArray:
    """Radii that fit, each as near to the one asked for as its sides allow.

    Parameters
    ----------
    corners : sequence of Corner
        Closed polygon.

    Returns
    -------
    ndarray (n_corners,)
        Radii [mm]; where the tangents of two corners overlap on a side, both shrink
        in proportion, but first a rounding that no key sets, to ``GIVES_WAY``.
    """
    points = np.array([corner.at for corner in corners])
    _, length, turn = _turns(points)
    asked = np.array([corner.radius for corner in corners])
    off = asked * (1.0 / np.cos(turn / 2.0) - 1.0)
    asked = np.where(off < FLAT_CORNER, 0.0, asked)
    keyed = np.array([bool(corner.key) for corner in corners])
    # a rounding of radius R takes R tan(turn / 2) of both its sides
    half = np.tan(np.abs(turn) / 2.0)
    # each round fits some radii into the room that the rounds before have left
    radii, room = np.zeros_like(asked), length
    for wanted in (
        np.where(keyed, 0.0, GIVES_WAY * asked),
        np.where(keyed, asked, 0.0),
        np.where(keyed, 0.0, (1.0 - GIVES_WAY) * asked),
    ):
        fitted = wanted * _least_share(wanted * half, room)
        radii = radii + fitted
        room = np.maximum(room - fitted * half - np.roll(fitted * half, -1), 0.0)
    return np.asarray(radii)


def _least_share(tangent: FloatArray, room: FloatArray) -> FloatArray:
    """Share of each corner's tangents (n,) that both its sides have room for."""
    need = tangent + np.roll(tangent, -1)
    share = np.minimum(1.0, room / np.maximum(need, 1e-12))
    return np.asarray(np.minimum(share, np.roll(share, 1)))


def round_corners(
    corners: Sequence[Corner],
) -> tuple[tuple[Curve, ...], tuple[ReducedRadius, ...]]:
    """Closed outline of a polygon with rounded corners.

    Parameters
    ----------
    corners : sequence of Corner
        Closed polygon without doubled points, in either sense.

    Returns
    -------
    curves : tuple of Line and Arc
        Outline in the order of the corners.
    reduced_radii : tuple of ReducedRadius
        Roundings smaller than asked for.
    """
    points = np.array([corner.at for corner in corners])
    unit, _, turn = _turns(points)
    radii = fitting_radii(corners)
    before = np.roll(unit, 1, axis=0)
    tangent = radii * np.tan(np.abs(turn) / 2.0)
    # tangent points on both sides, and the centre square to the side that leaves
    enter = points - tangent[:, None] * before
    leave = points + tangent[:, None] * unit
    normal = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    centre = leave + (np.sign(turn) * radii)[:, None] * normal
    curves: list[Curve] = []
    for k, corner in enumerate(corners):
        if tangent[k] > 1e-9:
            name = corner.fillet or corner.name
            curves.append(
                Arc(as_point(enter[k]), as_point(leave[k]), as_point(centre[k]), name)
            )
        end = enter[(k + 1) % len(corners)]
        if np.linalg.norm(end - leave[k]) > SHORTEST:
            curves.append(Line(as_point(leave[k]), as_point(end), corner.name))
    reduced_radii = tuple(
        ReducedRadius(
            corner.fillet or corner.name, corner.key, corner.radius, float(radius)
        )
        for corner, radius in zip(corners, radii, strict=True)
        if 0.0 < radius < corner.radius * (1.0 - 1e-9)
    )
    return joined(curves), reduced_radii


def as_point(xy: FloatArray) -> Point:
    """Plain pair of numbers of a point (2,)."""
    return float(xy[0]), float(xy[1])


def joined(curves: list[Curve]) -> tuple[Curve, ...]:
    """The same curves with each end taken over exactly from the next start."""
    starts = [curve.start for curve in curves]
    return tuple(
        replace(curve, end=starts[(k + 1) % len(curves)])
        for k, curve in enumerate(curves)
    )


def offset_line(points: FloatArray, distance: FloatArray) -> FloatArray:
    """Open polyline moved to its left, by a distance given at each point.

    Parameters
    ----------
    points : ndarray (n, 2)
        Polyline [mm].
    distance : ndarray (n,)
        Distance [mm], counted square to the sides; it tapers along each side.

    Returns
    -------
    ndarray (n, 2)
        Inner points move along the mitre of their two sides.
    """
    side = np.diff(points, axis=0)
    unit = side / np.linalg.norm(side, axis=1)[:, None]
    normal = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    before, after = np.vstack([normal[:1], normal]), np.vstack([normal, normal[-1:]])
    mitre = (before + after) / (1.0 + (before * after).sum(axis=1))[:, None]
    return np.asarray(points + distance[:, None] * mitre)


def offset_outline(curves: Sequence[Curve], distance: float) -> tuple[Curve, ...]:
    """Outline without corners moved outward.

    Parameters
    ----------
    curves : sequence of Line and Arc
        Closed anticlockwise outline, each curve tangent to the next.
    distance : float
        How far [mm]; negative moves it inward.

    Returns
    -------
    tuple of Line and Arc
        Curve by curve; radii change by the distance.

    Raises
    ------
    ValueError
        If a radius would vanish.
    """
    return joined([offset_curve(curve, distance) for curve in curves])


def offset_curve(curve: Curve, distance: float) -> Curve:
    """Curve moved to its right by a distance [mm]; a vanishing radius: ValueError."""
    start, end = np.array(curve.start), np.array(curve.end)
    if isinstance(curve, Line):
        along = (end - start) / np.linalg.norm(end - start)
        step = distance * np.array([along[1], -along[0]])
        return replace(curve, start=as_point(start + step), end=as_point(end + step))
    centre = np.array(curve.centre)
    share = 1.0 + sense_of(curve) * distance / curve.radius
    if share <= 0.0:
        raise ValueError(f"a radius of {curve.radius:.1f} mm vanishes")
    ends = [as_point(centre + share * (p - centre)) for p in (start, end)]
    return replace(curve, start=ends[0], end=ends[1])


def crossing(
    p: FloatArray, along: FloatArray, q: FloatArray, other: FloatArray
) -> FloatArray:
    """Crossing of two lines given by point and direction; parallel lines: ``q``."""
    det = along[0] * other[1] - along[1] * other[0]
    if abs(det) < 1e-9:
        return np.asarray(q)
    d = q - p
    return np.asarray(p + along * (d[0] * other[1] - d[1] * other[0]) / det)


def distance_to(curve: Curve, xy: FloatArray) -> FloatArray:
    """Distance (n,) [mm] of points (n, 2) from a line or arc, ends included."""
    if isinstance(curve, Line):
        a, b = np.array(curve.start), np.array(curve.end)
        t = np.clip((xy - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
        return np.asarray(np.linalg.norm(xy - a - t[:, None] * (b - a), axis=1))
    centre = np.array(curve.centre)
    v = xy - centre
    start, end = np.array(curve.start) - centre, np.array(curve.end) - centre
    middle = start + end
    half = np.arccos(np.clip(start @ middle / _size(start) / _size(middle), -1.0, 1.0))
    size = np.maximum(np.linalg.norm(v, axis=1), 1e-12)
    angle = np.arccos(np.clip(v @ middle / size / _size(middle), -1.0, 1.0))
    to_ends = np.minimum(
        np.linalg.norm(v - start, axis=1), np.linalg.norm(v - end, axis=1)
    )
    on_arc = angle <= half + 1e-9
    return np.asarray(np.where(on_arc, np.abs(size - curve.radius), to_ends))


def signed_distance(curve: Curve, xy: FloatArray) -> FloatArray:
    """Distance (n,) [mm] of points (n, 2) from the whole line or circle of a curve.

    Positive to the right of a line, and outside a circle; smooth near the curve.
    """
    if isinstance(curve, Line):
        along = np.subtract(curve.end, curve.start)
        right = np.array([along[1], -along[0]]) / _size(along)
        return np.asarray((xy - np.array(curve.start)) @ right)
    centre = np.array(curve.centre)
    return np.asarray(np.linalg.norm(xy - centre, axis=1) - curve.radius)


def _size(v: FloatArray) -> float:
    return float(np.linalg.norm(v))


def area_and_moment(curves: Sequence[Curve]) -> tuple[float, float]:
    """Signed area [mm^2] and first moment about the second axis [mm^3] of an outline.

    By Green's theorem, with arcs cut into 64 chords each; serves checks and estimates.
    """
    x, y = outline_points(curves, 64).T
    xn, yn = np.roll(x, -1), np.roll(y, -1)
    cross = x * yn - xn * y
    return float(cross.sum() / 2.0), float(((x + xn) * cross).sum() / 6.0)


def outline_points(curves: Sequence[Curve], chords: int = 8) -> FloatArray:
    """Points (n, 2) along an outline, each arc cut into ``chords`` pieces."""
    points = []
    for curve in curves:
        if isinstance(curve, Line):
            points.append(np.array([curve.start]))
            continue
        start, centre = np.array(curve.start), np.array(curve.centre)
        angle = angle_between(start - centre, np.array(curve.end) - centre)
        points.append(on_circle(start, centre, np.arange(chords) / chords * angle))
    return np.vstack(points)
