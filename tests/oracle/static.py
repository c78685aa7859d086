"""Own load cases by the sparse factor: oblique supports, springs, rigid parts."""

from collections.abc import Mapping, Sequence

import numpy as np
import scipy.sparse as sp

from spokecheck.fem.actions import Load, RigidLoad
from spokecheck.fem.assembly import assemble_stiffness
from spokecheck.fem.body import Body
from spokecheck.fem.constraints import Constraints, gather_constraints
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.loads import sample_faces
from spokecheck.fem.orders import Coupling, OrderLoad, Supports
from spokecheck.fem.solution import nodal_forces
from spokecheck.fem.supports import AnySupport, Foundation, RigidPart, select
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray, FloatArray
from tests.oracle.ordering import elimination_rank
from tests.oracle.reduction import Reduction, reduce_stiffness
from tests.oracle.solve import solve_orders


def solve_cases(
    body: Body, supports: Sequence[AnySupport], cases: Mapping[str, Sequence[Load]]
) -> dict[str, FloatArray]:
    """Displacement (n_points, 3) [mm] of each load case of a whole body."""
    mesh, constraints = body.mesh, gather_constraints(body.mesh, supports)
    K = assemble_stiffness(mesh, body.material, dict(body.zones))
    K = K + foundations(mesh, supports)
    turn = _turning(constraints)
    reduction = _reduce(mesh, K, turn, constraints, supports)
    carried = K @ constraints.values.ravel()
    orders = []
    for loads in cases.values():
        forces = turn.T @ (nodal_forces(body, loads).ravel() - carried)
        nodal = forces.reshape(-1, 3).astype(complex)
        orders.append(OrderLoad(0, nodal, *_on_rigid(loads)))
    return {
        name: (turn @ local.real.ravel()).reshape(-1, 3) + constraints.values
        for name, local in zip(cases, solve_orders(reduction, orders).u, strict=True)
    }


def foundations(mesh: Mesh, supports: Sequence[AnySupport]) -> sp.csr_array:
    """Stiffness (3 n_points, 3 n_points) of all foundations."""
    size = 3 * mesh.n_points
    total = sp.csr_array((size, size))
    for support in supports:
        if isinstance(support, Foundation):
            s = sample_faces(mesh.points, mesh.faces(support.where))
            area = np.linalg.norm(s.areas, axis=-1)
            n = s.areas / area[..., None]
            k = support.stiffness * np.einsum(
                "qa,qb,fq,fqi,fqj->faibj", s.values, s.values, area, n, n
            )
            dofs = (3 * s.faces[:, :, None] + np.arange(3)).reshape(len(s.faces), -1)
            rows = np.repeat(dofs, 18, axis=1).ravel()
            entries = (k.ravel(), (rows, np.tile(dofs, 18).ravel()))
            total = total + sp.csr_array(sp.coo_array(entries, shape=(size, size)))
    return total


def _turning(constraints: Constraints) -> sp.csr_array:
    """Block-diagonal matrix from the points' own frames to space."""
    n = len(constraints.frames)
    blocks = (constraints.frames, np.arange(n), np.arange(n + 1))
    return sp.csr_array(sp.bsr_array(blocks).tocsr())


def _reduce(
    mesh: Mesh,
    K: sp.csr_array,
    turn: sp.csr_array,
    constraints: Constraints,
    supports: Sequence[AnySupport],
) -> Reduction:
    """Reduced stiffness in the points' own frames."""
    couplings = ()
    for support in supports:
        if isinstance(support, RigidPart):
            nodes = select(mesh, support.where)
            couplings = (Coupling(nodes, np.asarray(support.centre, dtype=float)),)
    held = Supports(constraints.held, couplings)
    rank = elimination_rank(K, Cyclic())
    local = sp.csr_array(turn.T @ K @ turn)
    return reduce_stiffness(local, mesh.points, held, Cyclic(), rank)


def _on_rigid(loads: Sequence[Load]) -> tuple[ComplexArray, ComplexArray]:
    """Force and moment on the rigid part."""
    on_it = [load for load in loads if isinstance(load, RigidLoad)]
    force = sum((load.force for load in on_it), np.zeros(3))
    moment = sum((load.moment for load in on_it), np.zeros(3))
    return force.astype(complex), moment.astype(complex)
