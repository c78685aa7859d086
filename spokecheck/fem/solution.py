"""The solution of one's own load case, and what can be asked of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.actions import Heat, Load, RigidLoad, Spin
from spokecheck.fem.body import Body
from spokecheck.fem.loads import body_forces, sample_faces
from spokecheck.fem.probe import locate
from spokecheck.fem.recovery import Recovery
from spokecheck.fem.stress import cell_stress
from spokecheck.fem.supports import Vector, Where, select
from spokecheck.fem.thermal import Temperature, thermal_forces, thermal_pressure
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray


def nodal_forces(body: Body, loads: Sequence[Load]) -> FloatArray:
    """Sum of all loads but those on the rigid part, (n_points, 3) [N].

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
class Solution:
    """Displacement, stress and reactions of one load case.

    Attributes
    ----------
    body : Body
        What was solved.
    u : ndarray (n_points, 3)
        Displacement [mm].
    applied : ndarray (n_points, 3)
        Nodal forces of the loads [N], thermal ones included.
    reactions : ndarray (n_points, 3)
        Nodal forces of supports, foundations and the rigid part [N]; on a sector also
        those of the neighbours at the cuts.
    temperatures : tuple of Temperature
        Temperature fields of the loads [K].
    """

    body: Body
    u: FloatArray
    applied: FloatArray
    reactions: FloatArray
    temperatures: tuple[Temperature, ...] = ()

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
        for T in self.temperatures:
            stress[..., :3] -= thermal_pressure(mesh, body.bulk_alpha, T)[..., None]
        return stress

    @cached_property
    def stress(self) -> FloatArray:
        """Recovered stress at the points, (n_points, 6) [MPa].

        No patch reaches across two materials; points on their interface take the side
        of the base material, or else of the zone that is named first.
        """
        return self._recovered(self.body.recovery)

    def _recovered(self, recovery: Recovery) -> FloatArray:
        samples = self.cell_stress[None].astype(complex)
        return np.array(recovery.nodal(samples, np.zeros(1, dtype=np.int64))[0].real)

    @property
    def energy(self) -> float:
        """Half the work of the nodal forces on their displacements [N mm]."""
        return 0.5 * float((self.u * (self.applied + self.reactions)).sum())

    def stress_at(self, position: Vector) -> FloatArray:
        """Recovered stress (6,) [MPa] at a position [mm].

        In a cell at an interface of two materials it is that of the cell's own side.
        """
        spot = locate(self.mesh, np.asarray(position, float))
        groups = self.body.elastic.groups
        stress = self.stress
        if groups is not None and groups[spot.cell]:
            stress = self._recovered(self.body.recovery_on(int(groups[spot.cell])))
        return spot.value(self.mesh, stress)

    def displacement_at(self, position: Vector) -> FloatArray:
        """Displacement (3,) [mm] at a position [mm]."""
        spot = locate(self.mesh, np.asarray(position, float))
        return spot.value(self.mesh, self.u)

    def mean_displacement(self, name: str | Sequence[str]) -> FloatArray:
        """Displacement (3,) [mm] averaged over the area of a surface."""
        samples = sample_faces(self.mesh.points, self.mesh.faces(name))
        area = np.linalg.norm(samples.areas, axis=-1)
        u = np.einsum("qa,fai->fqi", samples.values, self.u[samples.faces])
        return np.asarray(np.einsum("fq,fqi->i", area, u) / area.sum())

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
