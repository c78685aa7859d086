"""The solution of one's own load case, and what can be asked of it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.actions import (
    FaceLoad,
    Heat,
    Load,
    RigidLoad,
    Spin,
    Traction,
)
from spokecheck.fem.body import Body
from spokecheck.fem.constraints import rigid_motions
from spokecheck.fem.error import (
    AT_NODES,
    SHEAR_WEIGHT,
    cell_errors,
    mean_at,
    plain_stress,
    surface_gap,
)
from spokecheck.fem.held_body import HeldBody
from spokecheck.fem.loads import body_forces, sample_faces
from spokecheck.fem.own_surface import STEADY, OwnSurface, own_surface
from spokecheck.fem.probe import Location, Locator
from spokecheck.fem.restraint import numbered_part, rigid_parts
from spokecheck.fem.stress import cell_stress
from spokecheck.fem.supports import Vector, Where, select
from spokecheck.fem.thermal import thermal_forces, thermal_pressure
from spokecheck.mesh.quadrature import TET_4, Rule
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray


def nodal_forces(body: Body, loads: Sequence[Load]) -> FloatArray:
    """Sum of all loads but those on rigid parts, (n_points, 3) [N].

    Raises
    ------
    ModelError
        If a centrifugal load meets no density, or several.
    """
    total = np.zeros((body.mesh.n_points, 3))
    for load in loads:
        if isinstance(load, Heat):
            total += thermal_forces(body.mesh, body.bulk_alpha, load.value)
        elif isinstance(load, Spin):
            total += _centrifugal(body, load)
        elif not isinstance(load, RigidLoad):
            total += load.nodal(body.mesh)
    return total


def _centrifugal(body: Body, load: Spin) -> FloatArray:
    density = body.material.rho
    if body.zones and {m.rho for m in body.zones.values()} != {density}:
        raise ModelError(
            "centrifugal load: zones of different density; give one body force each"
        )
    if not density > 0.0:
        raise ModelError(
            f"rho = {density:g} t/mm^3: a centrifugal load needs a "
            "positive density; give the material its rho"
        )
    return body_forces(body.mesh, load.density(density))


@dataclass(frozen=True)
class RigidMotion:
    """Small motion of a rigid part.

    Attributes
    ----------
    shift : ndarray (3,)
        Displacement of its centre [mm].
    rotation : ndarray (3,)
        Rotation vector [rad].
    """

    shift: FloatArray
    rotation: FloatArray


@dataclass(frozen=True)
class Solution:
    """Displacement, stress and reactions of one load case.

    Attributes
    ----------
    held : HeldBody
        What was solved.
    loads : tuple of Load
        What acts on it.
    u : ndarray (n_points, 3)
        Displacement [mm].
    applied : ndarray (n_points, 3)
        Nodal forces of the loads [N], thermal ones included.
    reactions : ndarray (n_points, 3)
        Nodal forces of supports, foundations and rigid parts [N]; on a sector also
        those of the neighbours at the cuts.
    """

    held: HeldBody
    loads: tuple[Load, ...]
    u: FloatArray
    applied: FloatArray
    reactions: FloatArray

    @property
    def body(self) -> Body:
        """The body without its supports."""
        return self.held.body

    @property
    def mesh(self) -> Mesh:
        """The mesh."""
        return self.body.mesh

    @cached_property
    def cell_stress(self) -> FloatArray:
        """Stress at the integration points, (n_cells, 4, 6) [MPa]."""
        mesh, body = self.mesh, self.body
        fields = self.u[None].astype(complex)
        raw = cell_stress(mesh.points, mesh.cells, fields, body.elastic.lame)[0].real
        stress = np.array(raw)
        thermal = self._thermal(TET_4)
        if thermal is not None:
            stress[..., :3] -= thermal[..., None]
        return stress

    def _thermal(self, rule: Rule) -> FloatArray | None:
        """Thermal pressure (n_cells, n_q) [MPa] at the points of a rule."""
        body = self.body
        parts = [
            thermal_pressure(body.mesh, body.bulk_alpha, load.value, rule)
            for load in self.loads
            if isinstance(load, Heat)
        ]
        return np.asarray(sum(parts)) if parts else None

    @cached_property
    def stress(self) -> FloatArray:
        """Stress at the points, (n_points, 6) [MPa].

        On outer faces whose traction is known it is that of the faces themselves
        (``fem.surface_stress``); elsewhere, as on held faces, it is recovered.
        Patches go on beyond planes of symmetry, and none reaches across two materials;
        points on their interface take the side of the base material, or else of the
        zone that is named first.
        """
        return self._with_surface(self.recovered_stress, self._surface)

    @cached_property
    def recovered_stress(self) -> FloatArray:
        """The same by recovery everywhere, outer faces too."""
        return self._recovered(0)

    @cached_property
    def error(self) -> FloatArray:
        """Estimated error of the stress at the points, (n_points,) [MPa].

        Size of a stress tensor; from how far the stress in the cells lies from that at
        their points.  An estimate, no bound: see ``fem.error``.
        """
        mesh, body, surface = self.mesh, self.body, self._surface
        raw, smooth = self.cell_stress[None], self.recovered_stress[None]
        inside = cell_errors(mesh.cells, raw, smooth)
        error = mean_at(mesh.cells, inside, mesh.n_points)
        if len(surface.nodes):
            plain = plain_stress(
                mesh,
                body.elastic.lame,
                self.u[None].astype(complex),
                surface.nodes,
                (body.cyclic, STEADY),
                body.elastic.groups,
                self._thermal(AT_NODES),
            )
            gap = surface_gap(surface.faces, surface.stress[None], plain)
            error[surface.nodes] = gap
        return error

    @cached_property
    def _surface(self) -> OwnSurface:
        return own_surface(self.held, self.loads, self.u)

    @staticmethod
    def _with_surface(recovered: FloatArray, surface: OwnSurface) -> FloatArray:
        stress = recovered.copy()
        stress[surface.nodes] = surface.stress
        return stress

    def _recovered(self, group: int) -> FloatArray:
        """Recovered stress (n_points, 6), an interface counted to one material."""
        recovery = self.held.recovery(group, self._mirrors)
        samples = self.cell_stress[None].astype(complex)
        return np.array(recovery.nodal(samples, STEADY)[0].real)

    @cached_property
    def _mirrors(self) -> tuple[int, ...]:
        """Numbers of the mirrors that no load acts on: they carry no other traction."""
        loaded = np.zeros(self.mesh.n_points, dtype=bool)
        for load in self.loads:
            if isinstance(load, Traction | FaceLoad):
                loaded[self.mesh.nodes(load.where)] = True
        planes = enumerate(self.held.mirrors)
        return tuple(k for k, plane in planes if not loaded[plane.points].all())

    def _stress_on(self, group: int) -> FloatArray:
        """Stress (n_points, 6), an interface counted to one material."""
        if group == 0:
            return self.stress
        if group not in self._other_sides:
            surface = own_surface(self.held, self.loads, self.u, group)
            side = self._with_surface(self._recovered(group), surface)
            self._other_sides[group] = side
        return self._other_sides[group]

    @cached_property
    def _other_sides(self) -> dict[int, FloatArray]:
        return {}

    @property
    def energy(self) -> float:
        """Half the work of the nodal forces on their displacements [N mm]."""
        return 0.5 * float((self.u * (self.applied + self.reactions)).sum())

    def stress_at(self, position: Vector) -> FloatArray:
        """Stress [MPa] at positions [mm], interpolated from the points.

        In a cell at an interface of two materials it is that of the cell's own side.

        Parameters
        ----------
        position : array (3,) or (n, 3)
            One position, or several.

        Returns
        -------
        ndarray (6,) or (n, 6)

        Raises
        ------
        ModelError
            If a position lies outside the body.
        """
        return self._at(position, self._stress_in)

    def displacement_at(self, position: Vector) -> FloatArray:
        """Displacement (3,) or (n, 3) [mm] at positions (3,) or (n, 3) [mm]."""
        return self._at(position, lambda spot: spot.value(self.mesh, self.u))

    def error_at(self, position: Vector) -> FloatArray:
        """Estimated relative error of the stress at positions (3,) or (n, 3) [mm].

        ``error`` over the size of the stress tensor there, dimensionless; infinite
        where there is no stress.  On notches von Mises stress of 95 % of the surface
        points is within 0.8 of it, of 99 % within 1.1 (``fem.error``).
        """
        return self._at(position, self._error_in)

    def _at(
        self, position: Vector, value: Callable[[Location], FloatArray]
    ) -> FloatArray:
        """Value at one position or at several."""
        x = np.asarray(position, dtype=float)
        if x.ndim not in (1, 2) or x.shape[-1] != 3:
            raise ModelError(
                f"positions of shape {x.shape}: must be (3,) or (n, 3), x y z in mm"
            )
        if x.ndim == 1:
            return np.asarray(value(self._locator.at(x)))
        return np.array([value(self._locator.at(one)) for one in x])

    @cached_property
    def _locator(self) -> Locator:
        return Locator(self.mesh)

    def _stress_in(self, spot: Location) -> FloatArray:
        groups = self.body.elastic.groups
        group = 0 if groups is None else int(groups[spot.cell])
        return spot.value(self.mesh, self._stress_on(group))

    def _error_in(self, spot: Location) -> FloatArray:
        size = np.sqrt(float(self._stress_in(spot) ** 2 @ SHEAR_WEIGHT))
        # shape functions turn negative, an error must not
        weights = np.abs(spot.weights) / np.abs(spot.weights).sum()
        error = float(weights @ self.error[self.mesh.cells[spot.cell]])
        return np.asarray(error / size if size > 0.0 else np.inf)

    def mean_displacement(self, name: str | Sequence[str]) -> FloatArray:
        """Displacement (3,) [mm] averaged over the area of a surface."""
        samples = sample_faces(self.mesh.points, self.mesh.faces(name))
        area = np.linalg.norm(samples.areas, axis=-1)
        u = np.einsum("qa,fai->fqi", samples.values, self.u[samples.faces])
        return np.asarray(np.einsum("fq,fqi->i", area, u) / area.sum())

    def rigid_motion(self, part: str = "") -> RigidMotion:
        """Motion of a rigid part about its centre.

        Parameters
        ----------
        part : str
            Its name; the only one of a model need not be named.

        Raises
        ------
        ModelError
            If the model has no such part.
        """
        number = numbered_part(rigid_parts(self.held.given), part)
        coupling = self.held.restraint.supports.couplings[number]
        arms = self.mesh.points[coupling.nodes] - coupling.centre
        size = float(np.abs(arms).max()) or 1.0
        # u = d + w x r at all of its points, exactly
        motions = rigid_motions(arms / size).reshape(-1, 6)
        moved = self.u[coupling.nodes].ravel()
        found = np.asarray(np.linalg.lstsq(motions, moved, rcond=None)[0], dtype=float)
        return RigidMotion(found[:3], found[3:] / size)

    def reaction(self, where: Where) -> FloatArray:
        """Force (3,) [N] of the supports on some points."""
        return np.asarray(self.reactions[select(self.mesh, where)].sum(axis=0))

    def reaction_moment(
        self, where: Where, about: Vector = (0.0, 0.0, 0.0)
    ) -> FloatArray:
        """Moment (3,) [N mm] of the supports on some points, about a centre [mm]."""
        nodes = select(self.mesh, where)
        arm = self.mesh.points[nodes] - np.asarray(about, float)
        return np.asarray(np.cross(arm, self.reactions[nodes]).sum(axis=0))
