"""Back pockets: what is hollowed out of the spokes from behind.

The plan of a pocket is the spoke less a wall, between two circles, corners rounded;
its floor is a plane that follows the face and leaves a given thickness below it.
"""

from contextlib import suppress
from dataclasses import replace
from itertools import combinations

import numpy as np
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from spokecheck.plane.boundary import CurveSource
from spokecheck.plane.curves import (
    Arc,
    Curve,
    Line,
    as_point,
    offset_curve,
    offset_outline,
    outline_points,
)
from spokecheck.plane.outline import Rounding, rounded_outlines
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import PocketCutter
from spokecheck.wheel.shape.patterns import lay_bars
from spokecheck.wheel.shape.profile import Profile
from spokecheck.wheel.shape.spoke_bars import Bar
from spokecheck.wheel.shape.spoke_lines import SpokeLines, spoke_lines
from spokecheck.wheel.shape.windows import circle_sources, disc
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.spokes_table import Pocket as PocketTable

BEYOND = 6.0
"""How far [mm] a cutter sticks out of the spoke's back."""

SPARE = 1.0
"""How much [mm] a pocket's corner radius exceeds its floor radius at least, and a
pocket's depth too."""

RIB = "pocket rib"
"""Side of the rib between two pockets of one spoke."""

RIB_CHAIN = -3
"""Number of its chain of curves; those of the two circles come before."""

LEAST_RIB = 3.0
"""Metal [mm] between two pockets of one spoke, or a rib as thick as the walls is left
along its axis: roundings that bulge into each other would leave a ridge."""

POCKETED = ("straight", "twin", "forked", "swept", "course")
"""Patterns whose spokes may have pockets."""


def draw_spoke_pockets(design: Design, profile: Profile) -> tuple[PocketCutter, ...]:
    """Draw the back pockets of a design; none if it asks for none.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    profile : Profile
        Its section.

    Returns
    -------
    tuple of PocketCutter
        One for each kind in a repeat of the pattern, with all its copies.

    Raises
    ------
    ValueError
        If a pocket has no room; ``limits`` reports this beforehand.
    """
    table = design.spokes.pocket
    if table is None:
        return ()
    tip = profile.contour.well_inner_radius
    lines = spoke_lines(design, profile.contour)
    bars = lay_bars(design.spokes, tip)
    outlines = _outlines(design, table, bars, tip)
    if not outlines:
        raise ValueError("walls, ends and corner radius leave no room for a pocket")
    n = design.spokes.repeats
    turns = [2.0 * np.pi * k / n for k in range(n)]
    return tuple(_placed(c, table, lines, profile, turns) for c in outlines)


def _outlines(
    design: Design, table: PocketTable, bars: list[Bar], tip: float
) -> list[tuple[Curve, ...]]:
    """Plans of the pockets of one repeat."""
    spokes = design.spokes
    inner = spokes.root_radius_mm + table.start_mm
    outer = tip - spokes.rim_gap_mm - table.end_mm
    if outer - inner < 2.0 * table.corner_mm:
        return []
    metal = unary_union([bar.region() for bar in bars])
    slim = metal.buffer(-table.wall_mm, join_style="mitre", mitre_limit=20.0)
    region = slim.intersection(disc(outer).difference(disc(inner)))
    sources = [
        *circle_sources(inner, "pocket", -1),
        *circle_sources(outer, "pocket", -2),
        *(
            moved
            for k, bar in enumerate(bars)
            for source in bar.sources(4 * k)
            for moved in _moved(source, table.wall_mm)
        ),
    ]
    rounding = Rounding(table.corner_mm, knee=table.floor_radius_mm + SPARE)
    return [
        outline
        for part in _parts(region)
        for outline in _in_part(part, sources, rounding, table.wall_mm)
    ]


def _parts(region: BaseGeometry) -> list[Polygon]:
    return [p for p in getattr(region, "geoms", [region]) if isinstance(p, Polygon)]


def _in_part(
    part: Polygon, sources: list[CurveSource], rounding: Rounding, wall: float
) -> list[tuple[Curve, ...]]:
    """Pockets in one connected region, on either side of a rib where they are near."""
    outlines = rounded_outlines(part, sources, rounding)
    if not _run_together(outlines):
        return outlines
    half, far = wall / 2.0, part.bounds[2] + 1.0
    sides = [
        CurveSource(Line((0.0, y), (far, y), RIB), RIB_CHAIN - k)
        for k, y in enumerate((half, -half))
    ]
    apart = part.difference(box(0.0, -half, far, half))
    outlines = [
        outline
        for half_part in _parts(apart)
        for outline in rounded_outlines(half_part, [*sources, *sides], rounding)
    ]
    if not outlines:
        raise ValueError("the rib between two pockets of a spoke leaves them no room")
    if _run_together(outlines):
        raise ValueError("two pockets of a spoke run into each other")
    return outlines


def _run_together(outlines: list[tuple[Curve, ...]]) -> bool:
    drawn = [Polygon(outline_points(outline, 32)) for outline in outlines]
    return any(a.distance(b) < LEAST_RIB for a, b in combinations(drawn, 2))


def _moved(source: CurveSource, distance: float) -> list[CurveSource]:
    """The curve moved to either side; one of the two bounds the pocket."""
    moved = []
    for sign in (1, -1):
        with suppress(ValueError):  # an arc that vanishes bounds nothing
            curve = replace(offset_curve(source.curve, -sign * distance), name="pocket")
            moved.append(CurveSource(curve, 1000 * (source.chain + 1) + sign))
    return moved


def _placed(
    curves: tuple[Curve, ...],
    table: PocketTable,
    lines: SpokeLines,
    profile: Profile,
    turns: list[float],
) -> PocketCutter:
    """Cutter of a pocket from its plan: floor plane, depth of the cutter, copies."""
    points = outline_points(curves, 16)
    angle = float(np.arctan2(*points.mean(axis=0)[::-1]))
    c, s = np.cos(angle), np.sin(angle)
    level = points @ np.array([[c, -s], [s, c]])
    low, high = level[:, 0].min(), level[:, 0].max()
    middle = (low + high) / 2.0
    face = np.array([lines.at("face", r) for r in np.hypot(*level.T)])
    rise = (lines.at("face", high) - lines.at("face", low)) / (high - low)
    tilt = float(np.arctan(rise))
    plane = rise * (level[:, 0] - middle)
    z = float((face - plane).min()) - table.floor_mm
    back = np.array([_lowest(profile, r) for r in np.linspace(low, high, 9)])
    deep = z + rise * (np.linspace(low, high, 9) - middle) - back
    if deep.max() < table.floor_radius_mm + SPARE:
        raise ValueError(
            f"the pocket would be {deep.max():.1f} mm deep, less than its floor radius "
            f"and {SPARE:g} mm"
        )
    home = tuple(_home(curve, angle, middle) for curve in curves)
    offset_outline(home, -table.floor_radius_mm)  # its floor must not vanish
    return PocketCutter(
        home,
        (middle, z),
        tilt,
        table.floor_radius_mm,
        float(deep.max()) + BEYOND,
        tuple(angle + turn for turn in turns),
    )


def _home(curve: Curve, angle: float, middle: float) -> Curve:
    """Curve turned back to +x, from its middle radius."""
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, -s], [s, c]])

    def to(p: tuple[float, float]) -> tuple[float, float]:
        return as_point(np.array(p) @ turn - np.array([middle, 0.0]))

    if isinstance(curve, Line):
        return Line(to(curve.start), to(curve.end), curve.name)
    return Arc(to(curve.start), to(curve.end), to(curve.centre), curve.name)


def _lowest(profile: Profile, radius: float) -> float:
    """Lowest z [mm] of the section at a radius inside the rim."""
    ring: FloatArray = outline_points(profile.curves)
    a, b = ring, np.roll(ring, -1, axis=0)
    crossed = (a[:, 0] - radius) * (b[:, 0] - radius) <= 0.0
    span = np.where(np.abs(b[:, 0] - a[:, 0]) < 1e-9, 1.0, b[:, 0] - a[:, 0])
    z = a[:, 1] + (radius - a[:, 0]) / span * (b[:, 1] - a[:, 1])
    return float(z[crossed].min())
