"""The cornering case on the whole wheel by NGSolve, a compiled general-purpose library.

Second-order tetrahedra on the mesh it is given, its own assembly and its own sparse
Cholesky.
The library knows no rigid coupling behind the factor, so the same algebra is put on
top: flange and attachment face are held, and the six rigid motions of the face are
found from six more right-hand sides.

References
----------
Schöberl, C++11 implementation of finite elements in NGSolve, ASC Report 30/2014, TU
Wien (from memory).
"""

import ngsolve as ng
import numpy as np
from netgen.meshing import Mesh as RawMesh

from spokecheck.cases.loadcase import LoadCase
from spokecheck.fem.cyclic import rigid_field
from spokecheck.units import ComplexArray, FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.tables.surface_names import ATTACHMENT, FLANGES
from tests.bench.measure import Clock
from tests.bench.models import ALUMINIUM

HELD, RIGID, REST = "held", "rigid", "rest"


def solve_theirs(
    wheel: Wheel, case: LoadCase, clock: Clock, threads: int
) -> tuple[ComplexArray, IntArray]:
    """Displacement at the corner points of a whole wheel, and the times.

    Parameters
    ----------
    wheel : Wheel
        Whole, with straight cells.
    case : LoadCase
        Cornering.
    clock : Clock
        Told the times.
    threads : int
        Threads of the library.

    Returns
    -------
    u : ndarray (n_corners, 3)
        Complex displacement [mm].
    corners : ndarray (n_corners,)
        The points it belongs to.
    """
    ng.SetNumThreads(threads)
    mesh, corners = _their_mesh(wheel)
    with ng.TaskManager(), clock.time("assembly"):
        space = ng.H1(mesh, order=2, dim=3, dirichlet=f"{HELD}|{RIGID}")
        form = ng.BilinearForm(space, symmetric=True)
        form += _energy(space)
        form.Assemble()
    with ng.TaskManager(), clock.time("elimination order, factor"):
        inverse = form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
    with ng.TaskManager(), clock.time("solve"):
        u = _rigid_solution(wheel, case, corners, form.mat, inverse)
    return u, corners


def _energy(space: ng.H1) -> ng.comp.SumOfIntegrals:
    u, v = space.TnT()
    lam, mu = ALUMINIUM.lame
    strain, virtual = (0.5 * (ng.Grad(w) + ng.Grad(w).trans) for w in (u, v))
    stress = 2.0 * mu * strain + lam * ng.Trace(strain) * ng.Id(3)
    return ng.InnerProduct(stress, virtual) * ng.dx


def _their_mesh(wheel: Wheel) -> tuple[ng.Mesh, IntArray]:
    """Their mesh of the corner points, and which points those are."""
    mesh = wheel.mesh
    corners = np.unique(mesh.cells[:, :4])
    number = np.full(mesh.n_points, -1, dtype=np.int32)
    number[corners] = np.arange(len(corners))
    raw = RawMesh(dim=3)
    raw.AddPoints(np.ascontiguousarray(mesh.points[corners]))
    raw.AddElements(
        dim=3, index=raw.AddRegion("solid", dim=3), data=number[mesh.cells[:, :4]]
    )
    named = {FLANGES["inboard"]: HELD, ATTACHMENT: RIGID}
    for name in (HELD, RIGID, REST):
        mine = [s for s in mesh.surfaces if named.get(s, REST) == name]
        faces = np.ascontiguousarray(number[mesh.faces(mine)[:, :3]])
        raw.AddElements(dim=2, index=raw.AddRegion(name, dim=2), data=faces)
    return ng.Mesh(raw), corners


def _rigid_solution(
    wheel: Wheel,
    case: LoadCase,
    corners: IntArray,
    A: ng.BaseMatrix,
    inverse: ng.BaseMatrix,
) -> ComplexArray:
    """Rigid face under force and moment: a small system behind the factor."""
    (coupling,), load = case.supports.couplings, case.loads[0]
    points = wheel.mesh.points[corners]
    on_face = np.isin(corners, coupling.nodes)
    motions = [np.stack([v, 0 * v]) for v in np.eye(3)]
    motions += [np.stack([0 * v, v]) for v in np.eye(3)]
    columns, forces = [], []
    for motion in motions:
        moved = A.CreateColVector()
        values = rigid_field(points, motion, coupling.centre).real
        moved.FV().NumPy()[:] = 0.0
        block = moved.FV().NumPy().reshape(-1, 3)  # edge terms of a linear field are 0
        block[: len(corners)][on_face] = values[on_face]
        force = A.CreateColVector()
        force.data = A * moved
        moved.data -= inverse * force
        force.data = A * moved
        columns.append(moved.FV().NumPy().copy())
        forces.append(force.FV().NumPy().copy())
    small = np.array(columns) @ np.array(forces).T
    drive = np.concatenate([load.force, load.moment])
    amplitudes = np.linalg.solve(small, drive)
    return _at_corners(np.array(columns), amplitudes, len(corners))


def _at_corners(
    columns: FloatArray, amplitudes: ComplexArray, n_corners: int
) -> ComplexArray:
    return (amplitudes @ columns).reshape(-1, 3)[:n_corners]
