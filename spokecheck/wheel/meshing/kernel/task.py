"""What the mesher is given and what it gives back."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.record import Mesh
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
    """

    drawing: Drawing
    sizes: Mapping[str, float]
    largest: float
    refinements: tuple[Refinement, ...] = ()


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
    """

    mesh: Mesh
    cyclic: Cyclic
    solid_volume: float
    faces: tuple[RevolvedFace, ...] = ()


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
class SolidTask:
    """A STEP file to be meshed in our frame.

    Attributes
    ----------
    path : Path
    centre : tuple of float
        Our origin in the file's coordinates.
    turn : tuple of float
        Rotation vector [rad] that takes the file's axes to ours.
    unit : float
        Length of the file's unit [mm].
    sectors : int
        Equal sectors; one is cut out and meshed if there is more than one.
    largest, smallest : float
        Bounds of the edges.
    per_turn : float
        Edges on a full turn of a curved face.
    refinements : tuple of Refinement
        Where to mesh finer still.
    """

    path: Path
    centre: tuple[float, float, float]
    turn: tuple[float, float, float]
    unit: float
    sectors: int
    largest: float
    smallest: float
    per_turn: float
    refinements: tuple[Refinement, ...] = ()
