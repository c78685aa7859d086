"""An elastic body made ready once, then loaded as often as wanted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from spokecheck.fem.assembly import cell_lame
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.parallel import both
from spokecheck.fem.recovery import Recovery, patch_recovery
from spokecheck.fem.reduction import Supports
from spokecheck.fem.sector import Stiffness, make_stiffness, solve_sector
from spokecheck.fem.solve import Displacements, OrderLoad, whole_body_resultant
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
    """A meshed body with its stiffness and its recovery weights.

    Attributes
    ----------
    mesh : Mesh
        One sector, or the whole body.
    cyclic : Cyclic
        Its symmetry.
    stiffness : Stiffness
        Unreduced stiffness, ready to be factored.
    elastic : Elastic
        Constants of its cells.
    recovery : Recovery
        Weights of the patch recovery.
    """

    mesh: Mesh
    cyclic: Cyclic
    stiffness: Stiffness
    elastic: Elastic
    recovery: Recovery


@dataclass(frozen=True)
class Response:
    """What a body does under the orders of one load.

    Attributes
    ----------
    displacements : Displacements
    stress : ndarray (n_orders, n_points, 6)
        Recovered complex stress [MPa].
    reactions : ndarray (n_orders, n_points, 3)
        Nodal forces of supports, couplings and neighbour sectors [N].
    """

    displacements: Displacements
    stress: ComplexArray
    reactions: ComplexArray

    @property
    def orders(self) -> IntArray:
        """Fourier orders (n_orders,)."""
        return self.displacements.orders


def make_body(
    mesh: Mesh,
    material: Material,
    cyclic: Cyclic | None = None,
    zones: Mapping[str, Material] | None = None,
) -> Body:
    """Assemble a body.

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

    Returns
    -------
    Body
    """
    cyclic = cyclic or Cyclic()
    lame = cell_lame(mesh, material, dict(zones or {}))
    elastic = Elastic(lame, _alike(lame, material))
    recovery, stiffness = both(
        partial(patch_recovery, mesh.points, mesh.cells, cyclic, elastic.groups),
        partial(make_stiffness, mesh, cyclic, lame),
    )
    return Body(mesh, cyclic, stiffness, elastic, recovery)


def _alike(lame: tuple[FloatArray, FloatArray], base: Material) -> IntArray | None:
    """Cells by elastic constants, the base material's first; None if all are alike."""
    both = np.stack(lame, axis=1)
    _, group = np.unique(both, axis=0, return_inverse=True)
    if group.max() == 0:
        return None
    return np.where((both == base.lame).all(axis=1), 0, 1 + group.ravel())


def respond(body: Body, supports: Supports, loads: Sequence[OrderLoad]) -> Response:
    """Solve a body under the orders of one load and recover its stress.

    Parameters
    ----------
    body : Body
        Assembled body.
    supports : Supports
        What is held and what is coupled.
    loads : sequence of OrderLoad
        One for each order.

    Returns
    -------
    Response

    Raises
    ------
    ModelError
        If the body is free to move.
    """
    points, cells = body.mesh.points, body.mesh.cells
    moved = solve_sector(body.stiffness, points, body.cyclic, supports, loads)
    raw = cell_stress(points, cells, moved.u, body.elastic.lame)
    reactions = body.stiffness.times(moved.u) - np.array([load.nodal for load in loads])
    stress = body.recovery.nodal(raw, moved.orders)
    return Response(moved, stress, reactions)


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
    centre = np.zeros(3)
    if supports.coupling is not None:
        centre = supports.coupling.centre
    held = supports.held
    worst = 0.0
    for k, load in enumerate(loads):
        reaction = np.where(held, response.reactions[k], 0.0)
        applied = whole_body_resultant(points, load.nodal, load.order, count, centre)
        support = whole_body_resultant(points, reaction, load.order, count, centre)
        force = applied[0] + load.force + support[0]
        moment = applied[1] + load.moment + support[1]
        misfit = np.linalg.norm(force) + np.linalg.norm(moment) / radius
        size = np.linalg.norm(load.force) + np.linalg.norm(load.moment) / radius
        size += np.abs(load.nodal).sum() * count
        worst = max(worst, float(misfit / max(size, 1e-300)))
    return worst
