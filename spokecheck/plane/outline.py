"""Exact outlines of lines and arcs from regions between drawn curves.

A region is first computed as a polygon, by a library of set operations; the curves that
bound it are then looked up among those it was made of, and its corners are rounded by
arcs that touch these curves exactly.
Rounding follows from erosion: eroded by the corner radius, a region has its corners at
the centres of the roundings.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from spokecheck.plane.boundary import (
    FOUND,
    TINY,
    CurveSource,
    Run,
    arc_pieces,
    chords,
    follow,
    left_normal,
)
from spokecheck.plane.curves import Arc, Curve, angle_between, joined
from spokecheck.units import FloatArray

STEP = 1.5
"""Sides of a polygon are looked up in pieces of this length [mm]."""

SHORTEST = 0.3
"""Length [mm] below which a curve of an outline would stand among slivers."""

SHRINK = (1.0, 0.995, 0.99, 0.98, 0.97, 0.94, 0.91, 0.88)
"""Shares of the corner radii tried until no curve is shorter than that."""

LEAST_TURN = 1.0e-3
"""Corners that turn by less [rad] are none."""

MISS = 1.0e-9
"""Distance [mm] from a curve at which a crossing lies on it."""

SHORTEST_ARC = 1.5
"""Roundings of flat corners get a larger radius, so that their arcs are this long [mm].
"""


@dataclass(frozen=True)
class Rounding:
    """How the corners of a region are rounded.

    Attributes
    ----------
    radius : float
        Radius [mm] of all corners but those of ``other``.
    other : dict of str to float
        Radius [mm] where a corner meets a curve of this name.
    knee : float
        Radius [mm] of corners that point into the region; 0 leaves them sharp.
    """

    radius: float
    other: dict[str, float] = field(default_factory=dict)
    knee: float = 0.0

    def at(self, first: Curve, second: Curve) -> float:
        """Radius [mm] of the corner between two curves."""
        named = [self.other[c.name] for c in (first, second) if c.name in self.other]
        return min(named, default=self.radius)

    def scaled(self, share: float) -> "Rounding":
        """The same with all corner radii times a share."""
        other = {name: share * radius for name, radius in self.other.items()}
        return Rounding(share * self.radius, other, self.knee)

    @property
    def least(self) -> float:
        """Smallest radius [mm]."""
        return min((self.radius, *self.other.values()))


def rounded_outlines(
    region: Polygon, sources: Sequence[CurveSource], rounding: Rounding
) -> list[tuple[Curve, ...]]:
    """Outlines of what a region leaves once its corners are rounded.

    Parameters
    ----------
    region : Polygon
        Region without holes, made of ``sources``.
    sources : sequence of CurveSource
        Curves that may bound it.
    rounding : Rounding
        Radii of its corners.

    Returns
    -------
    list of tuple of Line and Arc
        One anticlockwise outline for each part that is wider than twice the least
        radius; none if the region is narrower everywhere.  Radii are up to 12 % smaller
        where a piece of an outline would otherwise be too short to mesh.

    Raises
    ------
    ValueError
        If two roundings overlap on a side, or a side belongs to no source.
    """
    best: tuple[float, list[tuple[Curve, ...]]] = -1.0, []
    for share in SHRINK:
        try:
            outlines = _rounded(region, sources, rounding.scaled(share))
        except ValueError:
            if share == SHRINK[-1] and not best[1]:
                raise
            continue
        shortest = min((_chord(c) for o in outlines for c in o), default=np.inf)
        if shortest > best[0]:
            best = shortest, outlines
        if shortest >= SHORTEST:
            break
    return best[1]


def _chord(curve: Curve) -> float:
    return float(np.hypot(*np.subtract(curve.end, curve.start)))


def _rounded(
    region: Polygon, sources: Sequence[CurveSource], rounding: Rounding
) -> list[tuple[Curve, ...]]:
    """Outlines for one set of radii."""
    # 1. erode by the least radius: corners become centres of roundings
    eroded = region.buffer(-rounding.least, join_style="mitre", mitre_limit=20.0)
    eroded = shapely.segmentize(eroded, STEP)  # one side may span several sources
    # 2. an outline for each part, of the drawn curves and arcs between them
    parts = getattr(eroded, "geoms", [eroded])
    kept = [part for part in parts if not part.is_empty and part.area > TINY**2]
    outlines = [_outline(orient(part), sources, rounding) for part in kept]
    # 3. check that roundings do not overlap and nothing leaves the region
    room = region.buffer(FOUND + rounding.knee)
    for outline in outlines:
        drawn = Polygon(np.vstack([chords(curve)[:-1] for curve in outline]))
        if not (drawn.is_valid and room.contains(drawn)):
            raise ValueError("the corner roundings of a window overlap")
    return outlines


def _outline(
    eroded: Polygon, sources: Sequence[CurveSource], rounding: Rounding
) -> tuple[Curve, ...]:
    runs = follow(np.array(eroded.exterior.coords), sources, rounding.least)
    corners = [_corner(runs[k - 1], runs[k], rounding) for k in range(len(runs))]
    curves: list[Curve] = []
    for k, run in enumerate(runs):
        here, there = corners[k], corners[(k + 1) % len(runs)]
        curves += here.arc()
        curves += run.piece(here.leave, there.enter)
    return joined(curves)


@dataclass(frozen=True)
class _Turn:
    """Where an outline passes from one source to the next.

    Attributes
    ----------
    enter, leave : ndarray (2,)
        Ends of the two sources.
    centre : ndarray (2,) or None
        Centre of the rounding between them; None where there is none.
    name : str
        Surface of the rounding.
    """

    enter: FloatArray
    leave: FloatArray
    centre: FloatArray | None = None
    name: str = ""

    def arc(self) -> list[Curve]:
        if self.centre is None:
            return []
        through = (self.enter + self.leave) / 2.0
        return arc_pieces(self.enter, self.leave, self.centre, self.name, through)


def _corner(before: Run, after: Run, rounding: Rounding) -> _Turn:
    first, second = before.curve, after.curve
    if before is after:
        return _Turn(before.foot(after.start), after.foot(after.start))
    joint = _joint(before, after)
    if joint is not None:
        return _Turn(joint, joint)
    bend = angle_between(
        np.diff(before.points[-2:], axis=0)[0], np.diff(after.points[:2], axis=0)[0]
    )
    radius = rounding.at(first, second) if bend > 0.0 else rounding.knee
    near = after.start
    centre = _meeting(before, after, float(np.sign(bend)) * radius, near)
    enter, leave = before.foot(centre), after.foot(centre)
    turn = abs(angle_between(enter - centre, leave - centre))
    if turn < LEAST_TURN:
        joint = (enter + leave) / 2.0
        return _Turn(joint, joint)
    if turn * radius < SHORTEST_ARC:  # almost flat: a rounder, longer arc
        radius = SHORTEST_ARC / turn
        centre = _meeting(before, after, float(np.sign(bend)) * radius, centre)
        enter, leave = before.foot(centre), after.foot(centre)
    return _Turn(enter, leave, centre, "corner")


def _joint(before: Run, after: Run) -> FloatArray | None:
    """Common end of two curves of a chain."""
    for first in before.sources:
        for second in after.sources:
            if first.chain != second.chain:
                continue
            for p in (first.curve.start, first.curve.end):
                for q in (second.curve.start, second.curve.end):
                    if np.hypot(*np.subtract(p, q)) < 1e-6:
                        return np.array(p)
    return None


def _meeting(before: Run, after: Run, off: float, near: FloatArray) -> FloatArray:
    """Where two curves, moved into the region by ``off``, cross nearest a point."""
    moved = _moved(before, off), _moved(after, off)
    centres = _crossings(*moved)
    if not len(centres):
        raise ValueError("the corner roundings of a window overlap")
    return _polished(centres[np.argmin(np.linalg.norm(centres - near, axis=1))], moved)


def _moved(run: Run, off: float) -> tuple[FloatArray, FloatArray | float]:
    """Point and direction of a moved line, or centre and radius of a moved circle."""
    curve = run.curve
    if isinstance(curve, Arc):
        return np.array(curve.centre), curve.radius + run.side * off
    along = np.subtract(curve.end, curve.start)
    base = np.array(curve.start) + run.side * off * left_normal(curve)
    return base, np.asarray(along / np.linalg.norm(along))


def _polished(
    point: FloatArray, both: Sequence[tuple[FloatArray, FloatArray | float]]
) -> FloatArray:
    """Crossing of two lines or circles, by one step of Newton where it is off.

    Of an almost straight circle, some hundred metres in radius, the closed form loses
    half its digits, and the kernel refuses an arc whose ends differ by a tenth of a
    micrometre in radius.
    """
    miss, slopes = [], []
    for base, u in both:
        off = point - base
        # residual of line or circle, and its gradient
        if isinstance(u, np.ndarray):
            slope = np.array([-u[1], u[0]])
            miss.append(float(slope @ off))
        else:
            size = float(np.linalg.norm(off))
            slope = off / size
            miss.append(size - abs(float(u)))
        slopes.append(slope)
    if np.abs(miss).max() < MISS:
        return point
    return np.asarray(point - np.linalg.solve(np.array(slopes), np.array(miss)))


def _crossings(
    first: tuple[FloatArray, FloatArray | float],
    second: tuple[FloatArray, FloatArray | float],
) -> FloatArray:
    """Crossings (n, 2) of two lines or circles."""
    (p, u), (q, v) = first, second
    if isinstance(u, np.ndarray) and isinstance(v, np.ndarray):
        det = u[0] * v[1] - u[1] * v[0]
        if abs(det) < 1e-9:
            return np.empty((0, 2))
        d = q - p
        return np.array([p + u * (d[0] * v[1] - d[1] * v[0]) / det])
    if isinstance(v, np.ndarray):
        return _crossings(second, first)
    if isinstance(u, np.ndarray):
        # |p + t u - q| = v, a quadratic in t
        d = p - q
        b = float(u @ d)
        root = b * b - float(d @ d) + float(v) ** 2
        if root < 0.0:
            return np.empty((0, 2))
        t = np.array([-b - np.sqrt(root), -b + np.sqrt(root)])
        return np.asarray(p + t[:, None] * u)
    # two circles: distance of the common chord from the first centre, then its ends
    d = q - p
    size = float(np.linalg.norm(d))
    if size < 1e-9:
        return np.empty((0, 2))
    along = (size**2 + u**2 - float(v) ** 2) / (2.0 * size)
    root = u**2 - along**2
    if root < 0.0:
        return np.empty((0, 2))
    e = d / size
    normal = np.array([-e[1], e[0]]) * np.sqrt(root)
    return np.stack([p + along * e + normal, p + along * e - normal])
