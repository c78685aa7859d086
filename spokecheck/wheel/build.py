"""From a design to a meshed wheel, with its mass properties."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from spokecheck.fatigue.alloys import Alloy, alloy, with_estimated_line
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.joined import Joined
from spokecheck.mesh.quality import MeshQuality, bulk
from spokecheck.mesh.record import Mesh
from spokecheck.plane.curves import distance_to
from spokecheck.units import IntArray
from spokecheck.wheel.meshing.dents import surface_remarks
from spokecheck.wheel.meshing.mesh_check import MeshProof
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.meshing.sound_mesh import mesh_soundly
from spokecheck.wheel.origin import Origin
from spokecheck.wheel.shape.departures import Departure, departures
from spokecheck.wheel.shape.drawing import RIM, WHOLE
from spokecheck.wheel.shape.fallbacks import AS_DRAWN, FALLBACKS, Fallback
from spokecheck.wheel.shape.landmarks import Landmarks, drawn_landmarks
from spokecheck.wheel.shape.remarks import drawing_remarks
from spokecheck.wheel.shape.surfaces import meridian
from spokecheck.wheel.shape.true_surface import (
    RevolvedFace,
    TrueSurfaces,
    drawn_true_surfaces,
)
from spokecheck.wheel.shape.way import AS_GIVEN, Way
from spokecheck.wheel.shape.wheel_shape import WheelShape
from spokecheck.wheel.shape.zones import construction
from spokecheck.wheel.tables.design import Brief, Design
from spokecheck.wheel.tables.surface_names import SEATS


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
    zones : dict of str to float
        Mass [t] by zone.
    """

    mass: float
    centre: float
    polar: float
    transverse: float
    solid_gap: float | None
    zones: Mapping[str, float]


@dataclass(frozen=True)
class Wheel:
    """A meshed wheel: one sector of N, or the whole for N = 1.

    Attributes
    ----------
    design : Brief
        Design or sidecar file.
    shape : WheelShape or None
        As drawn; None for a wheel from elsewhere.
    landmarks : Landmarks
        A few measures of its shape.
    origin : Origin
        Drawn, or file and named surfaces.
    mesh : Mesh
        Second-order tetrahedra with named surfaces.
    cyclic : Cyclic
        Symmetry and the pairs of the two cuts.
    quality : MeshQuality
        Shape of the cells.
    weight : Weight
        Mass properties of the whole wheel.
    runout : dict of str to float
        Largest distance [mm] of each bead seat's points from the true surface.
    proof : MeshProof or None
        That the mesh meets the requirements; None for an unchecked mesh.
    faces : tuple of RevolvedFace
        Known faces of a solid from elsewhere.
    way : Way
        How it was meshed and is first solved.
    joined : Joined or None
        The two parts that its mesh is joined of; None once cells of it are halved.
    """

    design: Brief
    shape: WheelShape | None
    landmarks: Landmarks
    origin: Origin
    mesh: Mesh
    cyclic: Cyclic
    quality: MeshQuality
    weight: Weight
    runout: dict[str, float]
    proof: MeshProof | None = None
    faces: tuple[RevolvedFace, ...] = ()
    way: Way = AS_GIVEN
    joined: Joined | None = None

    @property
    def alloy(self) -> Alloy:
        """Alloy of spokes and hub."""
        return self._chosen_alloy(self.design.material.alloy)

    @property
    def rim_alloy(self) -> Alloy:
        """Alloy of the rim."""
        material = self.design.material
        return self._chosen_alloy(material.rim_alloy or material.alloy)

    @property
    def fallback(self) -> Fallback:
        """How its drawing departs from the design."""
        return AS_DRAWN if self.shape is None else self.shape.fallback

    @property
    def departures(self) -> tuple[Departure, ...]:
        """What is not drawn as asked for."""
        if self.shape is None:
            return self.origin.departures
        return departures(self.shape)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What its drawing leaves out, and where its mesh lies off the drawing."""
        drawn = drawing_remarks(self.design, self.fallback)
        return (*drawn, *self.origin.remarks, *surface_remarks(self.quality))

    @property
    def true_surfaces(self) -> TrueSurfaces | None:
        """Surfaces that its faces stand for; None where they are not known."""
        if self.shape is not None:
            return drawn_true_surfaces(self.shape.drawing)
        return TrueSurfaces(others=self.faces) if self.faces else None

    @property
    def construction(self) -> str:
        """Whether rim and disc are one piece or two."""
        return construction(self.design)

    @property
    def zones(self) -> Mapping[str, IntArray]:
        """Cells by zone; a mesh without zones is one."""
        return zone_cells(self.mesh)

    def alloy_of(self, zone: str) -> Alloy:
        """Alloy of a zone of the mesh."""
        return self.rim_alloy if zone == RIM else self.alloy

    def _chosen_alloy(self, name: str) -> Alloy:
        """Alloy by id, with the S-N line the design asks for."""
        metal = alloy(name)
        estimated = self.design.material.sn == "fkm"
        return with_estimated_line(metal) if estimated else metal


def build_wheel(
    design: Design,
    fineness: Fineness | None = None,
    fallbacks: Sequence[Fallback] = FALLBACKS,
    whole: bool = False,
) -> Wheel:
    """Draw and mesh a wheel.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    fineness : Fineness, optional
        How fine to mesh.
    fallbacks : sequence of Fallback, optional
        Drawings tried in order until one can be meshed soundly; ``Wheel.fallback`` is
        the one taken.
    whole : bool, optional
        Mesh the whole wheel, whatever its symmetry.

    Returns
    -------
    Wheel

    Raises
    ------
    MeshError
        If the CAD kernel or the mesher fails on every drawing, with the reason of the
        first.
    """
    meshed = mesh_soundly(design, fineness or Fineness(), fallbacks, whole)
    shape, mesh, cyclic = meshed.shape, meshed.mesh, meshed.cyclic
    material = design.material
    base, rim = alloy(material.alloy), alloy(material.rim_alloy or material.alloy)
    weight = weigh(mesh, cyclic, base, meshed.solid_volume, {RIM: rim})
    return Wheel(
        design,
        shape,
        drawn_landmarks(shape),
        Origin(),
        mesh,
        cyclic,
        meshed.quality,
        weight,
        _runout(shape, mesh),
        meshed.proof,
        way=meshed.way,
        joined=meshed.joined,
    )


def zone_cells(mesh: Mesh) -> Mapping[str, IntArray]:
    """Cells by zone; a mesh without zones is one."""
    return mesh.zones or {WHOLE: np.arange(mesh.n_cells)}


def weigh(
    mesh: Mesh,
    cyclic: Cyclic,
    material: Alloy,
    solid_volume: float | None,
    others: Mapping[str, Alloy] | None = None,
) -> Weight:
    """Mass properties of the whole wheel; ``solid_volume`` [mm^3] is that of a part.

    ``others`` names the zones that are not of ``material``.
    """
    # sums over the zones of one sector; the N sectors differ by turns about the axle
    alloys = dict(others or {})
    parts = {
        zone: bulk(
            replace(mesh, cells=mesh.cells[members]),
            alloys.get(zone, material).density,
        )
        for zone, members in zone_cells(mesh).items()
    }
    mass = sum(part.mass for part in parts.values())
    moment = sum(part.mass * float(part.centre[2]) for part in parts.values())
    inertia = cyclic.count * np.sum([part.inertia for part in parts.values()], axis=0)
    volume = sum(part.volume for part in parts.values())
    return Weight(
        mass=mass * cyclic.count,
        centre=moment / mass,
        polar=float(inertia[2, 2]),
        transverse=float((inertia[0, 0] + inertia[1, 1]) / 2.0),
        solid_gap=volume / solid_volume - 1.0 if solid_volume else None,
        zones={zone: part.mass * cyclic.count for zone, part in parts.items()},
    )


def _runout(shape: WheelShape, mesh: Mesh) -> dict[str, float]:
    """Distance of the bead seats' points from the drawn seat."""
    runout = {}
    for seat in SEATS:
        points = meridian(mesh.points[mesh.nodes(seat)])
        gaps = [distance_to(c, points) for c in shape.profile.curves if c.name == seat]
        runout[seat] = float(np.min(gaps, axis=0).max())
    return runout
