"""Put points of a mesh back onto the surfaces that were drawn.

Parts of a halved cell lie on its own parabolas, not on the arcs that were drawn: over
45 degrees a parabola bends 4 % more than its arc in the middle, and meets the next one
at a kink of 1.6 degrees, which finer and finer cells resolve as a notch.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from spokecheck.plane.curves import Curve, signed_distance
from spokecheck.units import FloatArray, IntArray
from spokecheck.wheel.shape.drawing import Drawing
from spokecheck.wheel.shape.surfaces import cut_planes, drawn_surfaces

FARTHEST = 0.12
"""Points are put onto no surface that is further away than this share of an edge: 45
degrees of arc lie 10 % of their chord off it, where a cell had to be straightened."""

SWEEPS = 3
"""Times that a point on several surfaces is put onto each in turn."""

STEP = 1.0e-4
"""Difference [mm] by which gradients are taken."""


class TrueSurface(Protocol):
    """A surface that faces of a mesh stand for."""

    def distances(self, points: FloatArray) -> FloatArray:
        """Distance (n,) [mm] of points (n, 3) from it, as far as it reaches."""
        ...

    def gaps(self, points: FloatArray) -> FloatArray:
        """The same with a sign, smooth near the surface, whose ends do not count."""
        ...


@dataclass(frozen=True)
class RevolvedFace:
    """A line or arc revolved about an axis: a plane, cylinder, cone or torus.

    Attributes
    ----------
    foot, axis : ndarray (3,)
        Point and unit direction of the axis.
    curve : Line or Arc
        In (rho, h) [mm]: distance from the axis, height along it.
    box : ndarray (2, 3)
        Lowest and highest corner of where the face lies [mm].
    """

    foot: FloatArray
    axis: FloatArray
    curve: Curve
    box: FloatArray

    def distances(self, points: FloatArray) -> FloatArray:
        """Distance (n,) [mm] of points (n, 3); infinite outside the box."""
        low, high = self.box
        inside = ((points >= low) & (points <= high)).all(axis=1)
        return np.asarray(np.where(inside, np.abs(self.gaps(points)), np.inf))

    def gaps(self, points: FloatArray) -> FloatArray:
        """Distance (n,) [mm] with a sign of points (n, 3)."""
        off = points - self.foot
        height = off @ self.axis
        rho = np.linalg.norm(off - height[:, None] * self.axis, axis=1)
        return signed_distance(self.curve, np.column_stack([rho, height]))


@dataclass(frozen=True)
class TrueSurfaces:
    """The surfaces that the faces of a meshed wheel stand for.

    Attributes
    ----------
    by_name : mapping of str to sequence of TrueSurface
        Surfaces that faces of one name may lie on.
    others : sequence of TrueSurface
        Surfaces that faces of any other name may lie on.
    """

    by_name: Mapping[str, Sequence[TrueSurface]] = field(default_factory=dict)
    others: Sequence[TrueSurface] = ()

    def onto(
        self, points: FloatArray, on: Mapping[str, IntArray], edges: FloatArray
    ) -> FloatArray:
        """Points, some of them put onto the surfaces they were drawn on.

        Parameters
        ----------
        points : ndarray (n_points, 3)
            [mm].
        on : mapping of str to ndarray (n_nodes,)
            Points to move, by the name of the surface whose faces they belong to; a
            point on the edge of two surfaces stands in both.
        edges : ndarray (n_points,)
            Edge length of the mesh there [mm].

        Returns
        -------
        ndarray (n_points, 3)
        """
        moved = points.copy()
        for _ in range(SWEEPS):
            for name, nodes in on.items():
                surfaces = self.by_name.get(name, self.others)
                if len(nodes) and surfaces:
                    limit = FARTHEST * edges[nodes]
                    moved[nodes] = _onto_nearest(surfaces, moved[nodes], limit)
        return moved


def drawn_true_surfaces(drawing: Drawing) -> TrueSurfaces:
    """The surfaces a wheel was drawn with, sector cuts last."""
    by_name: dict[str, list[TrueSurface]] = {}
    for surface in (*drawn_surfaces(drawing), *cut_planes(drawing)):
        by_name.setdefault(surface.name, []).append(surface)
    return TrueSurfaces(by_name)


def _onto_nearest(
    surfaces: Sequence[TrueSurface], points: FloatArray, limit: FloatArray
) -> FloatArray:
    """Points (n, 3), each on the surface nearest to it if that is within a limit."""
    gaps = np.array([surface.distances(points) for surface in surfaces])
    nearest = gaps.argmin(axis=0)
    near = gaps.min(axis=0) < limit
    moved = points.copy()
    for k in np.unique(nearest[near]):
        these = np.flatnonzero(near & (nearest == k))
        moved[these] = _onto(surfaces[k], points[these])
    return moved


def _onto(surface: TrueSurface, points: FloatArray) -> FloatArray:
    """Points (n, 3) after one step of Newton's method towards a surface nearby.

    The gap is a thousandth of a radius, and what one step leaves its square.
    """
    here = surface.gaps(points)
    beside = [surface.gaps(points + step) for step in STEP * np.eye(3)]
    gradient = (np.stack(beside, axis=1) - here[:, None]) / STEP
    size = np.maximum((gradient**2).sum(axis=1), 1e-12)
    moved = points - (here / size)[:, None] * gradient
    # at the rim of a surface its distance is no smooth function
    nearer = np.abs(surface.gaps(moved)) < np.abs(here)
    return np.asarray(np.where(nearer[:, None], moved, points))
