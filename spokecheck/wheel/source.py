"""Sources of a wheel: a design, a solid meshed here, or a mesh read from a file."""

import hashlib
import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path
from typing import Protocol

from scipy.spatial.transform import Rotation

from spokecheck.errors import DesignError, Fault, MeshError
from spokecheck.mesh.files import MeshFile
from spokecheck.mesh.reading_process import read_mesh_apart
from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel, build_wheel
from spokecheck.wheel.elsewhere.division import Division, counts_tried, divide
from spokecheck.wheel.elsewhere.identification import IdentifiedWheel, identify
from spokecheck.wheel.elsewhere.paired_files import mesh_files, paired_mesh
from spokecheck.wheel.meshing.dents import least_dented
from spokecheck.wheel.meshing.kernel.task import (
    RawMesh,
    Refinement,
    SolidTask,
    Symmetry,
    SymmetryTask,
)
from spokecheck.wheel.meshing.kernel_process import ask_kernel
from spokecheck.wheel.meshing.sizing import EDGES_PER_QUARTER, Fineness
from spokecheck.wheel.origin import Origin
from spokecheck.wheel.reading.read import NOTHING, read_brief
from spokecheck.wheel.shape.fallbacks import FALLBACKS
from spokecheck.wheel.shape.way import solid_way
from spokecheck.wheel.tables.design import Brief, Design
from spokecheck.wheel.tables.sidecar import Sidecar, Triple

SOLIDS = (".step", ".stp")

BLOCK = 1 << 20
"""Bytes of a file that are read at a time."""

WALL_SHARE = 0.7
"""Largest edge on a solid without names, as a share of that away from everything: the
share of drawn spokes."""

POLYGONS = (
    "the mesh was not refined, since its cells have straight edges and its roundings "
    "are polygons: the error bar is the estimate alone"
)

SMALLEST = 2.0
"""Least edge [mm] at fineness 1 that curvature alone may ask for."""


class Source(Protocol):
    """Source of a wheel, which can be built again with finer meshes."""

    @property
    def brief(self) -> Brief:
        """Design or sidecar file."""
        ...

    @property
    def fixed(self) -> str:
        """Why its mesh cannot be refined; empty if it can."""
        ...

    def build(self, fineness: Fineness) -> Wheel:
        """Meshed wheel."""
        ...

    def undivided(self) -> "Source":
        """Source that meshes the whole wheel, whatever its symmetry."""
        ...


@dataclass(frozen=True)
class Drawn:
    """A design file.

    Attributes
    ----------
    brief : Design
    whole : bool
        Mesh the whole wheel, whatever its symmetry.
    drawing : int
        First of the drawings tried.
    """

    brief: Design
    fixed: str = ""
    whole: bool = False
    drawing: int = 0

    def build(self, fineness: Fineness) -> Wheel:
        """Draw and mesh the wheel."""
        tried = FALLBACKS[self.drawing :]
        return build_wheel(self.brief, fineness, tried, self.whole)

    def undivided(self) -> "Drawn":
        """Mesh the whole wheel."""
        return replace(self, whole=True)


@dataclass(frozen=True)
class MeshedElsewhere:
    """A mesh file and its sidecar.

    Attributes
    ----------
    brief : Sidecar
    wheel : IdentifiedWheel
    """

    brief: Sidecar
    wheel: IdentifiedWheel

    @property
    def fixed(self) -> str:
        """Why straight cells are not refined: finer polygons are no rounder."""
        return POLYGONS if self.wheel.file.straight else ""

    def build(self, fineness: Fineness) -> Wheel:
        """Identify the surfaces of the mesh, which stays as it is."""
        return identify(self.wheel)

    def undivided(self) -> "MeshedElsewhere":
        """There is no choice."""
        return self


@dataclass(frozen=True)
class SolidFile:
    """A STEP file and its sidecar.

    Attributes
    ----------
    brief : Sidecar
    source : str
        Sidecar's file, for messages.
    path : Path
        STEP file.
    origin : Origin
    whole : bool
        Mesh the whole solid, however many sectors the sidecar names.
    """

    brief: Sidecar
    source: str
    path: Path
    origin: Origin
    fixed: str = ""
    whole: bool = False

    def undivided(self) -> "SolidFile":
        """Mesh the whole solid."""
        return replace(self, whole=True)

    def build(self, fineness: Fineness) -> Wheel:
        """Mesh the solid and identify its surfaces."""
        return least_dented(partial(self._once, fineness))

    @cached_property
    def division(self) -> Division:
        """Its sectors and mirror plane, found once.

        Raises
        ------
        DesignError
            If the sidecar asks for more sectors than there are.
        MeshError
            If it asks for sectors and the symmetry could not be found.
        """
        counts = (1,) if self.whole else counts_tried(self.brief)
        found = ask_kernel(SymmetryTask(*self._placed, counts), Symmetry)
        if self.whole and isinstance(found, Symmetry):
            return Division(1, found.mirror)
        if isinstance(found, Symmetry):
            return divide(found, self.brief, self.source)
        why = f"the symmetry of the solid was not found: {found}"
        if not self.whole and (self.brief.mesh.sectors or 1) > 1:
            raise MeshError(f"{self.path}: {why}; give mesh.sectors = 1")
        return Division(1, None, (), (f"{why}; the whole wheel is meshed",))

    @property
    def _placed(self) -> tuple[Path, Triple, Triple, float]:
        """File, and how its solid comes into our frame."""
        table = self.brief.mesh
        turn = _triple(Rotation.from_matrix(table.axes).as_rotvec())
        return self.path, table.centre, turn, table.unit_mm

    def _once(self, fineness: Fineness, refinements: Sequence[Refinement]) -> Wheel:
        division = self.division
        task = SolidTask(
            *self._placed,
            division.sectors,
            WALL_SHARE * fineness.largest,
            SMALLEST / fineness.factor,
            4.0 * EDGES_PER_QUARTER * fineness.factor,
            tuple(refinements),
            division.avoided,
        )
        raw = ask_kernel(task, RawMesh)
        if not isinstance(raw, RawMesh):
            raise MeshError(f"{self.path}: {raw}; mesh it elsewhere and give the mesh")
        cuts = {name: faces[:, :3] for name, faces in raw.mesh.surfaces.items()}
        file = MeshFile(raw.mesh.points, raw.mesh.cells, cuts)
        wheel = identify(
            IdentifiedWheel(
                self.source,
                self.brief.with_symmetry(division.sectors, division.mirror),
                file,
                replace(
                    self.origin,
                    remarks=division.remarks,
                    departures=division.left_out,
                    symmetry=division.words,
                ),
                raw.solid_volume,
                raw.cyclic,
            )
        )
        way = solid_way(division.sectors, self.whole)
        return replace(wheel, faces=raw.faces, way=way)


def _triple(point: FloatArray) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])


def read_source(
    path: Path, mesh: Path | None = None, overrides: Mapping[str, object] = NOTHING
) -> Source:
    """Read a design, or a sidecar with its mesh or STEP file.

    Parameters
    ----------
    path : Path
        Design file, or sidecar of a mesh or STEP file.
    mesh : Path, optional
        Mesh or STEP file; else the one the sidecar names, or the sidecar's own name
        without ``.toml``.
    overrides : mapping of str to object, optional
        Values given in place of those of the design file or sidecar, by key.

    Returns
    -------
    Source

    Raises
    ------
    InputError
        If a file has faults.
    """
    named = {} if mesh is None else {"mesh.file": mesh.name}
    brief = read_brief(path, {**overrides, **named})
    if isinstance(brief, Design):
        return Drawn(brief)
    file = mesh or paired_mesh(path, brief.mesh.file)
    if not os.path.isfile(file):
        fault = Fault(
            "mesh.file", str(file), "no such file", "check the path, or give --mesh"
        )
        raise DesignError(str(path), [fault], "sidecar file")
    parts = mesh_files(file)
    digest = _digest(parts)
    if file.suffix.lower() in SOLIDS:
        return SolidFile(brief, str(path), file, Origin("solid", file.name, digest))
    origin = Origin("mesh", file.name, digest)
    raw = read_mesh_apart(parts)
    moved = replace(raw, points=brief.mesh.to_frame(raw.points))
    identified = IdentifiedWheel(str(path), brief, moved, origin)
    return MeshedElsewhere(brief, identified)


def _digest(files: Sequence[Path]) -> str:
    """SHA-256 of the bytes of all files, one after another."""
    digest = hashlib.sha256()
    for path in files:
        with (
            suppress(OSError),
            path.open("rb") as file,
        ):  # the reader says what is wrong
            while block := file.read(BLOCK):
                digest.update(block)
    return digest.hexdigest()
