"""What acts on a body: loads as records that know their nodal forces."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.loads import (
    ScalarField,
    VectorField,
    body_forces,
    pressure_forces,
    traction_forces,
)
from spokecheck.fem.supports import Vector, vector
from spokecheck.fem.thermal import Temperature
from spokecheck.mesh.quadrature import TRI_6, Rule, conical_rule
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

FINE_RULE: Rule = conical_rule(2, 8)
"""For tractions that are functions of position."""

Surface = str | Sequence[str]
"""One or several surface names."""


@dataclass(frozen=True)
class Traction:
    """Force per area [MPa] on a surface, constant or a function of position."""

    where: Surface
    value: FloatArray | VectorField

    def nodal(self, mesh: Mesh) -> FloatArray:
        """Nodal forces (n_points, 3) [N]."""
        rule = FINE_RULE if callable(self.value) else TRI_6
        return traction_forces(mesh, mesh.faces(self.where), self.value, rule)

    def at(self, x: FloatArray, n: FloatArray) -> FloatArray:
        """Tractions (n, 3) [MPa] at positions (n, 3) with outward normals (n, 3)."""
        value = self.value(x) if callable(self.value) else self.value
        return np.asarray(np.broadcast_to(value, n.shape))


@dataclass(frozen=True)
class Pressure:
    """Pressure [MPa] into a surface, constant or a function of position."""

    where: Surface
    value: float | ScalarField

    def nodal(self, mesh: Mesh) -> FloatArray:
        """Nodal forces (n_points, 3) [N]."""
        rule = FINE_RULE if callable(self.value) else TRI_6
        return pressure_forces(mesh, mesh.faces(self.where), self.value, rule)

    def at(self, x: FloatArray, n: FloatArray) -> FloatArray:
        """Tractions (n, 3) [MPa] at positions (n, 3) with outward normals (n, 3)."""
        p = self.value(x) if callable(self.value) else self.value
        return np.asarray(-np.broadcast_to(p, len(n))[:, None] * n)


@dataclass(frozen=True)
class BodyForce:
    """Force per volume [N/mm^3], constant or a function of position."""

    value: FloatArray | VectorField

    def nodal(self, mesh: Mesh) -> FloatArray:
        """Nodal forces (n_points, 3) [N]."""
        return body_forces(mesh, self.value)


@dataclass(frozen=True)
class Spin:
    """Centrifugal load: angular velocity vector [rad/s] about an axis through a point.

    The density comes from the body's material.
    """

    omega: FloatArray
    through: FloatArray

    def density(self, rho: float) -> VectorField:
        """Force per volume [N/mm^3] as a function of position."""
        w = self.omega

        def outward(x: FloatArray) -> FloatArray:
            return np.asarray(-rho * np.cross(w, np.cross(w, x - self.through)))

        return outward


@dataclass(frozen=True)
class Heat:
    """Temperature above the stress-free one [K], constant or a function of position."""

    value: Temperature


@dataclass(frozen=True)
class PointForces:
    """Given nodal forces (n_points, 3) [N], for loads made elsewhere."""

    value: FloatArray

    def nodal(self, mesh: Mesh) -> FloatArray:
        """Nodal forces (n_points, 3) [N]."""
        if self.value.shape != mesh.points.shape:
            raise ModelError(
                f"nodal forces of shape {self.value.shape}: must be "
                f"{mesh.points.shape}, one row for each point of the mesh"
            )
        return self.value


@dataclass(frozen=True)
class RigidLoad:
    """Force [N] and moment [N mm], about its centre, on the model's rigid part."""

    force: FloatArray
    moment: FloatArray


Load = Traction | Pressure | BodyForce | Spin | Heat | PointForces | RigidLoad


def traction(where: Surface, value: Vector | VectorField) -> Traction:
    """Force per area [MPa], constant or a function of position."""
    return Traction(where, value if callable(value) else vector(value, "traction"))


def pressure(where: Surface, value: float | ScalarField) -> Pressure:
    """Pressure [MPa], positive into the body, constant or a function of position."""
    return Pressure(where, value)


def body_force(value: Vector | VectorField) -> BodyForce:
    """Force per volume [N/mm^3], constant or a function of position."""
    return BodyForce(value if callable(value) else vector(value, "body force"))


def spin(omega: Vector, through: Vector = (0.0, 0.0, 0.0)) -> Spin:
    """Centrifugal load of an angular velocity vector [rad/s]."""
    return Spin(vector(omega, "omega"), vector(through, "through"))


def heat(value: Temperature) -> Heat:
    """Temperature above the stress-free one [K]."""
    return Heat(value)


def on_rigid(
    force: Vector = (0.0, 0.0, 0.0), moment: Vector = (0.0, 0.0, 0.0)
) -> RigidLoad:
    """Force [N] and moment [N mm] on the rigid part."""
    return RigidLoad(vector(force, "force"), vector(moment, "moment"))
