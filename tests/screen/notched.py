"""Flat notched bodies with known peaks, solved whole or with cells halved."""

from dataclasses import dataclass, replace

import numpy as np

from spokecheck.fem.actions import traction
from spokecheck.fem.body import make_body, respond
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.error import plain_stress, surface_errors
from spokecheck.fem.orders import OrderLoad, Supports
from spokecheck.fem.recovery import patch_recovery
from spokecheck.fem.stress import cell_stress, stress_tensor
from spokecheck.fem.submodel import solve_submodel
from spokecheck.fem.surface_stress import surface_stress
from spokecheck.handbook.case import Values
from spokecheck.handbook.holes import kirsch
from spokecheck.mesh.notches import Shoulder, plate_with_hole, shoulder_bar
from spokecheck.screen.adapt import RefinementLimits, converge
from spokecheck.screen.local_refinement import refine_locally
from spokecheck.screen.tracked_spots import TrackedSpot

ALUMINIUM = Material(E=70e3, nu=0.33)
REACH = 20.0
STEADY = np.zeros(1, dtype=np.int64)


@dataclass(frozen=True)
class Solved:
    """A handbook body on one mesh of the loop."""

    mesh: object
    cyclic: object
    elastic: object
    u: np.ndarray
    stress: np.ndarray
    local: bool = False


@dataclass(frozen=True)
class Bar:
    """A flat body held along axes, pulled on one side, watched on its notch."""

    coarse: object
    held: dict
    pulled: str
    pull: object
    notch: str

    def supports(self, mesh):
        """Axes held on named sides."""
        held = np.zeros((mesh.n_points, 3), dtype=bool)
        for side, axis in self.held.items():
            held[mesh.nodes(side), axis] = True
        return Supports(held)

    def loads(self, mesh):
        """The pull as the one load."""
        nodal = traction(self.pulled, self.pull).nodal(mesh).astype(complex)
        zero = np.zeros(3, dtype=complex)
        return [OrderLoad(0, nodal, zero, zero)]

    def trial(self, before, spheres):
        """Solve all of it at first, then only where cells are halved."""
        if before is None:
            mesh = self.coarse
            body = make_body(mesh, ALUMINIUM)
            found = respond(body, self.supports(mesh), self.loads(mesh))
            return Solved(mesh, body.cyclic, body.elastic, found.displacements.u,
                          found.stress)  # fmt: skip
        closer = refine_locally(before.mesh, before.cyclic, before.elastic, spheres)
        mesh = closer.mesh
        carried = np.stack([closer.carry @ u for u in before.u])
        supports, loads = self.supports(mesh), self.loads(mesh)
        u = solve_submodel(closer.near, supports, loads, carried)
        raw = cell_stress(mesh.points, mesh.cells, u, closer.elastic.lame)
        stress = patch_recovery(mesh.points, mesh.cells).nodal(raw, STEADY)
        old = np.flatnonzero(~closer.updated[: before.mesh.n_points])
        stress[:, old] = before.stress[:, old]
        return Solved(mesh, closer.cyclic, closer.elastic, u, stress, local=True)

    def watch(self, solved):
        """Largest principal stress on the notch."""
        spot = notch_peak(solved.mesh, solved.elastic.lame, solved.u, self.notch)
        return 3 * solved.mesh.n_points, [replace(spot, local=solved.local)]

    def whole(self, solved):
        """The same mesh, nothing held where it was; None if it was solved so."""
        if not solved.local:
            return None
        return replace(self, coarse=solved.mesh).trial(None, ())

    def converge(self, tolerance, meshes):
        """The loop, as a screening runs it."""
        limits = RefinementLimits(tolerance, meshes)
        return converge(self.trial, self.watch, apart, limits, REACH, self.whole)


def notch_peak(mesh, lame, u, notch, edge=None):
    """Peak on a free notch, read and estimated as at a wheel's outer surface.

    The largest principal stress, by size, of the notch's own faces.
    """
    faces = mesh.faces(notch)
    surface = surface_stress(mesh.points, mesh.cells, faces, lame)
    stress = surface.at_nodes(u, STEADY)
    size = np.abs(np.linalg.eigvalsh(stress_tensor(stress[0].real))).max(axis=1)
    top = int(size.argmax())
    corners = mesh.points[faces[(surface.faces == top).any(axis=1)][:, :3]]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    plain = plain_stress(mesh, lame, u, surface.nodes, (Cyclic(), STEADY))
    (error,) = surface_errors(surface.faces, stress, plain, np.array([top]))
    return TrackedSpot(
        label="peak",
        position=tuple(map(float, mesh.points[surface.nodes[top]])),
        value=float(size[top]),
        edge=float(sides.mean()) if edge is None else edge,
        error=float(error),
    )


def apart(one, other):
    """Plain distance."""
    return float(np.linalg.norm(np.subtract(one.position, other.position)))


PEAK = 300.0
"""Largest stress [MPa] at Kirsch's hole under a pull of 100 MPa.

Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 35 (from memory); the plane
solution is exact for the body of ``holed_plate``.
"""

SHOULDER = 213.95
"""Largest stress [MPa] of ``stepped_bar``, of uniform meshes of 24 and 32 cells an
eighth (213.98, 213.95), where recovered stress falls to it: 216.4, 215.4, 214.8, 214.3
of 12, 16, 24, 32.  The chart value 209 (Roark, 7th ed., Table 17.1, read in a secondary
copy) is a fit some 2 % low here."""


def holed_plate(n):
    """Kirsch's hole in a mesh that grows from it, n = 1 coarse."""
    return plate((3 * n, 4 * n))


def plate(cells, growth=8.0):
    """Kirsch's hole under the tractions of the infinite plate, pull 100 MPa.

    ``cells`` stand on an eighth of the hole, and from it outwards.
    """
    p = Values({"a": 10.0, "S": 100.0})

    def pull(x):
        s = kirsch(p, x)
        right = (x[:, 0] > 40.0 * (1.0 - 1e-9))[:, None]
        along = np.where(right, s[:, [0, 2]], s[:, [2, 1]])
        return np.column_stack([along, np.zeros(len(x))])

    mesh = plate_with_hole(10.0, 40.0, 40.0, 5.0, (*cells, 1), growth)
    held = {"x0": 0, "y0": 1, "bottom": 2, "top": 2}
    return Bar(mesh, held, "frame", pull, "hole")


def stepped_bar(n, out=None):
    """Upper half of a bar stepped from 60 to 40 mm, fillet 5 mm, net pull 100 MPa.

    ``n`` cells stand on an eighth of the fillet, and ``out`` from it outwards.
    """
    section = Shoulder(
        narrow=20.0,
        wide=30.0,
        radius=5.0,
        shank=120.0,
        body=120.0,
        eighth=n,
        out=out or n,
    )
    held = {"axis": 1, "bottom": 2, "top": 2, "start": 0}
    pull = (100.0 * 40.0 / 60.0, 0.0, 0.0)
    return Bar(shoulder_bar(section, 5.0), held, "end", pull, "fillet")


def peak_of(solution, edge):
    """Peak at the fillet or notch of a handbook case, as a tracked spot."""
    u, lame = solution.u[None].astype(complex), solution.body.elastic.lame
    return notch_peak(solution.mesh, lame, u, "fillet", edge)
