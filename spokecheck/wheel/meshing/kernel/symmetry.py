"""Symmetry of a solid about the axle, found by turning it onto itself.

Points of its faces are turned and looked for on its surface.  What a turn does not
change at all, such as a bead seat, is set aside first.  A volume integral is no test:
the CAD kernel's can be wrong by half a per cent where windows cut a revolved face.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import scipy.sparse as sp
from scipy.sparse.csgraph import connected_components
from scipy.spatial import ConvexHull, cKDTree

from spokecheck.fem.cyclic import reflection, rotation
from spokecheck.units import BoolArray, FloatArray
from spokecheck.wheel.meshing.kernel.faces import edge_points
from spokecheck.wheel.meshing.kernel.solid_surface import (
    REACH,
    SAME,
    SPACING,
    Face,
    SolidSurface,
)
from spokecheck.wheel.meshing.kernel.task import Break, Symmetry

ANY = (0.61, 1.37)
"""Turns [rad] that no wheel repeats at; what they leave unchanged is round."""

QUICK = 200
"""Points tried before all are."""

NEARLY = 0.1
"""Share of the area that is not round up to which breaks are reported as such."""

JOINED = 1.5 * SPACING
"""Odd points nearer than this [mm] belong to one break."""

AXIS = 5.0
"""Faces whose centre lies nearer to the axle than this [mm] say nothing of angles."""

ALIKE, AREA = 0.05, 1.0e-3
"""Mirrored faces have centres this near [mm], and areas this near as a share."""


FITTING = (1.0e-3, 1.0e-4)
"""Steps [rad] in which a mirror plane is fitted: the kernel's centres of faces are good
to some hundredths of a millimetre."""


def find_symmetry(counts: Sequence[int]) -> Symmetry:
    """Find the symmetry of the one solid in memory.

    Parameters
    ----------
    counts : sequence of int
        Numbers of sectors to try, such as the divisors of the number of bolts.

    Returns
    -------
    Symmetry
        The largest number of them, and what keeps it from a larger one.
    """
    shape = _Shape(SolidSurface())
    sectors, nearly, votes = 1, 1, None
    for count in sorted({n for n in counts if n > 1}, reverse=True):
        if not shape.quick(count):
            continue
        tried = shape.votes(count)
        if not tried.any:
            sectors = count
            break
        if votes is None and shape.share(tried.odd) <= NEARLY:
            nearly, votes = count, tried
    mirror = shape.mirror(sectors)
    if votes is None:
        found = Symmetry(sectors, mirror, sectors, mirror)
        return replace(found, outermost=shape.outermost)
    regular = shape.points[~votes.odd]
    return Symmetry(
        sectors,
        mirror,
        nearly,
        shape.mirror(nearly, regular),
        _breaks(shape, votes),
        shape.outermost,
    )


@dataclass(frozen=True)
class _Votes:
    """What the turned copies say of each point that is not round.

    Attributes
    ----------
    odd : ndarray (n,) of bool
        Points of which fewer than half the copies lie on the surface.
    depth : ndarray (n,)
        Middle distance of the copies from the surface [mm].
    missing : ndarray (m, 3)
        Where a copy of another point is off the surface [mm].
    missing_depth : ndarray (m,)
        By how much [mm].
    """

    odd: BoolArray
    depth: FloatArray
    missing: FloatArray = field(default_factory=lambda: np.empty((0, 3)))
    missing_depth: FloatArray = field(default_factory=lambda: np.empty(0))

    @property
    def any(self) -> bool:
        """Whether a copy is off anywhere."""
        return bool(self.odd.any()) or len(self.missing) > 0


class _Shape:
    """Points of a surface that are not round, with their face and share of its area."""

    def __init__(self, surface: SolidSurface) -> None:
        self.surface = surface
        points = np.concatenate([face.points for face in surface.faces])
        owner = np.repeat(
            np.arange(len(surface.faces)), [len(face.points) for face in surface.faces]
        )
        changed = np.zeros(len(points), dtype=bool)
        for angle in ANY:
            same = np.flatnonzero(~changed)
            gaps = surface.gaps(points[same] @ rotation(angle).T)
            changed[same] = gaps > SAME
        self.points: FloatArray = points[changed]
        self.owner = owner[changed]
        each = [face.area / max(len(face.points), 1) for face in surface.faces]
        self.area: FloatArray = np.array(each)[self.owner]

    @cached_property
    def faces(self) -> list[Face]:
        """Faces that are not round."""
        return [self.surface.faces[k] for k in np.unique(self.owner)]

    @cached_property
    def outermost(self) -> FloatArray:
        """Points (n, 2) of the hull of all points, seen along the axle."""
        xy = np.concatenate([face.points for face in self.surface.faces])[:, :2]
        return np.asarray(xy[ConvexHull(xy).vertices])

    def share(self, some: BoolArray) -> float:
        """Share of the area that belongs to some of the points."""
        return float(self.area[some].sum() / self.area.sum())

    def quick(self, count: int) -> bool:
        """Whether a turn by one of so many sectors is worth a closer look."""
        if not len(self.points):
            return True
        some = slice(None, None, max(1, len(self.points) // QUICK))
        turn = rotation(2.0 * np.pi / count)
        off = self.surface.gaps(self.points[some] @ turn.T) > SAME
        area = self.area[some]
        return bool(area[off].sum() <= 3.0 * NEARLY * area.sum())

    def votes(self, count: int) -> _Votes:
        """What the copies of a shape of so many sectors say of each point."""
        span = 2.0 * np.pi / count
        first = self.surface.gaps(self.points @ rotation(span).T)
        if not (first > SAME).any():
            return _Votes(np.zeros(len(first), dtype=bool), first)
        copies = [self.points @ rotation(k * span).T for k in range(1, count)]
        gaps = np.array([first, *(self.surface.gaps(copy) for copy in copies[1:])])
        odd = (gaps <= SAME).sum(axis=0) < 0.5 * (count - 1)
        off = (gaps > SAME) & ~odd
        return _Votes(odd, np.median(gaps, axis=0), np.array(copies)[off], gaps[off])

    def mirror(self, count: int, points: FloatArray | None = None) -> float | None:
        """Angle [rad] of a plane through the axle that mirrors the shape, or None.

        Of a shape of so many sectors, but for breaks: a mirrored point counts if most
        of its copies lie on the surface.
        """
        points = self.points if points is None else points
        if not len(points):
            return 0.0
        turns = range(count) if len(points) < len(self.points) else range(1)
        some = points[:: max(1, len(points) // QUICK)]
        for guess in self._planes(count):
            plane = self._fitted(guess, some)
            if (self.surface.gaps(_mirrored(some, plane)) > SAME).mean() > 0.5:
                continue
            image = _mirrored(points, plane)
            copies = [image @ rotation(2.0 * np.pi * k / count).T for k in turns]
            on = [self.surface.gaps(copy) <= SAME for copy in copies]
            if (np.sum(on, axis=0) > 0.5 * len(turns)).all():
                return plane
        return None

    def _fitted(self, plane: float, points: FloatArray) -> float:
        """The plane near a guess at which mirrored points fit the surface best.

        The distance of each is linear in the angle, so the sum of the squares is a
        parabola; its vertex follows from three angles.
        """
        for step in FITTING:
            tried = [plane - step, plane, plane + step]
            gaps = np.array([self.surface.gaps(_mirrored(points, p)) for p in tried])
            low, mid, high = (gaps[:, (gaps < REACH).all(axis=0)] ** 2).sum(axis=1)
            bend = low - 2.0 * mid + high
            if bend <= 0.0:
                return plane
            plane += float(np.clip(0.5 * step * (low - high) / bend, -step, step))
        return plane

    def _planes(self, count: int) -> list[float]:
        """Planes that could mirror the shape: those between two faces that are alike.

        Planes of a shape of N sectors repeat at pi / N.
        """
        off = [f for f in self.faces if np.hypot(*f.centre[:2]) > AXIS]
        classes = [[f for f in off if _alike(f, head)] for head in off]
        if not classes:
            return []
        rarest = min(classes, key=len)
        angles = [float(np.arctan2(f.centre[1], f.centre[0])) for f in rarest]
        period = np.pi / count
        planes = np.array([(angles[0] + angle) / 2.0 % period for angle in angles])
        kept: list[float] = []
        for plane in planes:
            apart = [abs((plane - k + period / 2) % period - period / 2) for k in kept]
            if min(apart, default=1.0) > 1.0e-5:
                kept.append(float(plane))
        return kept


def _mirrored(points: FloatArray, plane: float) -> FloatArray:
    """Mirror images (n, 3) of points at a plane through the axle [rad]."""
    return np.asarray(points @ reflection(plane).T)


def _alike(face: Face, other: Face) -> bool:
    """Whether a turn or a mirror could put one face on another."""
    r, s = (float(np.hypot(*f.centre[:2])) for f in (face, other))
    return (
        face.kind == other.kind
        and abs(r - s) < ALIKE
        and abs(face.centre[2] - other.centre[2]) < ALIKE
        and abs(face.area - other.area) <= AREA * other.area
    )


def _breaks(shape: _Shape, votes: _Votes) -> tuple[Break, ...]:
    """Groups of odd and missing points, the largest first."""
    points = np.concatenate([shape.points[votes.odd], votes.missing])
    depth = np.concatenate([votes.depth[votes.odd], votes.missing_depth])
    owner = np.concatenate(
        [shape.owner[votes.odd], np.full(len(votes.missing), -1)]
    )  # what is missing has no face
    near = cKDTree(points).query_pairs(JOINED, output_type="ndarray")
    links = sp.coo_array(
        (np.ones(len(near)), (near[:, 0], near[:, 1])), shape=2 * (len(points),)
    )
    number, group = connected_components(links, directed=False)
    found = []
    for k in range(number):
        mine = group == k
        own = [
            shape.surface.faces[n]
            for n in np.unique(owner[mine & (owner >= 0)])
            if votes.odd[shape.owner == n].mean() > 0.5
        ]
        found.append(_break(points[mine], float(depth[mine].max()), own))
    return tuple(sorted(found, key=lambda one: -one.across))


def _break(points: FloatArray, depth: float, faces: Sequence[Face]) -> Break:
    """One break, measured along the radius, round the axle and along it.

    By the edges of its own faces; by all its points, where it has none.
    """
    edges = [edge_points(face.tag) for face in faces]
    outline = np.concatenate(edges) if edges else points
    middle = (outline.min(axis=0) + outline.max(axis=0)) / 2.0
    angle = float(np.arctan2(middle[1], middle[0]))
    local, whole = (x @ rotation(-angle).T for x in (outline, points))
    beside = np.concatenate([local, whole])
    return Break(
        radius=float(np.hypot(*middle[:2])),
        angle=angle,
        z=float(middle[2]),
        across=float(np.ptp(local, axis=0).max()),
        half_angle=float(np.abs(np.arctan2(beside[:, 1], beside[:, 0])).max()),
        depth=depth,
        area=sum(face.area for face in faces),
        faces=len(faces),
    )
