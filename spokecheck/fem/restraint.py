"""All supports of a body gathered: held components, springs, the rigid part.

References
----------
Cook, Malkus, Plesha, Witt, Concepts and Applications of Finite Element Analysis,
4th ed., secs. 8.3 and 13.1 (constraints, skew supports; from memory).
Hetényi, Beams on Elastic Foundation, 1946, for springs by area (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.constraints import free_motions, gather_constraints
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.fem.loads import sample_faces
from spokecheck.fem.orders import Coupling, Springs, Supports
from spokecheck.fem.supports import AnySupport, Foundation, RigidPart, select
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, FloatArray


@dataclass(frozen=True)
class Restraint:
    """What supports a body, in the solver's terms.

    Attributes
    ----------
    supports : Supports
        Held components in the points' own frames, springs, the rigid part.
    prescribed : ndarray (n_points, 3)
        Prescribed displacement [mm] in x, y, z, zero along what is free.
    resistance : ndarray (n_points, 3, 3)
        Sum of d d^T over the directions that something resists at each point.
    """

    supports: Supports
    prescribed: FloatArray
    resistance: FloatArray

    def free_motions(self, points: FloatArray, cyclic: Cyclic) -> list[str]:
        """Rigid motions of the whole body that nothing resists, in words."""
        turns = [rotation(k * cyclic.alpha) for k in range(cyclic.count)]
        everywhere = np.vstack([points @ R.T for R in turns])
        resistance = np.vstack([R @ self.resistance @ R.T for R in turns])
        return free_motions(everywhere, resistance)


def gather_restraint(mesh: Mesh, supports: Sequence[AnySupport]) -> Restraint:
    """Gather all supports of a body.

    Parameters
    ----------
    mesh : Mesh
        The body, or one sector of it.
    supports : sequence of AnySupport
        Prescribed displacements, foundations, at most one rigid part.

    Returns
    -------
    Restraint

    Raises
    ------
    ModelError
        If two supports contradict each other, or there are several rigid parts.
    """
    constraints = gather_constraints(mesh, supports)
    springs, resistance = _foundation_springs(mesh, supports)
    solver_supports = Supports(
        constraints.held,
        _coupling(mesh, supports, constraints.held),
        constraints.frames if constraints.turned else None,
        springs,
    )
    total = constraints.resistance + resistance
    return Restraint(solver_supports, constraints.values, total)


def _coupling(
    mesh: Mesh, supports: Sequence[AnySupport], held: BoolArray
) -> Coupling | None:
    """Points and centre of the rigid part, if there is one."""
    rigid = [s for s in supports if isinstance(s, RigidPart)]
    if not rigid:
        return None
    if len(rigid) > 1:
        raise ModelError(f"{len(rigid)} rigid parts: at most one; unite their points")
    nodes = select(mesh, rigid[0].where)
    if held[nodes].any():
        raise ModelError(
            "rigid part: some of its points are held as well; let go of them, or "
            "prescribe the motion with move_rigidly"
        )
    return Coupling(nodes, np.asarray(rigid[0].centre, dtype=float))


def _foundation_springs(
    mesh: Mesh, supports: Sequence[AnySupport]
) -> tuple[Springs | None, FloatArray]:
    """Springs of all foundations, and the directions they resist at each point."""
    rows, columns, blocks = [], [], []
    resistance = np.zeros((mesh.n_points, 3, 3))
    for support in supports:
        if not isinstance(support, Foundation):
            continue
        s = sample_faces(mesh.points, mesh.faces(support.where))
        area = np.linalg.norm(s.areas, axis=-1)
        n = s.areas / area[..., None]
        # K_aibj = k sum_q N_a N_b n_i n_j dA over each face
        k = support.stiffness * np.einsum(
            "qa,qb,fq,fqi,fqj->fabij", s.values, s.values, area, n, n, optimize=True
        )
        rows.append(np.repeat(s.faces, 6, axis=1).ravel())
        columns.append(np.tile(s.faces, 6).ravel())
        blocks.append(k.reshape(-1, 3, 3))
        along = np.einsum("fqi,fqj->fij", n, n)[:, None].repeat(6, axis=1)
        np.add.at(resistance, s.faces, along)
    if not rows:
        return None, resistance
    springs = Springs(*(np.concatenate(part) for part in (rows, columns, blocks)))
    return springs, resistance
