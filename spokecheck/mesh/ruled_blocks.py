"""Plane curves, and blocks ruled between two of them.

A part that is a plane section times a thickness, or a meridian section turned about an
axis, is one or a few such blocks.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import TypeAlias

import numpy as np

from spokecheck.mesh.blocks import Division, Map, block
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

Curve: TypeAlias = Callable[[FloatArray], FloatArray]
"""From parameters (n,) between 0 and 1 to plane positions (n, 2) [mm]."""

Place = tuple[float, float]
"""Position in a plane [mm]."""


def line(start: Place, end: Place) -> Curve:
    """Straight line."""
    a, b = np.array(start, dtype=float), np.array(end, dtype=float)
    return lambda s: a + s[:, None] * (b - a)


def arc(centre: Place, radii: float | Place, start: float, end: float) -> Curve:
    """Arc of a circle, or of an ellipse of two semi-axes, between two angles [deg]."""
    c = np.array(centre, dtype=float)
    r = np.broadcast_to(np.asarray(radii, dtype=float), (2,))

    def curve(s: FloatArray) -> FloatArray:
        angle = np.radians(start + s * (end - start))
        return np.asarray(c + r * np.column_stack([np.cos(angle), np.sin(angle)]))

    return curve


def chain(curves: Sequence[Curve]) -> Curve:
    """Curves one after another, each with an equal share of the parameter.

    The kinks between them must fall on cell borders of a block that uses it.
    """
    count = len(curves)

    def curve(s: FloatArray) -> FloatArray:
        which = np.minimum((s * count * (1.0 + 1e-12)).astype(int), count - 1)
        out = np.empty((len(s), 2))
        for k, part in enumerate(curves):
            mine = which == k
            out[mine] = part(s[mine] * count - k)
        return out

    return curve


def ruled_block(
    low: Curve,
    high: Curve,
    height: float,
    cells: tuple[Division, Division, Division],
    names: Mapping[str, str],
) -> Mesh:
    """Block between two plane curves, with a height along z.

    Parameters
    ----------
    low, high : Curve
        Sides i0 and i1; grid direction j runs along both, k upwards.
    height : float
        Height from z = 0 [mm].
    cells : tuple of three int or sequence of float
        Cells from curve to curve, along them, and through the height.
    names : mapping of str to str
        Surface names by side.

    Returns
    -------
    Mesh

    Examples
    --------
    >>> import numpy as np
    >>> ring = ruled_block(
    ...     arc((0.0, 0.0), 50.0, 0.0, 90.0),
    ...     arc((0.0, 0.0), 100.0, 0.0, 90.0),
    ...     10.0,
    ...     (2, 4, 1),
    ...     {"i0": "inner"},
    ... )
    >>> inside = ring.points[ring.nodes("inner"), :2]
    >>> bool(np.allclose(np.linalg.norm(inside, axis=1), 50.0))
    True
    """
    return block(_between(low, high, height), cells, names)


def _between(low: Curve, high: Curve, height: float) -> Map:
    def ruled(x: FloatArray) -> FloatArray:
        a = x[:, :1]
        flat = (1.0 - a) * low(x[:, 1]) + a * high(x[:, 1])
        return np.column_stack([flat, height * x[:, 2]])

    return ruled


def revolve(x: FloatArray) -> FloatArray:
    """Map of a section (r, z, angle [rad]) into space, about the z axis."""
    r, z, angle = x.T
    return np.column_stack([r * np.cos(angle), r * np.sin(angle), z])


def panel(
    low: Place,
    high: Place,
    height: float,
    cells: tuple[Division, Division, Division],
    names: Mapping[str, str],
) -> Mesh:
    """Rectangle from one corner to the opposite one, with a height along z.

    Parameters
    ----------
    low, high : tuple of float
        Opposite corners (x, y) [mm]; grid direction i runs along x, j along y.
    height : float
        Height from z = 0 [mm].
    cells : tuple of three int or sequence of float
        Cells along x, y, z.
    names : mapping of str to str
        Surface names by side.

    Returns
    -------
    Mesh
    """
    start = line(low, (low[0], high[1]))
    end = line((high[0], low[1]), high)
    return ruled_block(start, end, height, cells, names)
