"""What the mesher is given and what it gives back."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Drawing
from spokecheck.wheel.shape.true_surface import RevolvedFace


@dataclass(frozen=True)
class Refinement:
    """A refinement sphere, in which the mesh is finer.

    Attributes
    ----------
    centre : tuple of float
        x, y, z [mm].
    size : float
        Edge length inside [mm].
    radius : float
        Radius of the sphere [mm]; outside, edges grow over as much again.
    """

    centre: tuple[float, float, float]
    size: float
    radius: float


@dataclass(frozen=True)
class MeshTask:
    """A drawing and how fine to mesh it.

    Attributes
    ----------
    drawing : Drawing
    sizes : dict of str to float
        Edge length [mm] of named surfaces that differ from the largest.
    largest : float
        Largest edge [mm].
    refinements : tuple of Refinement
        Where to mesh finer still.
    trial : int
        Number of the first of ``TRIALS`` to be made.
    """

    drawing: Drawing
    sizes: Mapping[str, float]
    largest: float
    refinements: tuple[Refinement, ...] = ()
    trial: int = 0

    @property
    def turns(self) -> tuple[float, ...]:
        """Angles [rad] of the sector and its neighbours, from its own."""
        span = self.drawing.span
        return (0.0,) if self.drawing.count == 1 else (-span, 0.0, span)


@dataclass(frozen=True)
class RawMesh:
    """What gmsh gives back: a mesh with named surfaces and the pairs of its cuts.

    Attributes
    ----------
    mesh : Mesh
        Second-order tetrahedra with mid-side nodes on the true surface.
    cyclic : Cyclic
    solid_volume : float
        Volume of the CAD solid [mm^3].
    faces : tuple of RevolvedFace
        Known faces of a solid from elsewhere.
    trial : int
        Number of the trial that a drawing was meshed at.
    """

    mesh: Mesh
    cyclic: Cyclic
    solid_volume: float
    faces: tuple[RevolvedFace, ...] = ()
    trial: int = 0


@dataclass(frozen=True)
class StepTask:
    """A drawing to be written as a CAD solid.

    Attributes
    ----------
    drawing : Drawing
        Drawn as a whole, whatever its symmetry.
    path : Path
        File to write.
    """

    drawing: Drawing
    path: Path


@dataclass(frozen=True)
class MshTask:
    """A mesh to be written as MSH 4.1.

    Attributes
    ----------
    mesh : Mesh
        Surfaces and zones become physical groups of their name.
    path : Path
        File to write.
    """

    mesh: Mesh
    path: Path


@dataclass(frozen=True)
class Exported:
    """What was written.

    Attributes
    ----------
    volume : float
        Of the CAD solid, or 0 where none was built [mm^3].
    """

    volume: float = 0.0


@dataclass(frozen=True)
class PlacedSolid:
    """A STEP file, and how its solid comes into our frame.

    Attributes
    ----------
    path : Path
    centre : tuple of float
        Our origin in the file's coordinates.
    turn : tuple of float
        Rotation vector [rad] that takes the file's axes to ours.
    unit : float
        Length of the file's unit [mm].
    """

    path: Path
    centre: tuple[float, float, float]
    turn: tuple[float, float, float]
    unit: float


@dataclass(frozen=True)
class SolidTask(PlacedSolid):
    """A STEP file to be meshed in our frame.

    Attributes
    ----------
    sectors : int
        Equal sectors; one is cut out and meshed if there is more than one.
    largest, smallest : float
        Bounds of the edges.
    per_turn : float
        Edges on a full turn of a curved face.
    refinements : tuple of Refinement
        Where to mesh finer still.
    avoided : tuple of (float, float)
        Angles from, to [rad] that the sector must not reach into.
    """

    sectors: int
    largest: float
    smallest: float
    per_turn: float
    refinements: tuple[Refinement, ...] = ()
    avoided: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class SymmetryTask(PlacedSolid):
    """A STEP file whose symmetry is looked for.

    Attributes
    ----------
    counts : tuple of int
        Numbers of sectors to try.
    """

    counts: tuple[int, ...]


@dataclass(frozen=True)
class Break:
    """A place where a solid differs from its turned copies.

    Attributes
    ----------
    radius, angle, z : float
        Its middle [mm, rad, mm].
    across : float
        Its largest extent along the radius, round the axle or along it [mm].
    half_angle : float
        What it takes up on either side of its angle [rad].
    depth : float
        Largest distance from the surface of the copies, up to 1 [mm].
    area : float
        Of the faces that are found here alone [mm^2].
    faces : int
        Their number.
    """

    radius: float
    angle: float
    z: float
    across: float
    half_angle: float
    depth: float
    area: float
    faces: int


@dataclass(frozen=True)
class Symmetry:
    """Symmetry of a solid about the axle.

    Attributes
    ----------
    sectors : int
        Largest number of equal sectors among those tried; 1 for none.
    mirror : float or None
        Angle [rad] of a plane through the axle that maps the solid onto itself.
    nearly : int
        Number of sectors it would have but for the breaks; ``sectors`` without any.
    nearly_mirror : float or None
        The plane, but for the breaks.
    breaks : tuple of Break
        The largest first.
    outermost : ndarray (n, 2)
        x, y of the points of its surface that no other lies outside of [mm].
    """

    sectors: int
    mirror: float | None
    nearly: int
    nearly_mirror: float | None
    breaks: tuple[Break, ...] = ()
    outermost: FloatArray = field(
        default_factory=lambda: np.empty((0, 2)), compare=False
    )
