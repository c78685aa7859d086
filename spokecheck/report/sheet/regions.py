"""Plane regions of a drawing: a body less holes, its edges, its hatching, and circles.

Everything is done on straight pieces: they are cut where they cross an outline, and
each part is kept or dropped by where its middle lies.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.plane.polygons import inside, sides
from spokecheck.units import BoolArray, FloatArray

CHORDS = 144
"""Pieces of a full circle; 0.06 mm from the true one at a radius of 250 mm."""

SIDE = 1.0e-4
"""How far [mm] beside a piece is looked to tell metal from air."""

SHORT = 1.0e-6
"""Pieces shorter than this [mm] are dropped."""


def ring(radius: float, chords: int = CHORDS) -> FloatArray:
    """Points (chords, 2) of a circle about the origin, without the doubled last."""
    turn = 2.0 * np.pi * np.arange(chords) / chords
    return np.asarray(radius * np.column_stack([np.cos(turn), np.sin(turn)]))


def turned(points: FloatArray, angle: float) -> FloatArray:
    """Points (n, 2) turned about the origin by an angle [rad]."""
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def split(pieces: FloatArray, outlines: Sequence[FloatArray]) -> FloatArray:
    """Pieces (n, 2, 2) cut at every crossing with closed outlines: (m, 2, 2)."""
    if not len(pieces):
        return pieces
    start, along = pieces[:, 0], pieces[:, 1] - pieces[:, 0]
    cuts = [np.zeros((len(pieces), 1)), np.ones((len(pieces), 1))]
    for outline in outlines:
        other = sides(outline)
        q, e = other[:, 0], other[:, 1] - other[:, 0]
        det = along[:, :1] * e[:, 1] - along[:, 1:] * e[:, 0]
        level = np.abs(det) < 1e-12
        det = np.where(level, 1.0, det)
        dx, dy = q[:, 0] - start[:, :1], q[:, 1] - start[:, 1:]
        t = (dx * e[:, 1] - dy * e[:, 0]) / det
        s = (dx * along[:, 1:] - dy * along[:, :1]) / det
        hit = ~level & (t > 0) & (t < 1) & (s >= -1e-9) & (s <= 1 + 1e-9)
        cuts.append(np.where(hit, t, 1.0))
    t = np.sort(np.hstack(cuts), axis=1)
    size = np.linalg.norm(along, axis=1)
    which, step = np.nonzero(np.diff(t, axis=1) * size[:, None] > SHORT)
    ends = np.stack([t[which, step], t[which, step + 1]], axis=1)
    return np.asarray(start[which, None] + ends[..., None] * along[which, None])


@dataclass(frozen=True)
class Region:
    """Metal: what lies in the body and in none of the holes.

    Attributes
    ----------
    body : ndarray (n, 2)
        Closed outline [mm].
    holes : tuple of ndarray (n, 2)
        Closed outlines; they may overlap and reach out of the body.
    """

    body: FloatArray
    holes: tuple[FloatArray, ...]

    @property
    def outlines(self) -> tuple[FloatArray, ...]:
        """Body and holes."""
        return (self.body, *self.holes)

    def holds(self, points: FloatArray) -> BoolArray:
        """Whether points (n, 2) are metal."""
        found = inside(points, self.body)
        for hole in self.holes:
            found = found & ~inside(points, hole)
        return found

    def edges(self) -> FloatArray:
        """Pieces (n, 2, 2) with metal on one side only."""
        pieces = split(np.concatenate([sides(o) for o in self.outlines]), self.outlines)
        middle, along = pieces.mean(axis=1), pieces[:, 1] - pieces[:, 0]
        along = along / np.linalg.norm(along, axis=1, keepdims=True)
        beside = SIDE * np.stack([-along[:, 1], along[:, 0]], axis=1)
        is_edge = self.holds(middle + beside) != self.holds(middle - beside)
        return np.asarray(pieces[is_edge])

    def part(self, pieces: FloatArray, in_metal: bool) -> FloatArray:
        """Parts of pieces that lie in the metal, or those that do not."""
        parts = split(pieces, self.outlines)
        return np.asarray(parts[self.holds(parts.mean(axis=1)) == in_metal])

    def hatching(self, spacing: float, angle: float = np.pi / 4.0) -> FloatArray:
        """Parallel lines (n, 2, 2) over the metal, ``spacing`` [mm] apart.

        The lines of two regions in one plane continue each other.
        """
        level = turned(self.body, -angle)
        (left, low), (right, high) = level.min(axis=0), level.max(axis=0)
        steps = np.arange(np.ceil(low / spacing), np.floor(high / spacing) + 1)
        y = steps * spacing
        ends = np.stack(
            [
                np.column_stack([np.full_like(y, left - 1.0), y]),
                np.column_stack([np.full_like(y, right + 1.0), y]),
            ],
            axis=1,
        )
        lines = turned(ends.reshape(-1, 2), angle).reshape(-1, 2, 2)
        return self.part(lines, in_metal=True)
