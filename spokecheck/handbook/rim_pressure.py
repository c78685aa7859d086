"""What a cosine pressure on a rim seat adds up to, without any solution.

References
----------
The integral of the pressure; no outside value is needed.
"""

from math import cos, pi, radians

import numpy as np

from spokecheck.fem.actions import pressure
from spokecheck.fem.loads import resultant
from spokecheck.handbook.case import (
    ENERGY_RATE,
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
)
from spokecheck.handbook.rings import FAMILY
from spokecheck.mesh.blocks import pieces
from spokecheck.mesh.parts import ring_sector
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray


def _cosine(x: FloatArray, half: float, p0: float) -> FloatArray:
    """Pressure p0 cos(pi theta / (2 half)) within +-half, with a hair to spare."""
    angle = np.arctan2(x[:, 1], x[:, 0])
    inside = np.abs(angle) <= half * (1.0 + 1e-12)
    return np.where(inside, p0 * np.cos(pi * angle / (2.0 * half)), 0.0)


def _solve_seat(p: Values, n: int) -> Study:
    half = radians(p.theta)
    span = min(0.3, (pi - half) / (2.0 * pi))
    share = half / (2.0 * pi)
    borders = pieces(
        [0.5 - share - span, 0.5 - share, 0.5 + share, 0.5 + share + span],
        [n, 6 * n, n],
    )
    ring = ring_sector(0.9 * p.b, p.b, p.t, (1, borders, n), 2.0 * pi)
    mesh = Mesh(ring.points * np.array([-1.0, -1.0, 1.0]), ring.cells, ring.surfaces)
    patch = pressure("outer", lambda x: _cosine(x, half, p.p0))
    full = ring_sector(0.9 * p.b, p.b, p.t, (1, 12 * n, n), pi)
    turned = full.points[:, [1, 0, 2]] * np.array([1.0, -1.0, 1.0])
    bearing = Mesh(turned, full.cells, full.surfaces)
    return {
        "patch": resultant(mesh.points, patch.nodal(mesh)),
        "bearing": resultant(
            bearing.points,
            pressure("outer", lambda x: _cosine(x, pi / 2.0, p.p0)).nodal(bearing),
        ),
    }


def _seat(p: Values) -> float:
    half = radians(p.theta)
    return p.p0 * p.b * p.t * 4.0 * half / pi * cos(half) / (1 - (2 * half / pi) ** 2)


P27 = Case(
    id="p27",
    slug="rim-pressure-resultant",
    family=FAMILY,
    title="Cosine pressure on a rim seat: its resultant",
    statement=(
        "Pressure p0 cos(pi theta / 2 theta0) within theta0 either side of the load "
        "line, on a cylinder; the assembled nodal forces are summed."
    ),
    source="integral of the pressure, with the direction cosine kept",
    basis="computed",
    parameters=[
        Parameter("b", 200.0, "mm", "seat radius"),
        Parameter("t", 40.0, "mm", "seat width"),
        Parameter("theta", 35.0, "deg", "half angle of the patch", 0.0, 89.0),
        Parameter("p0", 1.0, "MPa", "largest pressure"),
    ],
    solve=_solve_seat,
    quantities=[
        Quantity(
            "resultant",
            "N",
            _seat,
            lambda s, p: -float(s["patch"][0][0]),
            0.002,
            "only the curved faces and the integration of the cosine are inexact",
            rate=ENERGY_RATE,
        ),
        Quantity(
            "largest pressure for 12 kN",
            "MPa",
            lambda p: 12000.0 * p.p0 / _seat(p),
            lambda s, p: -12000.0 * p.p0 / float(s["patch"][0][0]),
            0.002,
            "as above",
            rate=ENERGY_RATE,
        ),
        Quantity(
            "side force over resultant",
            "",
            lambda p: 0.0,
            lambda s, p: float(np.abs(s["patch"][0][1:]).max() / _seat(p)),
            1e-9,
            "symmetry",
        ),
        Quantity(
            "axial moment over resultant times radius",
            "",
            lambda p: 0.0,
            lambda s, p: float(abs(s["patch"][1][2]) / (_seat(p) * p.b)),
            1e-9,
            "symmetry; the pressure points at the axis",
        ),
        Quantity(
            "resultant of a cosine over the whole half",
            "N",
            lambda p: pi / 2.0 * p.p0 * p.b * p.t,
            lambda s, p: -float(s["bearing"][0][0]),
            0.002,
            "only the curved faces and the integration of the cosine are inexact",
            rate=ENERGY_RATE,
        ),
    ],
)


CASES = (P27,)
