"""Cutters of the windows' rounded edges: an arc carried along the outline."""

import gmsh
import numpy as np

from spokecheck.plane.curves import Arc, angle_between, turned
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import EdgeStrip
from spokecheck.wheel.shape.edge_strips import along_outline

Tag = tuple[int, int]

EVEN = 1.0e-6
"""Paths that vary by less than this [mm, rad] are even."""


def edge_tool(strip: EdgeStrip, angle: float) -> list[Tag]:
    """Cutter of one strip: between an arc and its two tangents.

    Its surface is a part of a torus or cylinder where the arc is carried along without
    a change, as at the ends of windows, which the kernel cuts exactly; else a spline
    surface through arcs.
    """
    path = np.array(strip.path)
    if np.ptp(path[:, 1:], axis=0).max() < EVEN:
        made = _even(strip, path[0], angle)
    else:
        stations = path[list(strip.stations)]
        loops = [_loop(strip, place, angle) for place in stations]
        made = gmsh.model.occ.addThruSections(loops, makeSolid=True, makeRuled=False)
    return [tag for tag in made if tag[0] == 3]


def _even(strip: EdgeStrip, place: FloatArray, angle: float) -> list[Tag]:
    """Cutter of an even path: its section revolved or extruded."""
    occ, curve = gmsh.model.occ, strip.curve
    section = [(2, occ.addPlaneSurface([_loop(strip, place, angle)]))]
    start, end = turned(np.array([curve.start, curve.end]), angle)
    if not isinstance(curve, Arc):
        return list(occ.extrude(section, *(end - start), 0.0))
    (centre,) = turned(np.array([curve.centre]), angle)
    turn = angle_between(start - centre, end - centre)
    return list(occ.revolve(section, *centre, 0.0, 0.0, 0.0, 1.0, turn))


def _loop(strip: EdgeStrip, place: FloatArray, angle: float) -> int:
    """Section of the cutter in one plane of the path, closed in the air."""
    occ, r = gmsh.model.occ, strip.radius
    share, d, z, way = place
    foot, away = (turned(p, angle)[0] for p in along_outline(strip.curve, share[None]))
    face, wall = ((d + r * np.cos(a), z + r * np.sin(a)) for a in (way, strip.wall))
    corner = (d - 2.0 * r, z + 2.0 * r)
    points = []
    for u, h in (face, wall, corner, (d, z)):
        x, y = foot + u * away
        points.append(int(occ.addPoint(float(x), float(y), float(strip.side * h))))
    arc = occ.addCircleArc(points[0], points[3], points[1])
    occ.remove([(0, points[3])])
    sides = [occ.addLine(*points[1:3]), occ.addLine(points[2], points[0])]
    return int(occ.addCurveLoop([arc, *sides]))
