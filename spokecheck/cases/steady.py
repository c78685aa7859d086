"""Steady loads: the clamp force of the bolts and the centrifugal load.

Both are of order 0 and enter as the mean of the turning stress.

Model of the bolts: torque gives the clamp force, ``T = K F d``; it presses on each
seat, cone or ball, as an even pressure across it, without friction, and the attachment
face takes it up.
That face is held (radial) or moves as one with the fixture (cornering), so the contact
under the pad neither opens nor slides: stress at the face and on the seats is that of
the model, not of the wheel, and both stay out of the ranking.
K is known to about a factor 2: the clamp force is an input, no margin of the bolted
joint is derived from it, and the sensitivity of the margins to it is reported.

References
----------
Shigley's Mechanical Engineering Design, bolt torque ``T = K F d`` with K about 0.2 dry,
0.15 oiled, flat seat (from memory).
For a 60-degree cone ``F = T / (P / 2 pi + mu d2 / (2 cos 30) + mu r / sin 30)``: K 0.21
at mu 0.10, 0.28 at 0.14, 0.36 at 0.18 (derived; mean seat radius 8.5 and 9.5 mm).
A ball of 14 mm touched at 9.5 mm acts like a cone of half-angle 47 degrees: the same
formula gives K 0.16, 0.22, 0.28 (M14, derived).
"""

from dataclasses import replace

import numpy as np

from spokecheck.cases.loadcase import SurfaceTraction
from spokecheck.fem.loads import body_forces, pressure_forces, sample_faces
from spokecheck.units import N_MM_PER_N_M, FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.tables.surface_names import BOLT_SEAT

TORQUE_FACTORS = {"cone": (0.2, 0.4), "ball": (0.15, 0.3)}
"""K between which the clamp force lies, by kind of seat (derived, see above)."""


def clamp_force(torque: float, thread: float, factor: float) -> float:
    """Clamp force of one bolt [N].

    Parameters
    ----------
    torque : float
        Tightening torque [N m].
    thread : float
        Nominal thread diameter [mm].
    factor : float
        K of the torque formula.

    Examples
    --------
    >>> round(clamp_force(160.0, 14.0, 0.3))
    38095
    """
    return torque * N_MM_PER_N_M / (factor * thread)


def clamp_forces(wheel: Wheel, force: float) -> FloatArray:
    """Nodal forces (n_points, 3) [N] of all bolts on their seats, cone or ball.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    force : float
        Clamp force of one bolt [N]; it points inboard.
    """
    mesh = wheel.mesh
    even = clamp_traction(wheel, force).pressure
    return pressure_forces(mesh, mesh.faces(BOLT_SEAT), even)


def clamp_traction(wheel: Wheel, force: float) -> SurfaceTraction:
    """Even pressure of the bolts on their seats."""
    mesh = wheel.mesh
    across = sample_faces(mesh.points, mesh.faces(BOLT_SEAT)).areas[..., 2].sum()
    total = force * wheel.design.bolts.count
    return SurfaceTraction((BOLT_SEAT,), float(total / (across * wheel.cyclic.count)))


def centrifugal_forces(wheel: Wheel, spin: float) -> FloatArray:
    """Nodal forces (n_points, 3) [N] of the wheel's own mass turning.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel; each zone has its alloy's density.
    spin : float
        Turning speed [rad/s].
    """

    def outward(x: FloatArray) -> FloatArray:
        return np.asarray(spin**2 * x * np.array([1.0, 1.0, 0.0]))

    total = np.zeros_like(wheel.mesh.points)
    for zone, members in wheel.zones.items():
        part = replace(wheel.mesh, cells=wheel.mesh.cells[members])
        total += wheel.alloy_of(zone).density * body_forces(part, outward)
    return total
