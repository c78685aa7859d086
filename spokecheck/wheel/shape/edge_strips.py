"""Rounded edges of the windows: a ball's arc between a window's side and the section.

The arc stands in planes square to the window's outline and along the axle.  It touches
the window's side there, and the face or back of the spokes, whatever their slope, bow
or fillet; so both surfaces run into the rounding without an edge.
``SUNK`` lets the arc cross both at a small angle, since the CAD kernel finds no curve
along which two surfaces only touch.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from spokecheck.plane.curves import (
    Arc,
    Curve,
    Line,
    angle_between,
    on_circle,
    sense_of,
)
from spokecheck.plane.joints import length_of
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import EdgeStrip, Window
from spokecheck.wheel.tables.spokes_table import Spokes

FACE_EDGE, BACK_EDGE = "spoke edge, face", "spoke edge, back"
SIDES = {1: ("face_edge_mm", FACE_EDGE), -1: ("back_edge_mm", BACK_EDGE)}

SUNK = 0.02
"""How far [mm] the arc's centre is moved towards the edge, both ways: a 2 mm arc then
crosses both surfaces at 8 degrees, and lies as far off its place as is never noted."""

DENSE, LEAST = 0.5, 9
"""Planes along a curve are this far apart [mm], and at least so many."""

SHORT_ARC = 80
"""Arcs with up to so many planes are laid through all of them."""

CLOSE = 1.0e-3
"""Distance [mm] of the surface laid through the stations from the planes between."""

FINE = 5.0e-3
"""Distance [mm] of the radii at which the section is tabulated."""

FAN = 241
"""Points of a plane's trace that are looked at."""

MOST_STEPS, SETTLED = 12, 1.0e-6
"""Steps at most, and change [mm] of the height at which there are no more."""

BLUNTEST, SHARPEST = np.deg2rad(40.0), np.deg2rad(130.0)
"""Angle of the arc: below the first, the edge is too blunt to be one."""


def edge_radii(spokes: Spokes) -> tuple[float, ...]:
    """Radii [mm] asked for on face and back, where there are any."""
    asked = (getattr(spokes, key) for key, _ in SIDES.values())
    return tuple(radius for radius in asked if radius is not None)


def draw_edge_strips(
    spokes: Spokes, section: Sequence[Curve], windows: Sequence[Window]
) -> tuple[EdgeStrip, ...]:
    """Draw the rounded edges that a design asks for.

    Parameters
    ----------
    spokes : Spokes
        Table of the design file.
    section : sequence of Line and Arc
        Section of the wheel (r, z) [mm].
    windows : sequence of Window
        Windows cut from it.

    Returns
    -------
    tuple of EdgeStrip
        One for each side and each curve of each window; none if none is asked for.

    Raises
    ------
    ValueError
        If an edge cannot be rounded; ``limits`` reports this beforehand.
    """
    return tuple(
        strip
        for side, (key, _) in SIDES.items()
        if (radius := getattr(spokes, key)) is not None
        for strip in side_strips(side, radius, section, windows)
    )


def side_strips(
    side: int, radius: float, section: Sequence[Curve], windows: Sequence[Window]
) -> list[EdgeStrip]:
    """Rounded edges of one side of ``SIDES``; errors as for ``draw_edge_strips``."""
    strips: list[EdgeStrip] = []
    for window in windows:
        table = _Trace(section, side, window, 3.0 * radius + 2.0)
        strips += [table.strip(window, curve, radius) for curve in window.curves]
    return strips


class _Trace:
    """Height of the face, or depth of the back, of the section over the radius."""

    def __init__(
        self, section: Sequence[Curve], side: int, window: Window, margin: float
    ) -> None:
        more = margin + max(window.growth(-200.0), 0.0)
        low, high = max(window.inner - more, 1.0), window.outer + more
        self.side = side
        self.radii: FloatArray = np.arange(low, high, FINE)
        self.height: FloatArray = np.full(len(self.radii), -np.inf)
        for curve in section:
            for z in _heights(curve, self.radii):
                self.height = np.fmax(self.height, side * z)

    def strip(self, window: Window, curve: Curve, radius: float) -> EdgeStrip:
        """Rounded edge along one curve of a window."""
        number = max(LEAST, 1 + int(np.ceil(length_of(curve) / DENSE)))
        share = np.linspace(0.0, 1.0, number)
        foot, out = along_outline(curve, share)
        d, z, way = self._rest(window, foot, out, radius)
        wall = np.pi + self.side * window.draft
        turn = wall - way
        if turn.min() < BLUNTEST or turn.max() > SHARPEST:
            k = int(turn.argmin() if turn.min() < BLUNTEST else turn.argmax())
            raise ValueError(_without_room(self.side, foot[k], turn[k]))
        if isinstance(curve, Arc) and sense_of(curve) < 0.0:
            left = curve.radius - float((d + radius * np.cos(way)).max())
            if left < 0.5:
                raise ValueError(
                    f"metal that points into a window is rounded with "
                    f"{curve.radius:.1f} mm there, the edge takes all but {left:.1f} mm"
                )
        path = np.column_stack([share, d, z, way])
        return EdgeStrip(
            SIDES[self.side][1],
            curve,
            window.angles,
            self.side,
            radius,
            float(wall),
            tuple((float(a), float(b), float(c), float(e)) for a, b, c, e in path),
            _stations(curve, path),
        )

    def _rest(
        self, window: Window, foot: FloatArray, out: FloatArray, radius: float
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Centre (d, height) of the ball in each plane, and the way to the section."""
        slope = float(np.tan(window.draft)) * self.side
        lean = radius / float(np.cos(window.draft))
        x = radius * np.linspace(-1.0, 1.0, FAN)[None, :]
        drop = np.sqrt(radius * radius - x * x)
        datum = window.datum * self.side
        z = np.full(len(foot), datum)
        for _ in range(MOST_STEPS):  # the window's side leans: d follows the height
            before, d = z, slope * (datum - z) + lean
            at = foot[:, None, :] + (d[:, None] + x)[..., None] * out[:, None, :]
            gap = self._at(np.linalg.norm(at, axis=2)) - drop
            k = np.clip(gap.argmin(axis=1), 1, FAN - 2)
            rows = np.arange(len(foot))
            a, b, c = (gap[rows, k + step] for step in (-1, 0, 1))
            # the least value lies on the parabola through three points
            off = 0.5 * (a - c) / np.maximum(a - 2.0 * b + c, 1e-12)
            z = b - 0.25 * (a - c) * off
            touch = x[0, k] + off * (x[0, 1] - x[0, 0])
            if not slope or np.abs(z - before).max() < SETTLED:
                break
        d = slope * (datum - z) + lean
        way = np.arccos(np.clip(touch / radius, -1.0, 1.0))
        return d - SUNK, z + SUNK, way

    def _at(self, radii: FloatArray) -> FloatArray:
        return np.interp(radii, self.radii, self.height)


def _heights(curve: Curve, radii: FloatArray) -> Iterator[FloatArray]:
    """Heights z (n,) of a curve at radii (n,), NaN where it does not reach them."""
    (r0, z0), (r1, z1) = curve.start, curve.end
    if isinstance(curve, Line):
        if abs(r1 - r0) < 1e-9:
            return
        share = (radii - r0) / (r1 - r0)
        inside = (share >= 0.0) & (share <= 1.0)
        yield np.where(inside, z0 + share * (z1 - z0), np.nan)
        return
    (r, z), start = curve.centre, np.subtract(curve.start, curve.centre)
    turn = angle_between(start, np.subtract(curve.end, curve.centre))
    rise = np.sqrt(np.maximum(curve.radius**2 - (radii - r) ** 2, 0.0))
    for sign in (1.0, -1.0):
        y, x = sign * rise, radii - r
        ahead = np.arctan2(start[0] * y - start[1] * x, start[0] * x + start[1] * y)
        share = ahead / turn
        on = (np.abs(x) <= curve.radius) & (share >= -1e-6) & (share <= 1.0 + 1e-6)
        yield np.where(on, z + y, np.nan)


def along_outline(curve: Curve, share: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points (n, 2) at shares of a curve's length, and unit directions outward.

    Outward is to the right, out of a window that is drawn anticlockwise.
    """
    start, end = np.array(curve.start), np.array(curve.end)
    if isinstance(curve, Line):
        unit = (end - start) / np.linalg.norm(end - start)
        out = np.broadcast_to([unit[1], -unit[0]], (len(share), 2))
        return start + share[:, None] * (end - start), np.asarray(out)
    centre = np.array(curve.centre)
    turn = angle_between(start - centre, end - centre)
    points = on_circle(start, centre, share * turn)
    return points, sense_of(curve) * (points - centre) / curve.radius


def _stations(curve: Curve, path: FloatArray) -> tuple[int, ...]:
    """Places on the path whose cubic spline comes within ``CLOSE`` of all others."""
    least = 4
    if isinstance(curve, Arc):
        if len(path) <= SHORT_ARC:  # a corner, where fillets of the section begin
            return tuple(range(len(path)))
        ends = (np.subtract(p, curve.centre) for p in (curve.start, curve.end))
        least += int(np.rad2deg(abs(angle_between(*ends))) / 5.0)
    from scipy.interpolate import CubicSpline  # not for wheels of sharp edges alone

    share, rest = path[:, 0], path[:, 1:]
    chosen = np.unique(np.linspace(0, len(path) - 1, least).round().astype(int))
    while len(chosen) < len(path):
        # one more where the spline is furthest off, as where a fillet begins
        off = np.abs(CubicSpline(share[chosen], rest[chosen])(share) - rest).max(axis=1)
        if off.max() < CLOSE:
            break
        chosen = np.unique([*chosen, int(off.argmax())])
    return tuple(int(k) for k in chosen)


def _without_room(side: int, at: FloatArray, turn: float) -> str:
    where = "face" if side > 0 else "back"
    return (
        f"at radius {np.hypot(*at):.1f} mm window and {where} meet at an edge of "
        f"{np.rad2deg(turn):.0f} degrees, from {np.rad2deg(BLUNTEST):.0f} to "
        f"{np.rad2deg(SHARPEST):.0f} can be rounded"
    )


def strip_area(strip: EdgeStrip) -> FloatArray:
    """Metal (n,) [mm^2] that the rounding takes in each plane of its path.

    The corner between two tangents of an arc of turn t less the arc:
    R^2 (tan(t / 2) - t / 2), the section's bend beside the edge neglected.
    """
    turn = strip.wall - np.array([way for *_, way in strip.path])
    return np.asarray(strip.radius**2 * (np.tan(turn / 2.0) - turn / 2.0))


def strip_volume(strip: EdgeStrip) -> float:
    """Metal [mm^3] that a rounding takes from one copy of its window."""
    share, d, _, _ = np.array(strip.path).T
    length, area = length_of(strip.curve), strip_area(strip)
    # the area's centroid lies about a fifth of the radius from the outline
    off = d - 0.8 * strip.radius
    if isinstance(strip.curve, Arc):
        area = area * (1.0 + sense_of(strip.curve) * off / strip.curve.radius)
    steps = [
        (b - a) * (p + q) / 2.0
        for (a, b), (p, q) in zip(pairwise(share), pairwise(area), strict=True)
    ]
    return float(length * sum(steps))
