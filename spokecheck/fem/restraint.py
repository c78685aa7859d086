"""All supports of a body gathered: held components, springs, rigid parts.

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
from spokecheck.fem.supports import (
    AnySupport,
    Foundation,
    RigidPart,
    select,
    vector,
)
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, FloatArray


@dataclass(frozen=True)
class Restraint:
    """What supports a body, in the solver's terms.

    Attributes
    ----------
    supports : Supports
        Held components in the points' own frames, springs, rigid parts.
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
        Prescribed displacements, foundations, rigid parts.

    Returns
    -------
    Restraint

    Raises
    ------
    ModelError
        If two supports contradict each other, or rigid parts share points or a name.
    """
    constraints = gather_constraints(mesh, supports)
    springs, resistance = _foundation_springs(mesh, supports)
    solver_supports = Supports(
        constraints.held,
        _couplings(mesh, supports, constraints.held),
        constraints.frames if constraints.turned else None,
        springs,
    )
    total = constraints.resistance + resistance
    return Restraint(solver_supports, constraints.values, total)


def rigid_parts(supports: Sequence[AnySupport]) -> list[RigidPart]:
    """The rigid parts among some supports, in their order."""
    return [support for support in supports if isinstance(support, RigidPart)]


def numbered_part(parts: Sequence[RigidPart], name: str) -> int:
    """Number of the rigid part of a name; the only one has no need of it.

    Raises
    ------
    ModelError
        If there is none of that name.
    """
    names = [part.name for part in parts]
    if name in names:
        return names.index(name)
    if not name and len(parts) == 1:
        return 0
    there = ", ".join(repr(other) for other in names) or "none; add a RigidPart"
    raise ModelError(f"rigid part {name!r}: not in this model, which has {there}")


def _couplings(
    mesh: Mesh, supports: Sequence[AnySupport], held: BoolArray
) -> tuple[Coupling, ...]:
    """Points and centres of the rigid parts."""
    parts = rigid_parts(supports)
    names = [part.name for part in parts]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ModelError(
            f"{len(parts)} rigid parts, several named {twice[0]!r}: give each a name"
        )
    couplings, taken = list[Coupling](), np.zeros(mesh.n_points, dtype=bool)
    for part in parts:
        nodes = select(mesh, part.where)
        if held[nodes].any():
            raise ModelError(
                "rigid part: some of its points are held as well; let go of them, or "
                "prescribe the motion with move_rigidly"
            )
        if taken[nodes].any():
            raise ModelError(
                f"rigid part {part.name!r}: shares points with another; unite the two"
            )
        taken[nodes] = True
        couplings.append(Coupling(nodes, vector(part.centre, "centre")))
    return tuple(couplings)


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
