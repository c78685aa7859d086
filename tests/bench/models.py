"""The wheel that both sides solve: a sector, its copies, straight cells.

Straight cells, mid-side points in the middle of their edges, so that every library sees
the very same geometry without knowing how another one draws a curve.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.loadcase import LoadCase
from spokecheck.cases.radial import radial_case
from spokecheck.fem.assembly import assemble_stiffness
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.fem.elasticity import Material
from spokecheck.fem.ordering import elimination_rank
from spokecheck.fem.reduction import reduce_stiffness
from spokecheck.fem.solve import solve_orders
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.units import ComplexArray, IntArray
from spokecheck.wheel.build import Wheel, build_wheel
from spokecheck.wheel.read import read_design
from spokecheck.wheel.sizing import Fineness
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


def whole(wheel: Wheel) -> tuple[Wheel, IntArray]:
    """The whole wheel from copies of its sector, and each copy's point numbers."""
    mesh, cyclic = wheel.mesh, wheel.cyclic
    n, count = mesh.n_points, cyclic.count
    same = np.arange(count * n)
    for k in range(count):
        after = (k + 1) % count
        same[k * n + cyclic.pairs[:, 1]] = after * n + cyclic.pairs[:, 0]
    while not np.array_equal(same[same], same):
        same = same[same]
    used, number = np.unique(same, return_inverse=True)
    number = number.reshape(count, n)
    turned = [mesh.points @ rotation(k * cyclic.alpha).T for k in range(count)]
    surfaces = {
        name: np.vstack([copy[faces] for copy in number])
        for name, faces in mesh.surfaces.items()
        if not name.startswith("cut ")
    }
    cells = np.vstack([copy[mesh.cells] for copy in number])
    joined = Mesh(np.vstack(turned)[used], cells, surfaces)
    return replace(wheel, mesh=joined, cyclic=Cyclic()), number


def cornering(wheel: Wheel) -> LoadCase:
    """The cornering case: one flange held, the attachment face rigid and turned."""
    return cornering_case(wheel, MOMENT)


def drum(wheel: Wheel) -> LoadCase:
    """The radial case: a dozen orders of the tyre's patch, and inflation."""
    return radial_case(wheel, FORCE)


def solve_ours(wheel: Wheel, case: LoadCase, clock: Clock) -> ComplexArray:
    """Displacement (n_orders, n_points, 3) [mm] of all orders of a case, and the times.

    From the mesh to the displacement: element matrices, elimination order, supports,
    factor, solution; no stress.
    """
    mesh, cyclic = wheel.mesh, wheel.cyclic
    with clock.time("assembly"):
        K = assemble_stiffness(mesh, ALUMINIUM)
    with clock.time("elimination order"):
        rank = elimination_rank(K, cyclic)
    with clock.time("supports and cuts"):
        reduction = reduce_stiffness(K, mesh.points, case.supports, cyclic, rank)
    with clock.time("factor and solve"):
        return solve_orders(reduction, case.loads).u
