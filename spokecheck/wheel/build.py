"""From a design to a meshed wheel, with what can be said of it before any load."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from spokecheck.errors import MeshError
from spokecheck.fatigue.alloys import Alloy, alloy, with_estimated_line
from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.quality import Quality, bulk, straighten
from spokecheck.mesh.record import Mesh
from spokecheck.units import IntArray
from spokecheck.wheel.contract import Kept, keep_contract
from spokecheck.wheel.curves import distance_to
from spokecheck.wheel.design import Brief, Design
from spokecheck.wheel.drawing import RIM, WHOLE
from spokecheck.wheel.kernel.task import RawMesh, Refinement
from spokecheck.wheel.landmarks import Landmarks, drawn_landmarks
from spokecheck.wheel.mesher import mesh_shape
from spokecheck.wheel.origin import Origin
from spokecheck.wheel.shape import WheelShape, draw_wheel
from spokecheck.wheel.sizing import Fineness
from spokecheck.wheel.surfaces import meridian
from spokecheck.wheel.zones import construction

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
    kept : Kept or None
        That the mesh keeps the contract; None for a mesh nobody has checked.
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
    kept: Kept | None = None

    @property
    def alloy(self) -> Alloy:
        """Alloy of spokes and hub."""
        return self._as_told(self.design.material.alloy)

    @property
    def rim_alloy(self) -> Alloy:
        """Alloy of the rim."""
        material = self.design.material
        return self._as_told(material.rim_alloy or material.alloy)

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

    def _as_told(self, name: str) -> Alloy:
        """Alloy by id, with the S-N line the design asks for."""
        known = alloy(name)
        estimated = self.design.material.sn == "fkm"
        return with_estimated_line(known) if estimated else known


FINER = 1.15
"""How much finer a wheel is meshed that could not be meshed soundly as asked."""


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
    fineness = fineness or Fineness()
    try:
        raw, mesh, quality, kept = _sound_mesh(shape, fineness, refinements)
    except MeshError:  # by chance of the mesher, as a rule: once more, a little finer
        finer = Fineness(FINER * fineness.factor)
        raw, mesh, quality, kept = _sound_mesh(shape, finer, refinements)
    material = design.material
    base, rim = alloy(material.alloy), alloy(material.rim_alloy or material.alloy)
    weight = weigh(mesh, raw.cyclic, base, raw.solid_volume, {RIM: rim})
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
        kept,
    )


def _sound_mesh(
    shape: WheelShape, fineness: Fineness, refinements: Sequence[Refinement]
) -> tuple[RawMesh, Mesh, Quality, Kept]:
    """Mesh without folded cells, its quality, and the contract it keeps."""
    raw = mesh_shape(shape, fineness, refinements)
    mesh, quality = straighten(raw.mesh, raw.cyclic.pairs)
    return raw, mesh, quality, keep_contract(mesh, raw.cyclic, quality)


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
    found = {}
    for seat in SEATS:
        at = meridian(mesh.points[mesh.nodes(seat)])
        gaps = [distance_to(c, at) for c in shape.profile.curves if c.name == seat]
        found[seat] = float(np.min(gaps, axis=0).max())
    return found
