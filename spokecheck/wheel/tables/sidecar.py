"""The sidecar file: what the mesh or STEP file of a wheel does not contain.

It shares the tables of the design file as far as they make sense for a wheel that is
not drawn, and adds where the mesh or solid lies and how it stands.
"""

import difflib
from typing import Annotated, Self

import numpy as np
from pydantic import Field, PrivateAttr, field_validator

from spokecheck.units import FloatArray
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.key_fields import StrictTable
from spokecheck.wheel.tables.spokes_table import SpokeCount
from spokecheck.wheel.tables.surface_names import NAMEABLE

LONGEST_NAME = 255
"""Bytes of a file's name that common file systems take."""

Triple = tuple[float, float, float]
Groups = str | Annotated[tuple[str, ...], Field(strict=False)]
"""One group, or a list of them."""


class MeshTable(StrictTable):
    """Where the mesh or solid lies, and how it stands in its own coordinates."""

    file: str | None = Field(
        default=None,
        description="Mesh or STEP file, beside this one; else this file's name without "
        ".toml",
    )
    unit_mm: float = Field(
        default=1.0, gt=0, le=10000, description="Length of the mesh's unit [mm]"
    )
    centre: Triple = Field(
        default=(0.0, 0.0, 0.0),
        strict=False,
        description="Where the axle meets the rim centre plane, in the mesh's unit",
    )
    direction: Triple = Field(
        default=(0.0, 0.0, 1.0),
        strict=False,
        description="Along the axle, towards the face (outboard)",
    )

    sectors: int | None = Field(
        default=None,
        ge=1,
        le=24,
        description="Equal sectors of a STEP solid, of which one is cut out and "
        "meshed; found by its shape if not given, 1 meshes the whole wheel",
    )
    suppress_small_features: bool = Field(
        default=False,
        description="Leave out small features of a STEP solid that break its "
        "symmetry, such as a valve hole or a mark",
    )

    @field_validator("file")
    @classmethod
    def _is_beside(cls, name: str | None) -> str | None:
        if name is None:
            return name
        if name in ("", ".", "..") or "/" in name or "\\" in name:
            raise ValueError("must be the name of a file beside this one, no folder")
        if len(name.encode("utf-8")) > LONGEST_NAME:
            raise ValueError(f"must have {LONGEST_NAME} bytes at most")
        return name

    @field_validator("direction")
    @classmethod
    def _has_length(cls, value: Triple) -> Triple:
        if not float(np.linalg.norm(value)) > 0.0:
            raise ValueError("need a direction, not three zeros")
        return value

    @property
    def axes(self) -> FloatArray:
        """Rows (3, 3): our x, y and z in the mesh's coordinates."""
        z = np.array(self.direction) / np.linalg.norm(self.direction)
        seed = np.eye(3)[0 if abs(z[0]) < 0.9 else 1]
        x = seed - (seed @ z) * z
        x = x / np.linalg.norm(x)
        return np.array([x, np.cross(z, x), z])

    def to_frame(self, points: FloatArray) -> FloatArray:
        """Points (n, 3) of the mesh in our frame [mm]."""
        off = (points - np.array(self.centre)) * self.unit_mm
        return np.asarray(off @ self.axes.T)

    def from_frame(self, points: FloatArray) -> FloatArray:
        """Points (n, 3) of our frame [mm] in the mesh's coordinates."""
        return np.asarray(points @ self.axes / self.unit_mm + np.array(self.centre))


class Sidecar(Brief):
    """A whole sidecar file."""

    mesh: MeshTable
    spokes: SpokeCount = Field(default_factory=SpokeCount)
    surfaces: dict[str, Groups] = Field(
        default_factory=dict,
        description="Group or groups of the mesh file that make up a surface, by name",
    )

    _sectors: int = PrivateAttr(default=1)
    _mirror: float | None = PrivateAttr(default=None)

    def with_symmetry(self, sectors: int, mirror: float | None) -> Self:
        """The same record, noting the symmetry of the solid.

        Parameters
        ----------
        sectors : int
            Number of equal sectors.
        mirror : float or None
            Angle [rad] of a plane through the axle that maps it onto itself.
        """
        noted = self.model_copy()
        noted._sectors, noted._mirror = sectors, mirror
        return noted

    @property
    def counts_spokes(self) -> bool:
        """Whether the file says how many spokes are equal."""
        return "count" in self.spokes.model_fields_set

    @property
    def copies_alike(self) -> int:
        """Number of equal spokes; of equal sectors, where spokes are not counted."""
        return self.spokes.count if self.counts_spokes else self._sectors

    @property
    def mirror_plane(self) -> float | None:
        """Angle [rad] of a plane through the axle that maps the wheel onto itself."""
        return self._mirror

    @field_validator("surfaces")
    @classmethod
    def _are_known(cls, surfaces: dict[str, Groups]) -> dict[str, Groups]:
        for name in surfaces:
            if name not in NAMEABLE:
                near = difflib.get_close_matches(name, NAMEABLE, 1, 0.5)
                hint = f"did you mean {near[0]}" if near else ", ".join(NAMEABLE)
                raise ValueError(f"no surface is called {name}: {hint}")
        return surfaces

    def groups(self, name: str) -> tuple[str, ...]:
        """Groups named for a surface; none if it is to be identified by shape."""
        names = self.surfaces.get(name, ())
        return (names,) if isinstance(names, str) else names
