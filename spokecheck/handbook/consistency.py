"""A lobed disc under a turning load: identities that need no outside value.

The disc is a structured ring whose thickness and outer radius go up and down N times.
It is solved whole, under steady loads, and on one sector, in Fourier orders; both must
give the same stress.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, pi, radians, sin

import numpy as np
from scipy.spatial import cKDTree

from spokecheck.fem.actions import on_rigid, pressure
from spokecheck.fem.body import Body, respond
from spokecheck.fem.cyclic import cyclic_from_faces, rotation, stress_rotation
from spokecheck.fem.elasticity import Material
from spokecheck.fem.orders import Coupling, OrderLoad, Supports
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_cases
from spokecheck.fem.supports import AnySupport, RigidPart, fix
from spokecheck.handbook.case import (
    Case,
    Parameter,
    Quantity,
    Study,
    Values,
    aluminium,
)
from spokecheck.mesh.blocks import block, turned_copies
from spokecheck.mesh.parts import named
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray, FloatArray, IntArray

FAMILY = "turning loads"
HUB, RIM, THICK = 30.0, 100.0, 10.0
"""Hub radius, mean rim radius and mean thickness [mm]; invented."""

THIRD = 37.0
"""Direction of the third load [deg], away from any symmetry."""


def lobed_sector(count: int, n: int) -> Mesh:
    """One of ``count`` equal sectors of the lobed disc, from the x axis on.

    Returns
    -------
    Mesh
        Surfaces hub, rim, low and high (the cuts), bottom and top.
    """
    alpha = 2.0 * pi / count

    def lobes(x: FloatArray) -> FloatArray:
        wave = np.cos(2.0 * pi * x[:, 1])
        outer = RIM * (1.0 + 0.06 * wave)
        r = HUB + x[:, 0] * (outer - HUB)
        height = THICK * (1.0 + 0.3 * wave * x[:, 0])
        angle = alpha * x[:, 1] + 0.15 * x[:, 0]
        z = (x[:, 2] - 0.5) * height + 8.0 * x[:, 0] ** 2
        return np.column_stack([r * np.cos(angle), r * np.sin(angle), z])

    cells = (2 * n + 1, 2 * n, n)
    return block(lobes, cells, named("hub", "rim", "low", "high", "bottom", "top"))


@dataclass(frozen=True)
class Turned:
    """Stress of a disc under three directions of one load, and of a far load turned.

    Attributes
    ----------
    mesh : Mesh
        The whole disc.
    cases : dict of str to Solution
        Moment on the hub at 0, 90, ``THIRD`` degrees and one sector further.
    """

    mesh: Mesh
    cases: dict[str, Solution]


def _whole(p: Values, sector: Mesh, count: int) -> tuple[Turned, dict[str, Solution]]:
    whole = turned_copies(sector, count, 2.0 * pi / count)
    body = Body(whole, Material(E=p.E, nu=p.nu))
    alpha = 360.0 / count
    directions = {"cos": 0.0, "sin": 90.0, "third": THIRD, "next": THIRD + alpha}
    moments = {
        name: [on_rigid(moment=(p.M * cos(t), p.M * sin(t), 0.0))]
        for name, t in ((k, radians(v)) for k, v in directions.items())
    }
    clamped: list[AnySupport] = [fix("rim"), RigidPart("hub", (0.0, 0.0, 0.0))]
    turned = Turned(whole, solve_cases(body, clamped, moments))
    bumps = {
        name: [pressure("rim", _bump(radians(THIRD + k * alpha)))]
        for k, name in enumerate(("bump", "bump next"))
    }
    return turned, solve_cases(body, [fix("hub")], bumps)


def _bump(direction: float) -> Callable[[FloatArray], FloatArray]:
    """Smooth radial pressure [MPa] around one direction."""

    def press(x: FloatArray) -> FloatArray:
        return np.exp(4.0 * (np.cos(np.arctan2(x[:, 1], x[:, 0]) - direction) - 1.0))

    return press


def _one_sector(p: Values, sector: Mesh, count: int) -> ComplexArray:
    """Recovered complex stress (n_points, 6) of order one on one sector."""
    cyclic = cyclic_from_faces(sector, count, "low", "high")
    held = np.zeros(sector.points.shape, dtype=bool)
    held[sector.nodes("rim")] = True
    hub = Coupling(sector.nodes("hub"), np.zeros(3))
    none = np.zeros(sector.points.shape, dtype=complex)
    moment = np.array([p.M, 1.0j * p.M, 0.0], dtype=np.complex128)
    load = OrderLoad(1, none, np.zeros(3, dtype=complex), moment)
    body = Body(sector, Material(E=p.E, nu=p.nu), cyclic=cyclic)
    return np.asarray(respond(body, Supports(held, (hub,)), [load]).stress[0])


def _solve(p: Values, n: int) -> Study:
    count = int(p.N)
    sector = lobed_sector(count, n)
    turned, bumps = _whole(p, sector, count)
    _, home = cKDTree(turned.mesh.points).query(sector.points)
    cases = {name: s.recovered_stress for name, s in turned.cases.items()}
    return {
        "solution": turned.cases["third"],
        "cases": cases,
        "bumps": {name: s.stress for name, s in bumps.items()},
        "order one": _one_sector(p, sector, count),
        "home": home,
        "image": _images(turned.mesh, 2.0 * pi / count),
    }


def _images(mesh: Mesh, angle: float) -> IntArray:
    """Number of the point to which each point turns."""
    turned = mesh.points @ rotation(angle).T
    return np.asarray(cKDTree(mesh.points).query(turned)[1])


def _relative(gap: FloatArray, size: FloatArray) -> float:
    return float(np.abs(gap).max() / np.abs(size).max())


def _third_direction(s: Study, p: Values) -> float:
    c, d = cos(radians(THIRD)), sin(radians(THIRD))
    cases = s["cases"]
    return _relative(
        c * cases["cos"] + d * cases["sin"] - cases["third"], cases["third"]
    )


def _turned_gap(first: FloatArray, second: FloatArray, s: Study, p: Values) -> float:
    """Gap between a field turned by one sector and the field of the turned load."""
    T = stress_rotation(rotation(2.0 * pi / int(p.N)))
    return _relative(second[s["image"]] - first @ T.T, first)


def _amplitude_gap(s: Study, p: Values) -> float:
    """Gap between sqrt(cos^2 + sin^2) of the whole and the size of order one."""
    cases, home = s["cases"], s["home"]
    whole = np.hypot(cases["cos"][home], cases["sin"][home])
    return _relative(whole - np.abs(s["order one"]), whole)


def _sector_gap(s: Study, p: Values) -> float:
    """Gap between whole disc and one sector at the third direction."""
    order = s["order one"] * np.exp(-1j * radians(THIRD))
    whole = s["cases"]["third"]
    return _relative(whole[s["home"]] - order.real, whole)


def _gap(
    name: str, measure: Callable[[Study, Values], float], tolerance: float, why: str
) -> Quantity:
    return Quantity(name, "", lambda p: 0.0, measure, tolerance, why)


P39 = Case(
    id="p39",
    slug="turning-load",
    family=FAMILY,
    title="A lobed disc under a turning moment: whole and by sector",
    statement=(
        "N equal sectors, invented shape; rim fixed, a moment M on the rigid hub about "
        "a turning axis; then the hub fixed and a pressure bump on the rim."
    ),
    source="identities of Fourier series and of rotational symmetry; Thomas 1979",
    basis="computed",
    parameters=[
        Parameter("N", 5.0, "", "number of sectors", 2.5, 12.5),
        Parameter("M", 1.0e6, "N mm", "moment"),
        *aluminium(),
    ],
    solve=_solve,
    quantities=[
        _gap(
            "third direction from two",
            _third_direction,
            1e-8,
            "superposition: only rounding",
        ),
        _gap(
            "load and field turned by one sector",
            lambda s, p: _turned_gap(s["cases"]["third"], s["cases"]["next"], s, p),
            1e-7,
            "the mesh has the symmetry: only rounding",
        ),
        _gap(
            "amplitude over a turn, whole against sector",
            _amplitude_gap,
            1e-7,
            "each component is a sine of amplitude sqrt(c^2 + s^2)",
        ),
        _gap(
            "rim load turned by one sector",
            lambda s, p: _turned_gap(s["bumps"]["bump"], s["bumps"]["bump next"], s, p),
            1e-7,
            "the mesh has the symmetry: only rounding",
        ),
        _gap(
            "one sector against the whole disc",
            _sector_gap,
            1e-7,
            "the same equations in another basis: only rounding",
        ),
    ],
    refinements=(1, 2, 3),
    check=lambda p: [] if p.N == int(p.N) else [f"N = {p.N:g}: must be a whole number"],
)

CASES = (P39,)
