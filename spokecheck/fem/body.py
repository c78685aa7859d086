"""An elastic body made ready once, then loaded as often as wanted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.assembly import cell_lame
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.joined import Joined
from spokecheck.fem.joined_stiffness import JoinedStiffness, make_joined_stiffness
from spokecheck.fem.orders import (
    Displacements,
    OrderLoad,
    Supports,
    whole_body_resultant,
)
from spokecheck.fem.recovery import Recovery, patch_recovery
from spokecheck.fem.sector import SectorSolver
from spokecheck.fem.stiffness import Stiffness, make_stiffness
from spokecheck.fem.stress import cell_stress
from spokecheck.mesh.record import Mesh
from spokecheck.units import BoolArray, ComplexArray, FloatArray, IntArray


@dataclass(frozen=True)
class Elastic:
    """Elastic constants of the cells of a mesh.

    Attributes
    ----------
    lame : tuple of ndarray (n_cells,)
        Lamé constants [MPa].
    groups : ndarray (n_cells,) or None
        Number of each cell's material, the base one first; None if all are alike.
    """

    lame: tuple[FloatArray, FloatArray]
    groups: IntArray | None

    def of(self, cells: IntArray | BoolArray) -> "Elastic":
        """Constants of some cells, each as often as it is named."""
        groups = None if self.groups is None else self.groups[cells]
        return Elastic((self.lame[0][cells], self.lame[1][cells]), groups)


@dataclass(frozen=True)
class Body:
    """A meshed body: what it is made of, its stiffness, its stress recovery.

    What follows from mesh and material is made when first asked for, and kept.

    Attributes
    ----------
    mesh : Mesh
        One sector, or the whole body.
    material : Material
        Material of all cells outside ``zones``.
    zones : mapping of str to Material
        Other materials by zone name.
    cyclic : Cyclic
        Its symmetry.
    joined : Joined or None
        How the mesh is joined of two parts' sectors, which are then solved in its
        place; None where it is one sector or has no such parts.

    Raises
    ------
    ModelError
        If the mesh has no zone of a name.
    """

    mesh: Mesh
    material: Material
    zones: Mapping[str, Material] = field(default_factory=dict)
    cyclic: Cyclic = field(default_factory=Cyclic)
    joined: Joined | None = None

    def __post_init__(self) -> None:
        unknown = sorted(set(self.zones) - set(self.mesh.zones))
        if unknown:
            names = ", ".join(sorted(self.mesh.zones)) or "no zone"
            raise ModelError(
                f"zone {', '.join(unknown)}: not in this mesh; it has {names}"
            )

    @cached_property
    def elastic(self) -> Elastic:
        """Elastic constants of its cells."""
        lame = cell_lame(self.mesh, self.material, dict(self.zones))
        base = np.array([*self.material.lame, self._bulk_alpha(self.material)])
        constants = np.stack([*lame, self.bulk_alpha], axis=1)
        return Elastic(lame, _groups(constants, base))

    @cached_property
    def bulk_alpha(self) -> FloatArray:
        """(3 lambda + 2 mu) alpha of every cell [MPa/K]."""
        bulk_alpha = np.full(self.mesh.n_cells, self._bulk_alpha(self.material))
        for name, other in self.zones.items():
            bulk_alpha[self.mesh.zones[name]] = self._bulk_alpha(other)
        return bulk_alpha

    @staticmethod
    def _bulk_alpha(material: Material) -> float:
        lam, mu = material.lame
        return (3.0 * lam + 2.0 * mu) * material.alpha

    @cached_property
    def stiffness(self) -> Stiffness | JoinedStiffness:
        """Stiffness without supports, ready to be factored."""
        if self.joined is not None:
            return make_joined_stiffness(self.joined, self.elastic.lame)
        return make_stiffness(self.mesh, self.cyclic, self.elastic.lame)

    @cached_property
    def recovery(self) -> Recovery:
        """Weights of the patch recovery; no patch reaches across two materials."""
        points, cells = self.mesh.points, self.mesh.cells
        return patch_recovery(points, cells, self.cyclic, self.elastic.groups)

    def groups_first(self, group: int) -> IntArray | None:
        """Material numbers of the cells with one group first, None if all are alike."""
        groups = self.elastic.groups
        if groups is None or group == 0:
            return groups
        return np.where(groups == group, 0, groups + 1)


@dataclass(frozen=True)
class Response:
    """What a body does under the orders of one load.

    Attributes
    ----------
    body : Body
    displacements : Displacements
    loads : sequence of OrderLoad
        One for each order.
    """

    body: Body = field(repr=False)
    displacements: Displacements
    loads: Sequence[OrderLoad] = field(repr=False)

    @property
    def orders(self) -> IntArray:
        """Fourier orders (n_orders,)."""
        return self.displacements.orders

    @property
    def reactions(self) -> ComplexArray:
        """Forces of supports, couplings and neighbour sectors [N].

        Shape (n_orders, n_points, 3).
        """
        forces = self.body.stiffness.times(self.displacements.u)
        for total, load in zip(forces, self.loads, strict=True):
            total -= load.nodal
        return forces

    def reactions_at(self, points: IntArray) -> ComplexArray:
        """The same (n_orders, n, 3) at some points (n,), sorted, alone."""
        forces = self.body.stiffness.times_at(self.displacements.u, points)
        for total, load in zip(forces, self.loads, strict=True):
            total -= load.nodal[points]
        return forces

    @cached_property
    def stress(self) -> ComplexArray:
        """Recovered complex stress [MPa], (n_orders, n_points, 6)."""
        mesh, body = self.body.mesh, self.body
        u = self.displacements.u
        raw = cell_stress(mesh.points, mesh.cells, u, body.elastic.lame)
        return body.recovery.nodal(raw, self.orders)


def make_body(
    mesh: Mesh,
    material: Material,
    cyclic: Cyclic | None = None,
    zones: Mapping[str, Material] | None = None,
    joined: Joined | None = None,
) -> Body:
    """Make a body with its stiffness.

    Parameters
    ----------
    mesh : Mesh
        One sector, or the whole body.
    material : Material
        Material outside ``zones``.
    cyclic : Cyclic, optional
        Symmetry of a sector.
    zones : mapping of str to Material, optional
        Other materials by zone name.
    joined : Joined, optional
        How mesh and symmetry are joined of two parts' sectors.

    Returns
    -------
    Body
    """
    body = Body(mesh, material, zones or {}, cyclic or Cyclic(), joined)
    _ = body.stiffness  # made before processes are copied, which all use it
    return body


def _groups(constants: FloatArray, base: FloatArray) -> IntArray | None:
    """Cells by their constants, the base material's first; None if all are alike.

    Parameters
    ----------
    constants : ndarray (n_cells, n_constants)
    base : ndarray (n_constants,)
    """
    _, group = np.unique(constants, axis=0, return_inverse=True)
    if group.max() == 0:
        return None
    return np.where((constants == base).all(axis=1), 0, 1 + group.ravel())


def supported(body: Body, supports: Supports) -> SectorSolver:
    """A body factored under given supports, for one load after the other.

    Raises
    ------
    ModelError
        If the body is free to move.
    """
    return SectorSolver(body.stiffness, body.mesh.points, body.cyclic, supports)


def respond(
    body: Body,
    supports: Supports,
    loads: Sequence[OrderLoad],
    solver: SectorSolver | None = None,
) -> Response:
    """Solve a body under the orders of one load.

    Parameters
    ----------
    body : Body
        Assembled body.
    supports : Supports
        What is held and what is coupled.
    loads : sequence of OrderLoad
        One for each order.
    solver : SectorSolver, optional
        Of the body under these supports, if there is one.

    Returns
    -------
    Response

    Raises
    ------
    ModelError
        If the body is free to move.
    """
    moved = (solver or supported(body, supports)).solve(loads)
    return Response(body, moved, loads)


def balance(
    body: Body, supports: Supports, loads: Sequence[OrderLoad], response: Response
) -> float:
    """Largest misfit of forces and moments, as a share of the load.

    Parameters
    ----------
    body, supports, loads, response
        As given to and returned by ``respond``.

    Returns
    -------
    float
        Over all orders, the norm of (loads + reactions of held points) over the norm of
        what is applied; moments are divided by the body's radius first.
        Rounding for a sound solution.
    """
    points, count = body.mesh.points, body.cyclic.count
    radius = float(np.hypot(points[:, 0], points[:, 1]).max())
    centres = np.array([c.centre for c in supports.couplings]).reshape(-1, 3)
    centre = centres[0] if len(centres) else np.zeros(3)
    held = np.flatnonzero(supports.held.any(axis=1))
    reactions = np.where(supports.held[held], response.reactions_at(held), 0.0)
    worst = 0.0
    for k, load in enumerate(loads):
        applied = whole_body_resultant(points, load.nodal, load.order, count, centre)
        support = whole_body_resultant(
            points[held], reactions[k], load.order, count, centre
        )
        forces, moments = load.on_couplings(len(centres))
        moments = moments + np.cross(centres - centre, forces)
        force = applied[0] + forces.sum(axis=0) + support[0]
        moment = applied[1] + moments.sum(axis=0) + support[1]
        misfit = np.linalg.norm(force) + np.linalg.norm(moment) / radius
        size = np.linalg.norm(forces) + np.linalg.norm(moments) / radius
        size += np.abs(load.nodal).sum() * count
        worst = max(worst, float(misfit / max(size, 1e-300)))
    return worst
