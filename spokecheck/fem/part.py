"""A part to be solved, and the solution that answers for it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import scipy.sparse as sp

from spokecheck.errors import ModelError
from spokecheck.fem.actions import Heat, Load, RigidLoad, Spin
from spokecheck.fem.assembly import assemble_stiffness, cell_lame
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import body_forces, sample_faces
from spokecheck.fem.probe import value_at
from spokecheck.fem.recovery import Recovery, patch_recovery
from spokecheck.fem.stress import cell_stress
from spokecheck.fem.supports import Vector, Where, select
from spokecheck.fem.thermal import Temperature, thermal_forces, thermal_pressure
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray


@dataclass(frozen=True)
class Part:
    """A mesh and what it is made of.

    Attributes
    ----------
    mesh : Mesh
        The mesh.
    material : Material
        Material of all cells outside ``zones``.
    zones : mapping of str to Material
        Other materials by zone name.
        Recovered stress is smoothed over an interface between two materials.
    """

    mesh: Mesh
    material: Material
    zones: Mapping[str, Material] = field(default_factory=dict)

    def __post_init__(self) -> None:
        unknown = sorted(set(self.zones) - set(self.mesh.zones))
        if unknown:
            known = ", ".join(sorted(self.mesh.zones)) or "no zone"
            raise ModelError(
                f"zone {', '.join(unknown)}: not in this mesh; it has {known}"
            )

    @cached_property
    def lame(self) -> tuple[FloatArray, FloatArray]:
        """Lamé constants of every cell [MPa]."""
        return cell_lame(self.mesh, self.material, dict(self.zones))

    @cached_property
    def stiffness(self) -> sp.csr_array:
        """Stiffness matrix, unsupported [N/mm]."""
        return assemble_stiffness(self.mesh, self.material, dict(self.zones))

    @cached_property
    def recovery(self) -> Recovery:
        """Patch recovery of the mesh."""
        return patch_recovery(self.mesh.points, self.mesh.cells)

    @cached_property
    def bulk_alpha(self) -> FloatArray:
        """(3 lambda + 2 mu) alpha of every cell [MPa/K]."""
        alpha = np.full(self.mesh.n_cells, self.material.alpha)
        for name, other in self.zones.items():
            alpha[self.mesh.zones[name]] = other.alpha
        lam, mu = self.lame
        return np.asarray((3.0 * lam + 2.0 * mu) * alpha)

    def nodal_forces(self, loads: Sequence[Load]) -> FloatArray:
        """Sum of all loads but those on the rigid part, (n_points, 3) [N]."""
        total = np.zeros((self.mesh.n_points, 3))
        for load in loads:
            if isinstance(load, Heat):
                total += thermal_forces(self.mesh, self.bulk_alpha, load.value)
            elif isinstance(load, Spin):
                total += self._centrifugal(load)
            elif not isinstance(load, RigidLoad):
                total += load.nodal(self.mesh)
        return total

    def _centrifugal(self, load: Spin) -> FloatArray:
        if self.zones and {m.rho for m in self.zones.values()} != {self.material.rho}:
            raise ModelError(
                "centrifugal load: zones of different density; give one body force each"
            )
        if not self.material.rho > 0.0:
            raise ModelError(
                f"rho = {self.material.rho:g} t/mm^3: a centrifugal load needs a "
                "positive density; give the material its rho"
            )
        return body_forces(self.mesh, load.density(self.material.rho))


@dataclass(frozen=True)
class Solution:
    """Displacement, stress and reactions of one load case.

    Attributes
    ----------
    part : Part
        What was solved.
    u : ndarray (n_points, 3)
        Displacement [mm].
    applied : ndarray (n_points, 3)
        Nodal forces of the loads [N], thermal ones included.
    reactions : ndarray (n_points, 3)
        Nodal forces of supports, foundations and the rigid part [N].
    temperatures : tuple of Temperature
        Temperature fields of the loads [K].
    """

    part: Part
    u: FloatArray
    applied: FloatArray
    reactions: FloatArray
    temperatures: tuple[Temperature, ...] = ()

    @property
    def mesh(self) -> Mesh:
        """The mesh."""
        return self.part.mesh

    @cached_property
    def cell_stress(self) -> FloatArray:
        """Stress at the integration points, (n_cells, 4, 6) [MPa]."""
        mesh = self.mesh
        fields = self.u[None].astype(complex)
        raw = cell_stress(mesh.points, mesh.cells, fields, self.part.lame)[0].real
        stress = np.array(raw)
        for T in self.temperatures:
            stress[..., :3] -= thermal_pressure(mesh, self.part.bulk_alpha, T)[
                ..., None
            ]
        return stress

    @cached_property
    def stress(self) -> FloatArray:
        """Recovered stress at the points, (n_points, 6) [MPa]."""
        samples = self.cell_stress[None].astype(complex)
        return np.array(
            self.part.recovery.nodal(samples, np.zeros(1, dtype=np.int64))[0].real
        )

    @property
    def energy(self) -> float:
        """Half the work of the nodal forces on their displacements [N mm]."""
        return 0.5 * float((self.u * (self.applied + self.reactions)).sum())

    def stress_at(self, position: Vector) -> FloatArray:
        """Recovered stress (6,) [MPa] at a position [mm]."""
        return value_at(self.mesh, self.stress, np.asarray(position, float))

    def displacement_at(self, position: Vector) -> FloatArray:
        """Displacement (3,) [mm] at a position [mm]."""
        return value_at(self.mesh, self.u, np.asarray(position, float))

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
