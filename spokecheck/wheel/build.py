"""From a design to a meshed wheel, with what can be said of it before any load."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.fatigue.alloys import Alloy, alloy, with_estimated_line
from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.quality import Quality, bulk, straighten
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray
from spokecheck.wheel.curves import distance_to
from spokecheck.wheel.design import Brief, Design
from spokecheck.wheel.kernel.task import Refinement
from spokecheck.wheel.landmarks import Landmarks, drawn_landmarks
from spokecheck.wheel.mesher import mesh_shape
from spokecheck.wheel.origin import Origin
from spokecheck.wheel.shape import WheelShape, draw_wheel
from spokecheck.wheel.sizing import Fineness
from spokecheck.wheel.surfaces import meridian

SEATS = ("bead seat inboard", "bead seat outboard")


@dataclass(frozen=True)
class Weight:
    """Mass properties of the whole wheel.

    Attributes
    ----------
    mass : float
        [t].
    centre : float
        Axial position of the centre of mass from the rim centre plane [mm].
    polar : float
        Moment of inertia about the axle [t mm^2].
    transverse : float
        Mean moment of inertia about a diameter through the rim centre [t mm^2].
    solid_gap : float or None
        Mesh volume over CAD volume, less one; None where there is no CAD solid.
    """

    mass: float
    centre: float
    polar: float
    transverse: float
    solid_gap: float | None


@dataclass(frozen=True)
class Wheel:
    """A meshed wheel: one sector of N, or the whole for N = 1.

    Attributes
    ----------
    design : Brief
        What it was told by.
    shape : WheelShape or None
        As drawn; None for a wheel that comes from elsewhere.
    landmarks : Landmarks
        What later rooms ask of its shape.
    origin : Origin
        Where it comes from.
    mesh : Mesh
        Second-order tetrahedra with named surfaces.
    cyclic : Cyclic
        Symmetry and the pairs of the two cuts.
    quality : Quality
        Shape of the cells.
    weight : Weight
        Mass properties of the whole wheel.
    runout : dict of str to float
        Largest distance [mm] of each bead seat's points from the true surface.
    """

    design: Brief
    shape: WheelShape | None
    landmarks: Landmarks
    origin: Origin
    mesh: Mesh
    cyclic: Cyclic
    quality: Quality
    weight: Weight
    runout: dict[str, float]

    @property
    def alloy(self) -> Alloy:
        """Alloy of spokes and hub."""
        return self._as_told(self.design.material.alloy)

    @property
    def rim_alloy(self) -> Alloy:
        """Alloy of the rim."""
        material = self.design.material
        return self._as_told(material.rim_alloy or material.alloy)

    def _as_told(self, name: str) -> Alloy:
        """Alloy by id, with the S-N line the design asks for."""
        known = alloy(name)
        estimated = self.design.material.sn == "fkm"
        return with_estimated_line(known) if estimated else known


def build_wheel(
    design: Design,
    fineness: Fineness | None = None,
    refinements: Sequence[Refinement] = (),
) -> Wheel:
    """Draw and mesh a wheel.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    fineness : Fineness, optional
        How fine to mesh.
    refinements : sequence of Refinement
        Where to mesh finer still.

    Returns
    -------
    Wheel

    Raises
    ------
    MeshError
        If the CAD kernel or the mesher fails.
    """
    shape = draw_wheel(design)
    raw = mesh_shape(shape, fineness or Fineness(), refinements)
    mesh, quality = straighten(raw.mesh, raw.cyclic.pairs)
    weight = weigh(mesh, raw.cyclic, alloy(design.material.alloy), raw.solid_volume)
    return Wheel(
        design,
        shape,
        drawn_landmarks(shape),
        Origin(),
        mesh,
        raw.cyclic,
        quality,
        weight,
        _runout(shape, mesh),
    )


def weigh(
    mesh: Mesh, cyclic: Cyclic, material: Alloy, solid_volume: float | None
) -> Weight:
    """Mass properties of the whole wheel; ``solid_volume`` [mm^3] is that of a part."""
    part = bulk(mesh, material.density)
    inertia: FloatArray = part.inertia * cyclic.count
    return Weight(
        mass=part.mass * cyclic.count,
        centre=float(part.centre[2]),
        polar=float(inertia[2, 2]),
        transverse=float((inertia[0, 0] + inertia[1, 1]) / 2.0),
        solid_gap=part.volume / solid_volume - 1.0 if solid_volume else None,
    )


def _runout(shape: WheelShape, mesh: Mesh) -> dict[str, float]:
    """Distance of the bead seats' points from the drawn seat."""
    found = {}
    for seat in SEATS:
        at = meridian(mesh.points[mesh.nodes(seat)])
        gaps = [distance_to(c, at) for c in shape.profile.curves if c.name == seat]
        found[seat] = float(np.min(gaps, axis=0).max())
    return found
