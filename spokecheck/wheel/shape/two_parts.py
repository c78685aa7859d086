"""The drawing of a wheel parted along a ring: one sector of spokes and rim, one of hub.

The outer part repeats with the spokes, the inner one with the bolts.
Each gets the clearest cut of its own, as long as both cuts lie on borders of the ring's
strips.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import gcd

import numpy as np

from spokecheck.fem.joined import RING
from spokecheck.plane.curves import Curve, Line
from spokecheck.wheel.shape.drawing import Divide, Drawing, RingGrid
from spokecheck.wheel.shape.ring import Ring
from spokecheck.wheel.shape.sector_cut import APART, CLEARANCE, FAN, cut_room

ALONG = 10.0
"""Edge length [mm] along the ring's line, at fineness 1."""

AROUND = 16.0
"""Longest edge [mm] round the ring, at fineness 1: one or two to a strip."""


@dataclass(frozen=True)
class TwoParts:
    """Drawings of one sector of each part.

    Attributes
    ----------
    outer, inner : Drawing
    first : int
        Strip of the ring at the inner part's low cut, counted from the outer one's.
    """

    outer: Drawing
    inner: Drawing
    first: int


def part_drawing(
    drawing: Drawing, ring: Ring, spokes: int, bolts: int, longest: float, rank: int = 0
) -> TwoParts:
    """Part a drawing along a ring.

    Parameters
    ----------
    drawing : Drawing
        The whole wheel.
    ring : Ring
        Where to part it.
    spokes, bolts : int
        Repeats of the spoke pattern, and of the hub.
    longest : float
        Longest edge [mm] round the ring.
    rank : int, optional
        0 for the clearest cuts, 1 and more for others.

    Returns
    -------
    TwoParts

    Raises
    ------
    ValueError
        If there are no other cuts.
    """
    strips = spokes * bolts // gcd(spokes, bolts)
    outside, inside = _split_section(drawing, ring)
    edges = _edges(ring, strips, longest)
    outer = replace(
        drawing, section=outside[0], cutters=(), count=spokes, divide=outside[1]
    )
    inner = replace(
        drawing,
        section=inside,
        windows=(),
        pockets=(),
        edges=(),
        count=bolts,
        divide=None,
    )
    low, first = _cuts(outer, inner, strips, rank)
    pitch = 2.0 * np.pi / strips
    back, face = ring.back.at, ring.face.at
    grids = [RingGrid(back, face, strips // n, *edges) for n in (spokes, bolts)]
    return TwoParts(
        replace(outer, low_angle=low, ring=grids[0]),
        replace(inner, low_angle=low + first * pitch, ring=grids[1]),
        first,
    )


def _edges(ring: Ring, strips: int, longest: float) -> tuple[int, int]:
    """Edges along the ring's line, and round one strip."""
    along = max(2, round(ring.length * AROUND / longest / ALONG))
    width = 2.0 * np.pi * ring.radius / strips
    return along, int(np.ceil(width / longest))


def _split_section(
    drawing: Drawing, ring: Ring
) -> tuple[tuple[tuple[Curve, ...], Divide | None], tuple[Curve, ...]]:
    """Section of the outer part with its divide, and that of the inner one."""
    section, back, face = drawing.section, ring.back, ring.face
    i, j = back.curve, face.curve
    # from the back end round by the rim to the face end, then down the ring
    start, stop = section[i], section[j]
    outer: list[Curve] = [replace(start, start=back.at), *section[i + 1 : j]]
    if face.at != stop.start:
        outer.append(replace(stop, end=face.at))
    outer.append(Line(face.at, back.at, RING))
    # from the face end round by the bore to the back end, then up the ring
    inner: list[Curve] = [replace(stop, start=face.at), *section[j + 1 :], *section[:i]]
    if back.at != start.start:
        inner.append(replace(start, end=back.at))
    inner.append(Line(back.at, face.at, RING))
    divide = drawing.divide
    if divide is not None:
        divide = replace(divide, first=divide.first - i, last=divide.last - i)
    return (tuple(outer), divide), tuple(inner)


def _cuts(outer: Drawing, inner: Drawing, strips: int, rank: int) -> tuple[float, int]:
    """Low cut [rad] of the outer part, and the strip at that of the inner one.

    The middle of a window if that leaves room for both, else that of a spoke, whose
    section makes the cut larger, else the clearest.
    """
    span, pitch = outer.span, 2.0 * np.pi / strips
    steps = range(strips // inner.count)
    middles = [-span / 2.0, 0.0]
    fan = [-span * k / FAN for k in range(FAN)]
    rooms: dict[tuple[float, int], float] = {}
    for low in (*middles, *fan):
        own = cut_room(low, outer)
        for first in steps:
            angle = low + first * pitch
            # half a hole on either cut is too much for the kernel now and then
            room = 0.0 if _halves_hole(angle, inner) else cut_room(angle, inner)
            rooms[low, first] = min(own, room)
    clear = [cut for cut, room in rooms.items() if room >= CLEARANCE]
    order = [cut for cut in clear if cut[0] in middles]
    order.sort(key=lambda cut: (middles.index(cut[0]), -rooms[cut]))
    order += sorted(rooms, key=lambda cut: -rooms[cut])
    taken: list[tuple[float, int]] = []
    for cut in order:
        if all(_apart(cut, other, span) for other in taken):
            taken.append(cut)
        if len(taken) > rank:
            return taken[-1]
    raise ValueError("no other direction for the cuts")


def _halves_hole(angle: float, drawing: Drawing) -> bool:
    """Whether a cut runs through the axis of a hole, or nearly."""
    return any(
        bool((np.abs(np.sin(np.subtract(hole.angles, angle) / 2.0)) < 1e-6).any())
        for hole in drawing.cutters
    )


def _apart(cut: tuple[float, int], other: Sequence[float], span: float) -> bool:
    """Whether both cuts of a pair differ from those of another."""
    off = abs(cut[0] - other[0]) % span
    return min(off, span - off) >= APART or cut[1] != other[1]
