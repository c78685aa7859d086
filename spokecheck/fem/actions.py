"""What acts on a body: loads as records that know their nodal forces."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.fem.line_loads import LineLoad
from spokecheck.fem.loads import (
    ScalarField,
    VectorField,
    body_forces,
    pressure_forces,
    sample_faces,
    traction_forces,
)
from spokecheck.fem.split_loads import FINE_RULE, split_forces
from spokecheck.fem.supports import Vector, vector
from spokecheck.fem.thermal import Temperature
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray

Surface = str | Sequence[str]
"""One or several surface names."""


@dataclass(frozen=True)
class Traction:
    """Force per area [MPa] on a surface, constant or a function of position."""

    where: Surface
    value: FloatArray | VectorField

    def nodal(self, mesh: Mesh) -> FloatArray:
        """Nodal forces (n_points, 3) [N]."""
        value, faces = self.value, mesh.faces(self.where)
        if not callable(value):
            return traction_forces(mesh, faces, value)
        return split_forces(
            mesh, faces, lambda x, dA: value(x) * np.linalg.norm(dA, axis=1)[:, None]
        )

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
        value, faces = self.value, mesh.faces(self.where)
        if not callable(value):
            return pressure_forces(mesh, faces, value)
        return split_forces(mesh, faces, lambda x, dA: -value(x)[:, None] * dA)

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
    """Force [N] and moment [N mm], about its centre, on a rigid part by its name."""

    force: FloatArray
    moment: FloatArray
    part: str = ""


@dataclass(frozen=True)
class FaceLoad:
    """Force [N] and moment [N mm] spread over a surface, which stays free to deform.

    Attributes
    ----------
    where : Surface
    force, moment : ndarray (3,)
    about : ndarray (3,) or None
        Point [mm] through which the force acts, and about which the moment counts; the
        centroid of the surface if None.
    """

    where: Surface
    force: FloatArray
    moment: FloatArray
    about: FloatArray | None

    def on(self, mesh: Mesh) -> Traction:
        """The traction a + b x r, r from the centroid of the surface.

        Raises
        ------
        ModelError
            If the surface has no extent across the moment.
        """
        samples = sample_faces(mesh.points, mesh.faces(self.where), FINE_RULE)
        dA = np.linalg.norm(samples.areas, axis=-1).ravel()
        x = samples.positions.reshape(-1, 3)
        centroid = dA @ x / dA.sum()
        # force: A a = F; moment about the centroid: J b = M + (about - centroid) x F
        r = x - centroid
        J = np.eye(3) * (dA @ (r * r).sum(axis=1)) - np.einsum("q,qi,qj->ij", dA, r, r)
        arm = np.zeros(3) if self.about is None else self.about - centroid
        moment = self.moment + np.cross(arm, self.force)
        b, *_ = np.linalg.lstsq(J, moment, rcond=1e-9)
        miss, size = np.linalg.norm(J @ b - moment), np.linalg.norm(moment)
        if miss > 1e-6 * size:
            raise ModelError(
                f"moment on surface {self.where}: it has no extent across it; name a "
                "wider surface"
            )
        a = self.force / dA.sum()
        return Traction(self.where, lambda x: a + np.cross(b, x - centroid))

    def nodal(self, mesh: Mesh) -> FloatArray:
        """Nodal forces (n_points, 3) [N]."""
        return self.on(mesh).nodal(mesh)


Load = (
    Traction
    | Pressure
    | BodyForce
    | Spin
    | Heat
    | PointForces
    | LineLoad
    | FaceLoad
    | RigidLoad
)


def traction(where: Surface, value: Vector | VectorField) -> Traction:
    """Force per area [MPa], constant or a function of position."""
    return Traction(where, value if callable(value) else vector(value, "traction"))


def face_load(
    where: Surface,
    force: Vector = (0.0, 0.0, 0.0),
    moment: Vector = (0.0, 0.0, 0.0),
    about: Vector | None = None,
) -> FaceLoad:
    """Force and moment on a surface, without stiffening it.

    Parameters
    ----------
    where : str or sequence of str
        Surface.
    force : sequence of three float
        Resultant [N].
    moment : sequence of three float
        Resulting moment [N mm].
    about : sequence of three float, optional
        Point [mm] through which the force acts; the centroid of the surface if not
        given.

    Returns
    -------
    FaceLoad

    Notes
    -----
    Traction ``a + b x r``, linear over the surface, as beam theory has it in bending,
    and in torsion of a round section.  On another section the true traction of a torque
    differs, and evens out within about one width (Saint-Venant's principle).
    A ``RigidPart`` moves as one instead, and stiffens the surface.
    """
    centre = None if about is None else vector(about, "about")
    return FaceLoad(where, vector(force, "force"), vector(moment, "moment"), centre)


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
    force: Vector = (0.0, 0.0, 0.0),
    moment: Vector = (0.0, 0.0, 0.0),
    part: str = "",
) -> RigidLoad:
    """Force [N] and moment [N mm], about its centre, on a rigid part.

    ``part`` is its name; the only one of a model need not be named.
    """
    return RigidLoad(vector(force, "force"), vector(moment, "moment"), part)
