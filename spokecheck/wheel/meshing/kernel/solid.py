"""The solid: the revolved section less windows and cutters."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import gmsh
import numpy as np

from spokecheck.errors import MeshError
from spokecheck.plane.curves import (
    Arc,
    Curve,
    Line,
    angle_between,
    offset_outline,
    outline_points,
)
from spokecheck.units import FloatArray
from spokecheck.wheel.meshing.kernel.edge_tools import edge_tool
from spokecheck.wheel.meshing.kernel.ring import cut_into_strips
from spokecheck.wheel.shape.drawing import (
    CLEARANCE,
    WHOLE,
    ZONES,
    Drawing,
    PocketCutter,
    Window,
)

Tag = tuple[int, int]


@dataclass(frozen=True)
class Placement:
    """From drawing plane to space: ``origin + u first + v second``."""

    origin: FloatArray
    first: FloatArray
    second: FloatArray

    def __call__(self, uv: tuple[float, float]) -> tuple[float, float, float]:
        """Place a point of the drawing plane."""
        x, y, z = self.origin + uv[0] * self.first + uv[1] * self.second
        return float(x), float(y), float(z)


def _piece(
    curve: Curve, points: Mapping[tuple[float, float], int], place: Placement
) -> int:
    """One line or arc between points that are there already."""
    occ, ends = gmsh.model.occ, (points[curve.start], points[curve.end])
    if isinstance(curve, Line):
        return int(occ.addLine(*ends))
    centre = occ.addPoint(*place(curve.centre))
    tag = int(occ.addCircleArc(ends[0], centre, ends[1]))
    occ.remove([(0, centre)])
    return tag


def _loop(curves: Sequence[Curve], place: Placement) -> int:
    """Closed loop of an outline."""
    occ = gmsh.model.occ
    points = {curve.start: occ.addPoint(*place(curve.start)) for curve in curves}
    tags = [_piece(curve, points, place) for curve in curves]
    return int(occ.addCurveLoop(tags))


def _outline(curves: Sequence[Curve], place: Placement) -> int:
    """Plane face bounded by a closed outline."""
    return int(gmsh.model.occ.addPlaneSurface([_loop(curves, place)]))


@dataclass(frozen=True)
class Solid:
    """The finished solid.

    Attributes
    ----------
    volume : float
        [mm^3].
    zones : dict of str to list of int
        Volumes of gmsh by zone; one zone holds the whole wheel.
    """

    volume: float
    zones: dict[str, list[int]]


def build_solid(drawing: Drawing) -> Solid:
    """Build the solid in gmsh."""
    occ = gmsh.model.occ
    low, span = drawing.low_angle, drawing.span
    up = np.array([0.0, 0.0, 1.0])
    out = np.array([np.cos(low), np.sin(low), 0.0])
    sections = _sections(drawing, Placement(np.zeros(3), out, up))
    revolved = occ.revolve(sections, 0, 0, 0, 0, 0, 1, span)
    bodies = [tag for tag in revolved if tag[0] == 3]
    tools = [
        *_window_tools(drawing),
        *_round_tools(drawing),
        *_pocket_tools(drawing),
    ]
    solids, came_from = occ.cut(bodies, tools)
    occ.synchronize()
    if len(solids) != len(bodies):
        raise MeshError(
            f"cutting windows and holes left {len(solids)} "
            f"bodies, {len(bodies)} needed; move the windows away from rim and hub"
        )
    solids, came_from = _round_edges(drawing, solids, came_from)
    _remove_sketches(solids)
    before = solids
    solids, became = cut_into_strips(drawing, solids)
    now = dict(zip(before, became, strict=True))
    zones = ZONES if drawing.divide is not None else (WHOLE,)
    return Solid(
        float(sum(occ.getMass(*solid) for solid in solids)),
        {
            zone: [tag for body in came_from[k] for _, tag in now[body]]
            for k, zone in enumerate(zones)
        },
    )


def _round_edges(
    drawing: Drawing, solids: list[Tag], came_from: list[list[Tag]]
) -> tuple[list[Tag], list[list[Tag]]]:
    """Solids with the windows' edges rounded, and what each body has become."""
    tools = []
    for strip in drawing.edges:
        middle, half = _spread([strip.curve])
        half += strip.reach / float(np.hypot(*strip.curve.start))
        for angle in strip.angles:
            if _in_sector(drawing, angle + middle, half):
                tools += edge_tool(strip, angle)
    if not tools:
        return solids, came_from
    rounded, became = gmsh.model.occ.cut(solids, tools)
    gmsh.model.occ.synchronize()
    if len(rounded) != len(solids):
        raise MeshError(f"rounding the windows' edges left {len(rounded)} bodies")
    now = dict(zip(solids, became, strict=False))
    return rounded, [[tag for old in body for tag in now[old]] for body in came_from]


def _sections(drawing: Drawing, place: Placement) -> list[Tag]:
    """Plane faces of disc and rim, which share the line between them; or one."""
    divide, section = drawing.divide, drawing.section
    if divide is None:
        return [(2, _outline(section, place))]
    occ, curves = gmsh.model.occ, (*section, *divide.curves)
    starts = dict.fromkeys(curve.start for curve in curves)
    points = {start: occ.addPoint(*place(start)) for start in starts}
    tags = [_piece(curve, points, place) for curve in curves]
    own, between = tags[: len(section)], tags[len(section) :]
    rim = [*own[divide.first : divide.last], *[-tag for tag in between[::-1]]]
    disc = [*own[divide.last :], *own[: divide.first], *between]
    return [(2, occ.addPlaneSurface([occ.addCurveLoop(loop)])) for loop in (disc, rim)]


def _remove_sketches(solids: list[Tag]) -> None:
    """Remove drawing faces that a full revolution leaves behind."""
    kept = set(gmsh.model.getBoundary(solids, combined=False, oriented=False))
    spare = [tag for tag in gmsh.model.getEntities(2) if tag not in kept]
    gmsh.model.occ.remove(spare, recursive=True)
    gmsh.model.occ.synchronize()


def _in_sector(drawing: Drawing, angle: float, half: float) -> bool:
    """Whether something that spans ``angle`` +/- ``half`` [rad] meets the sector."""
    span = drawing.span
    middle = drawing.low_angle + span / 2.0
    off = (angle - middle + np.pi) % (2.0 * np.pi) - np.pi
    return drawing.count == 1 or bool(abs(off) < span / 2.0 + half)


def _window_tools(drawing: Drawing) -> list[Tag]:
    low, high = drawing.z_range
    tools = []
    for window in drawing.windows:
        middle, half = _spread(window.curves)
        for angle in window.angles:
            if not _in_sector(drawing, angle + middle, half):
                continue
            tools += _prism(window, angle, low - CLEARANCE, high + CLEARANCE)
    return [tag for tag in tools if tag[0] == 3]


def _prism(window: Window, angle: float, low: float, high: float) -> list[Tag]:
    """Prism of a window between two heights, its sides sloped by its draft."""
    occ = gmsh.model.occ

    def place(z: float) -> Placement:
        return Placement(
            np.array([0.0, 0.0, z]),
            np.array([np.cos(angle), np.sin(angle), 0.0]),
            np.array([-np.sin(angle), np.cos(angle), 0.0]),
        )

    if window.draft == 0.0:
        face = _outline(window.curves, place(low))
        return list(occ.extrude([(2, face)], 0, 0, high - low))
    loops = [
        _loop(offset_outline(window.curves, window.growth(z)), place(z))
        for z in (low, high)
    ]
    return list(occ.addThruSections(loops, makeSolid=True, makeRuled=True))


def _spread(curves: Sequence[Curve]) -> tuple[float, float]:
    """Middle angle and half the angle [rad] an outline spans about the axle."""
    points = outline_points(curves)
    middle = float(np.arctan2(*points.mean(axis=0)[::-1]))
    off = np.arctan2(points[:, 1], points[:, 0]) - middle
    off = (off + np.pi) % (2.0 * np.pi) - np.pi
    return middle, float(np.abs(off).max()) + 0.01


def _round_tools(drawing: Drawing) -> list[Tag]:
    occ, tools = gmsh.model.occ, []
    for cutter in drawing.cutters:
        half = float(np.arcsin(min(1.0, 1.2 * cutter.reach / cutter.foot[0])))
        for angle in cutter.angles:
            if not _in_sector(drawing, angle, half):
                continue
            foot, axis, across = cutter.frame(angle)
            face = _outline(cutter.curves, Placement(foot, across, axis))
            tools += occ.revolve([(2, face)], *foot, *axis, 2.0 * np.pi)
    return [tag for tag in tools if tag[0] == 3]


def _pocket_tools(drawing: Drawing) -> list[Tag]:
    tools = []
    for pocket in drawing.pockets:
        points = outline_points(pocket.curves) + np.array([pocket.origin[0], 0.0])
        half = float(np.abs(np.arctan2(points[:, 1], points[:, 0])).max()) + 0.05
        for angle in pocket.angles:
            if _in_sector(drawing, angle, half):
                tools += _pocket_tool(pocket, angle)
    return [tag for tag in tools if tag[0] == 3]


def _pocket_tool(pocket: PocketCutter, angle: float) -> list[Tag]:
    """A core under the floor, and a strip with the floor radius along each curve."""
    occ, f, deep = gmsh.model.occ, pocket.floor_radius, pocket.height
    origin, (u, v, up) = pocket.frame(angle)
    core = _outline(offset_outline(pocket.curves, -f), Placement(origin, u, v))
    tools = list(occ.extrude([(2, core)], *(-deep * up)))
    for curve in pocket.curves:
        start = origin + curve.start[0] * u + curve.start[1] * v
        if isinstance(curve, Line):
            run = np.subtract(curve.end, curve.start)
            inward = (-run[1] * u + run[0] * v) / np.linalg.norm(run)
            strip = _outline(_strip(f, deep), Placement(start, inward, up))
            tools += occ.extrude([(2, strip)], *(run[0] * u + run[1] * v))
            continue
        centre = origin + curve.centre[0] * u + curve.centre[1] * v
        a = np.subtract(curve.start, curve.centre)
        b = np.subtract(curve.end, curve.centre)
        turn = angle_between(a, b)
        inward = np.sign(turn) * (centre - start) / curve.radius
        strip = _outline(_strip(f, deep), Placement(start, inward, up))
        tools += occ.revolve([(2, strip)], *centre, *up, turn)
    return tools


def _strip(radius: float, deep: float) -> tuple[Curve, ...]:
    """Section of a pocket's edge: distance inward from the wall, height over floor."""
    corners = [(0.0, -deep), (radius, -deep), (radius, 0.0), (0.0, -radius)]
    low, inner, floor, wall = corners
    return (
        Line(low, inner, ""),
        Line(inner, floor, ""),
        Arc(floor, wall, (radius, -radius), ""),
        Line(wall, low, ""),
    )
