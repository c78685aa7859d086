"""Simple solids with spokes, built by the CAD kernel alone and written as STEP.

Sizes are invented, and a third of a wheel's, so that few points are needed.
"""

from dataclasses import dataclass
from pathlib import Path

import gmsh
import numpy as np

from spokecheck.wheel.meshing.kernel.session import quiet_session

HOLE = 4.0
"""Diameter of the valve hole [mm]."""

Z_HOLE = 5.0
"""Where its axis meets the rim [mm]."""


@dataclass(frozen=True)
class Barred:
    """A rim, a hub and straight bars between them.

    Attributes
    ----------
    count : int
        Bars and bolt holes.
    turn : float
        Angle of the first [rad].
    swept : float
        How far the bars lie off the axle [mm].
    valve : float or None
        Angle of a hole through the rim [rad].
    mark : float
        Depth of a square of 6 mm sunk into the first bar [mm].
    """

    count: int = 5
    turn: float = 0.0
    swept: float = 0.0
    valve: float | None = None
    mark: float = 0.0


def write_barred(path: Path, wheel: Barred) -> Path:
    """Write a wheel with bars; the rim's outer radius is 75 mm, its wall 4 mm."""
    with quiet_session():
        occ = gmsh.model.occ
        rim = _difference(_round(75.0, -20.0, 40.0), [_round(71.0, -25.0, 50.0)])
        bars = [_bar(wheel, k) for k in range(wheel.count)]
        (solid,), _ = occ.fuse([rim], [_round(24.0, 8.0, 10.0), *bars])
        tools = [_round(9.0, 0.0, 30.0)]
        for k in range(wheel.count):
            hole = occ.addCylinder(16.0, 0.0, 0.0, 0.0, 0.0, 30.0, 2.0)
            tools.append(_turned((3, hole), wheel.turn + 2 * np.pi * k / wheel.count))
        if wheel.valve is not None:
            hole = occ.addCylinder(65.0, 0.0, Z_HOLE, 15.0, 0.0, 0.0, HOLE / 2.0)
            tools.append(_turned((3, hole), wheel.valve))
        if wheel.mark:
            mark = occ.addBox(45.0, -3.0, 18.0 - wheel.mark, 6.0, 6.0, 5.0)
            tools.append(_turned((3, mark), wheel.turn))
        return _written(path, _difference(solid, tools))


def write_revolved(path: Path, count: int = 5, turn: float = 0.1) -> Path:
    """Write a disc whose section is a spline, with windows cut through.

    The kernel's volume of such a solid can be off by a per cent, since the windows cut
    a revolved face.
    """
    with quiet_session():
        occ = gmsh.model.occ
        above = [(13, 20), (27, 22), (43, 17), (60, 21), (75, 15)]
        p = [occ.addPoint(r, 0, z) for r, z in above]
        q = [occ.addPoint(75, 0, 3), occ.addPoint(13, 0, 10)]
        lines = [occ.addBSpline(p), occ.addLine(p[-1], q[0])]
        lines += [occ.addLine(*q), occ.addLine(q[1], p[0])]
        section = occ.addPlaneSurface([occ.addCurveLoop(lines)])
        made = occ.revolve([(2, section)], 0, 0, 0, 0, 0, 1, 2.0 * np.pi)
        disc = next(one for one in made if one[0] == 3)
        windows = [_window(turn + 2.0 * np.pi * k / count) for k in range(count)]
        solid = _difference(disc, windows)
        gmsh.model.occ.dilate([solid], 0, 0, 0, 0.3, 0.3, 0.3)  # for speed
        return _written(path, solid)


def _window(angle):
    """A prism whose outline is one closed spline."""
    occ = gmsh.model.occ
    outline = ((30, 0), (37, 0.3), (57, 0.42), (68, 0.3), (70, 0))
    outline += ((68, -0.3), (57, -0.42), (37, -0.3))
    points = [occ.addPoint(r * np.cos(a), r * np.sin(a), 0) for r, a in outline]
    curve = occ.addBSpline([*points, points[0]])
    face = occ.addPlaneSurface([occ.addCurveLoop([curve])])
    made = occ.extrude([(2, face)], 0, 0, 40)
    return _turned(next(one for one in made if one[0] == 3), angle)


def _bar(wheel, k):
    bar = gmsh.model.occ.addBox(0.0, -6.0 + wheel.swept, 8.0, 73.0, 12.0, 10.0)
    return _turned((3, bar), wheel.turn + 2.0 * np.pi * k / wheel.count)


def _round(radius, low, height):
    return 3, gmsh.model.occ.addCylinder(0, 0, low, 0, 0, height, radius)


def _turned(solid, angle):
    gmsh.model.occ.rotate([solid], 0, 0, 0, 0, 0, 1, angle)
    return solid


def _difference(solid, tools):
    (left,), _ = gmsh.model.occ.cut([solid], tools)
    return left


def _written(path, solid):
    gmsh.model.occ.synchronize()
    others = [one for one in gmsh.model.getEntities(3) if one != solid]
    gmsh.model.occ.remove(others, recursive=True)
    gmsh.model.occ.synchronize()
    gmsh.write(str(path))
    return path
