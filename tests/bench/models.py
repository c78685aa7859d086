"""The wheel that both sides solve: a sector, its copies, straight cells.

Straight cells, mid-side points in the middle of their edges, so that every library sees
the very same geometry without knowing how another one draws a curve.
"""

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.loadcase import LoadCase
from spokecheck.cases.radial import radial_case
from spokecheck.fem.assembly import cell_lame, stiffness_blocks
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.dissection import dissect
from spokecheck.fem.elasticity import Material
from spokecheck.fem.joined import join
from spokecheck.fem.joined_stiffness import make_joined_stiffness
from spokecheck.fem.sector import solve_sector
from spokecheck.fem.stiffness import Stiffness
from spokecheck.fem.whole import copied_round
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.units import ComplexArray, IntArray
from spokecheck.wheel.build import Wheel, build_wheel
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.tables.design import Design
from tests.bench.measure import ROOT, Clock

FIVE = ROOT / "meshes/designs/aspen-cast-5.toml"
ALUMINIUM = Material(E=70000.0, nu=0.33)
MOMENT, FORCE = 3.0e6, 16000.0
"""Cornering moment [N mm] and drum load [N]."""


def sector(fineness: float, design: Path = FIVE) -> Wheel:
    """One meshed sector of a design, with straight cells."""
    wheel = build_wheel(read_design(design), Fineness(fineness))
    return replace(wheel, mesh=straight(wheel.mesh))


def straight(mesh: Mesh) -> Mesh:
    """The same mesh with every mid-side point in the middle of its edge."""
    points = mesh.points.copy()
    ends = mesh.points[mesh.cells[:, :4][:, TET_EDGES]]
    points[mesh.cells[:, 4:]] = ends.mean(axis=2)
    return replace(mesh, points=points)


def two_parts(design: Path, spokes: int, bolts: int) -> Wheel:
    """A design of other numbers, joined of two parts, with straight cells."""
    raw = tomllib.loads(design.read_text(encoding="utf-8"))
    raw["spokes"]["count"], raw["bolts"]["count"] = spokes, bolts
    wheel = build_wheel(Design(**raw))
    if wheel.joined is None:
        raise ValueError(f"{design.stem}, {spokes} on {bolts}: {wheel.way.reason}")
    outer, inner = (
        replace(part.sector, mesh=straight(part.sector.mesh))
        for part in wheel.joined.parts
    )
    joined = join(outer, inner, wheel.joined.parts[1].first)
    return replace(wheel, mesh=joined.mesh, cyclic=joined.cyclic, joined=joined)


def solve_joined(wheel: Wheel, case: LoadCase, clock: Clock) -> ComplexArray:
    """As ``solve_ours``, for a wheel joined of two parts."""
    assert wheel.joined is not None
    with clock.time("elimination order, assembly"):
        lame = cell_lame(wheel.mesh, ALUMINIUM)
        ready = make_joined_stiffness(wheel.joined, lame)
    with clock.time("factor and solve"):
        points, cyclic = wheel.mesh.points, wheel.cyclic
        return solve_sector(ready, points, cyclic, case.supports, case.loads).u


def whole(wheel: Wheel) -> tuple[Wheel, IntArray]:
    """The whole wheel from copies of its sector, and each copy's point numbers."""
    copied = copied_round(wheel.mesh, wheel.cyclic)
    return replace(wheel, mesh=copied.mesh, cyclic=Cyclic()), copied.number


def cornering(wheel: Wheel) -> LoadCase:
    """The cornering case: one flange held, the attachment face rigid and turned."""
    return cornering_case(wheel, MOMENT)


def drum(wheel: Wheel) -> LoadCase:
    """The radial case: a dozen orders of the tyre's patch, and inflation."""
    return radial_case(wheel, FORCE)


def solve_ours(wheel: Wheel, case: LoadCase, clock: Clock) -> ComplexArray:
    """Displacement (n_orders, n_points, 3) [mm] of all orders of a case, and the times.

    From the mesh to the displacement: elimination order, element matrices and their
    sum, factor, solution, as ``make_body`` and ``respond`` do it; no stress.
    """
    mesh, cyclic = wheel.mesh, wheel.cyclic
    with clock.time("elimination order"):
        order = dissect(mesh.cells, mesh.n_points, np.unique(cyclic.pairs))
    with clock.time("assembly"):
        points = np.empty_like(mesh.points)
        points[order.position] = mesh.points
        numbered = Mesh(points, order.position[mesh.cells])
        pairs = stiffness_blocks(numbered, cell_lame(numbered, ALUMINIUM))
    with clock.time("factor and solve"):
        ready = Stiffness(pairs, order)
        return solve_sector(ready, mesh.points, cyclic, case.supports, case.loads).u
