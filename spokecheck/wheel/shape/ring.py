"""The ring on which spokes and hub of unlike symmetry are joined.

It is a straight line across the section, revolved, and runs through solid metal: bolt
holes and hub pockets on one side, windows and back pockets on the other.
Cells of its own size stand on it, so it keeps off the roundings of the section where it
can, and its ends off the corners: a band of a millimetre or two would cost cells.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from shapely import LineString, Polygon, prepare

from spokecheck.plane.curves import Arc, Curve, Point, as_point, outline_points
from spokecheck.units import BoolArray, FloatArray
from spokecheck.wheel.shape.drawing import Drawing, PocketCutter, RoundCutter, Window

LEAST_ROOM = 2.5
"""Least distance [mm] of the ring from anything it must not touch.  A little less than
the 3 mm of sector cuts, since the way out is a rounding: there, cells kept as they are
beside the ring gave 10 % too much stress (seven spokes on five bolts)."""

ENOUGH = 5.0
"""More room [mm] than this is no better."""

UPRIGHT = 0.6
"""Least sine of the angle between ring and section where they meet."""

STEP = 1.0
"""Distance [mm] of the places tried, and of those that stand for an outline."""

SLANT = 10.0
"""An end may lie so far [mm] inside the hub's holes or outside the windows' inner ends,
at another height."""

ON_ROUNDING = 2.5
"""A ring that ends on a rounding counts as having so much less room [mm]."""


@dataclass(frozen=True)
class RingEnd:
    """Where the ring meets the section.

    Attributes
    ----------
    curve : int
        Curve of the section.
    at : tuple of float
        Point on it (r, z) [mm]; its start where the ring ends at a corner.
    """

    curve: int
    at: Point


@dataclass(frozen=True)
class Ring:
    """The ring's line across the section.

    Attributes
    ----------
    back, face : RingEnd
    room : float
        Least distance [mm] from holes, pockets, windows and roundings.
    rounding : str
        Rounding that it has to end on; empty if none.
    """

    back: RingEnd
    face: RingEnd
    room: float
    rounding: str = ""

    @property
    def length(self) -> float:
        """Length of the line [mm]."""
        return float(np.hypot(*np.subtract(self.back.at, self.face.at)))

    @property
    def radius(self) -> float:
        """Larger radius of its two ends [mm]."""
        return max(self.back.at[0], self.face.at[0])


@dataclass(frozen=True)
class _Ends:
    """Candidates for one end: points (n, 2), curves, directions, roundings."""

    at: FloatArray
    curves: list[int]
    along: FloatArray
    roundings: list[str]


def find_ring(drawing: Drawing) -> Ring | float:
    """The clearest ring of a drawing.

    Parameters
    ----------
    drawing : Drawing
        The whole wheel.

    Returns
    -------
    Ring or float
        The most room [mm] that any line has, if that is too little.
    """
    low, high = drawing.z_range
    z = np.arange(low, high, STEP)
    hub = np.vstack([_hub_side(cutter) for cutter in drawing.cutters])
    hub = hub[(hub[:, 1] > low) & (hub[:, 1] < high)]
    windows = [_window_side(window, z) for window in drawing.windows]
    windows = [side - np.array([drawing.edge_reach, 0.0]) for side in windows]
    pockets = [_pocket_side(pocket) for pocket in drawing.pockets]
    spokes = np.vstack([*windows, *pockets])
    metal = Polygon(outline_points(drawing.section, 16)).buffer(0.01)
    prepare(metal)
    within = float(hub[:, 0].max()) - SLANT, float(spokes[:, 0].min()) + SLANT
    spokes = spokes[spokes[:, 0] < within[1] + SLANT]
    back, face = _ends(drawing.section, within)
    best, most = None, 0.0
    for score, room, b, f in _candidates(drawing.section, back, face, hub, spokes):
        most = max(most, room)
        if best is not None and score <= best[0]:
            continue
        line = LineString([back.at[b], face.at[f]])
        if room >= LEAST_ROOM and metal.covers(line):
            best = score, room, b, f
    if best is None:
        return float(most)
    _, room, b, f = best
    chosen = (back, b), (face, f)
    first, last = (RingEnd(side.curves[k], as_point(side.at[k])) for side, k in chosen)
    roundings = {back.roundings[b], face.roundings[f]} - {""}
    return Ring(first, last, float(room), ", ".join(sorted(roundings)))


def _hub_side(cutter: RoundCutter) -> FloatArray:
    """Outer half of a cutter of revolution, in the plane of its axis: (r, z)."""
    rho, h = _fine(cutter.curves).T
    s, c = np.sin(cutter.tilt), np.cos(cutter.tilt)
    r0, z0 = cutter.foot
    return np.column_stack([r0 + c * rho + s * h, z0 - s * rho + c * h])


def _window_side(window: Window, z: FloatArray) -> FloatArray:
    """Inner end of a window at some heights: (r, z)."""
    return np.column_stack(
        [window.inner - np.tan(window.draft) * (window.datum - z), z]
    )


def _pocket_side(pocket: PocketCutter) -> FloatArray:
    """Walls of a back pocket: (r, z)."""
    u, v = _fine(pocket.curves).T
    s, c = np.sin(pocket.tilt), np.cos(pocket.tilt)
    r0, z0 = pocket.origin
    parts = [
        np.column_stack([np.hypot(r0 + c * u - s * w, v), z0 + s * u + c * w])
        for w in np.arange(-pocket.height, STEP / 2.0, 2.0 * STEP)
    ]
    return np.vstack(parts)


def _fine(curves: Sequence[Curve]) -> FloatArray:
    """Points about ``STEP`` apart along an outline."""
    points = outline_points(curves, 32)
    parts = []
    for a, b in pairwise([*points, points[0]]):
        n = max(1, int(np.ceil(np.hypot(*(b - a)) / STEP)))
        parts.append(a + np.arange(n)[:, None] / n * (b - a))
    return np.vstack(parts)


def _ends(section: Sequence[Curve], within: tuple[float, float]) -> tuple[_Ends, _Ends]:
    """Candidates on the back and on the face, between two radii."""
    n, sides = len(section), []
    for order in (range(n), range(n - 1, -1, -1)):
        at, curves, along, roundings = [], [], [], []
        for k in order:
            if min(section[k].start[0], section[k].end[0]) > within[1]:
                break
            for place, direction, corner in _places(section[k]):
                if not within[0] < place[0] < within[1]:
                    continue
                meeting = (section[k], section[k - 1]) if corner else (section[k],)
                names = [curve.name for curve in meeting if isinstance(curve, Arc)]
                at.append(place)
                curves.append(k)
                along.append(direction)
                roundings.append(names[0] if names else "")
        sides.append(_Ends(np.reshape(at, (-1, 2)), curves, np.array(along), roundings))
    return sides[0], sides[1]


def _places(curve: Curve) -> Iterator[tuple[FloatArray, FloatArray, bool]]:
    """Places on a curve, its direction there, and whether it is the curve's start."""
    chain = np.vstack([outline_points([curve], 32), curve.end])
    steps = np.diff(chain, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    total = float(lengths.sum())
    yield chain[0], steps[0] / max(lengths[0], 1e-12), True
    reach = np.concatenate([[0.0], np.cumsum(lengths)])
    for s in np.arange(LEAST_ROOM, total - LEAST_ROOM, STEP):
        k = int(np.searchsorted(reach, s, side="right")) - 1
        unit = steps[k] / lengths[k]
        place = chain[k] + (s - reach[k]) * unit
        if isinstance(curve, Arc):
            # from the chord onto the arc
            off = place - curve.centre
            place = curve.centre + off * curve.radius / np.linalg.norm(off)
        yield place, unit, False


def _candidates(
    section: Sequence[Curve],
    back: _Ends,
    face: _Ends,
    hub: FloatArray,
    spokes: FloatArray,
) -> Iterator[tuple[float, float, int, int]]:
    """Score, room and ends of all lines that part hub and spokes at a good angle."""
    roundings = [
        (c.name, fine)
        for c in section
        if isinstance(c, Arc)
        for fine in [_fine([c])[:-1]]
        if fine[:, 0].min() < spokes[:, 0].max()
    ]
    for b, foot in enumerate(back.at):
        for f, top in enumerate(face.at):
            line = top - foot
            length = float(np.hypot(*line))
            unit = line / max(length, 1e-9)
            # square to the line, towards the spokes
            right = np.array([unit[1], -unit[0]])
            sines = abs(back.along[b] @ right), abs(face.along[f] @ right)
            if length < LEAST_ROOM or min(sines) < UPRIGHT:
                continue
            room = _room(hub, foot, unit, length, -right)
            if room > 0.0:
                room = min(room, _room(spokes, foot, unit, length, right))
            if room <= 0.0:
                continue
            touched = {back.roundings[b], face.roundings[f]} - {""}
            for name, points in roundings:
                if name not in touched:
                    room = min(room, _gap(points, foot, unit, length))
            score = min(room, ENOUGH) - ON_ROUNDING * bool(touched)
            yield score + 1e-3 * room, room, b, f


def _room(
    points: FloatArray,
    foot: FloatArray,
    unit: FloatArray,
    length: float,
    side: FloatArray,
) -> float:
    """Distance [mm] of points from a line, negative if some lie on its other side.

    Points beyond the line's ends, outside the metal, count by their distance alone.
    """
    off = points - foot
    along, across = off @ unit, off @ side
    beside: BoolArray = (along > 0.0) & (along < length)
    least = float(across[beside].min(initial=np.inf))
    return min(least, _gap(points[~beside], foot, unit, length))


def _gap(
    points: FloatArray, foot: FloatArray, unit: FloatArray, length: float
) -> float:
    """Distance [mm] of points from a piece of a line."""
    off = points - foot
    along = np.clip(off @ unit, 0.0, length)
    gaps = np.linalg.norm(off - along[:, None] * unit, axis=1)
    return float(gaps.min(initial=np.inf))
