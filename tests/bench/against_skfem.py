"""Order 0 on one sector by scikit-fem and a direct solver of SciPy.

The library assembles the sector on its own numbering; the condition of order 0 on the
two cuts is written as a sparse matrix by hand, as a user of these libraries would.

References
----------
Gustafsson, McBain, scikit-fem: A Python package for finite element assembly, J. Open
Source Softw. 5 (2020) 2369 (from memory).
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree
from skfem import Basis, BilinearForm, ElementTetP2, ElementVector, MeshTet
from skfem.helpers import ddot, eye, sym_grad, trace

from spokecheck.cases.loadcase import LoadCase
from spokecheck.cases.radial import AIR_SIDE
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.loads import pressure_forces
from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.units import FloatArray, IntArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.tables.surface_names import ATTACHMENT
from tests.bench.measure import Clock
from tests.bench.models import ALUMINIUM

SOLVERS = {
    "default": {},
    "symmetric": {
        "permc_spec": "MMD_AT_PLUS_A",
        "diag_pivot_thresh": 0.0,
        "options": {"SymmetricMode": True},
    },
}
"""SuperLU as it comes, and told that the matrix is symmetric, which is faster."""


@BilinearForm
def _energy(u, v, _):
    lam, mu = ALUMINIUM.lame
    strain, virtual = sym_grad(u), sym_grad(v)
    return ddot(2.0 * mu * strain + lam * eye(trace(strain), 3), virtual)


@dataclass(frozen=True)
class Numbering:
    """Where our degrees of freedom stand in the library's matrices."""

    basis: Basis
    column: IntArray


def inflation(wheel: Wheel) -> LoadCase:
    """Order 0: 1 MPa on the air side, the attachment face held."""
    mesh = wheel.mesh
    held = np.zeros((mesh.n_points, 3), dtype=bool)
    held[mesh.nodes(ATTACHMENT)] = True
    nodal = pressure_forces(mesh, mesh.faces(AIR_SIDE), 1.0).astype(complex)
    none = np.zeros(3, dtype=complex)
    load = OrderLoad(0, nodal, none, none)
    return LoadCase("inflation", Supports(held), (load,), 1.0)


def their_model(wheel: Wheel) -> Numbering:
    """Their basis on the sector's corners; not timed, a user would have meshed so."""
    mesh = wheel.mesh
    corners, number = np.unique(mesh.cells[:, :4], return_inverse=True)
    cells = np.ascontiguousarray(number.reshape(-1, 4).T)
    flat = MeshTet(np.ascontiguousarray(mesh.points[corners].T), cells)
    basis = Basis(flat, ElementVector(ElementTetP2()), intorder=2)
    kind = np.empty(basis.N, dtype=np.int64)
    for rows in (basis.nodal_dofs, basis.edge_dofs):
        for component, dofs in enumerate(rows):
            kind[dofs] = component
    column = np.empty((mesh.n_points, 3), dtype=np.int64)
    for component in range(3):
        mine = np.flatnonzero(kind == component)
        gap, found = cKDTree(basis.doflocs.T[mine]).query(mesh.points)
        if gap.max() > 1e-6:
            raise ValueError(f"no twin for a point: {gap.max():.1e} mm away")
        column[:, component] = mine[found]
    return Numbering(basis, column.ravel())


def solve_with_scipy(
    wheel: Wheel, case: LoadCase, model: Numbering, solver: str, clock: Clock
) -> FloatArray:
    """Displacement (n_points, 3) [mm] of order 0, and the times.

    Assembly, the cut condition and the solution are timed.
    """
    with clock.time("assembly"):
        K = _energy.assemble(model.basis).tocsr()
    with clock.time("supports and cuts"):
        T = _independent(wheel, case.supports.held)
        into = sp.csr_array(
            (np.ones(K.shape[0]), (model.column, np.arange(K.shape[0]))), K.shape
        )
        T = into @ T
        reduced = (T.T @ K @ T).tocsc()
        f = np.empty(K.shape[0])
        f[model.column] = case.loads[0].nodal.real.ravel()
    with clock.time("factor and solve"):
        q = splu(reduced, **SOLVERS[solver]).solve(T.T @ f)
    return (T @ q)[model.column].reshape(-1, 3)


def _independent(wheel: Wheel, held: IntArray) -> sp.csr_array:
    """From independent to all components: turned copies on the high cut."""
    low, high = wheel.cyclic.pairs.T
    n = 3 * wheel.mesh.n_points
    follows = np.zeros_like(held)
    follows[high] = True
    own = np.flatnonzero(~follows.ravel())
    R = rotation(wheel.cyclic.alpha)
    i, j = (axis.ravel() for axis in np.meshgrid(range(3), range(3), indexing="ij"))
    row = np.r_[own, (3 * high[:, None] + i).ravel()]
    col = np.r_[own, (3 * low[:, None] + j).ravel()]
    value = np.r_[np.ones(len(own)), np.tile(R[i, j], len(high))]
    T = sp.csr_array((value, (row, col)), shape=(n, n))
    return sp.csr_array(T[:, np.flatnonzero(~held.ravel() & ~follows.ravel())])
