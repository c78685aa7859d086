"""Origin of a meshed wheel, and of the names of its surfaces."""

from dataclasses import dataclass
from typing import Literal

from spokecheck.wheel.shape.departures import Departure


@dataclass(frozen=True)
class IdentifiedSurface:
    """A surface of a wheel that was not drawn here.

    Attributes
    ----------
    name : str
    area : float
        [mm^2].
    expected : float
        By the sidecar's measures [mm^2].
    how : str
        Named in the file, or identified by shape.
    named : bool
        Whether the file names it.
    """

    name: str
    area: float
    expected: float
    how: str
    named: bool = False

    @property
    def share(self) -> float:
        """Area over the expected one."""
        return self.area / self.expected


@dataclass(frozen=True)
class Origin:
    """Where a wheel comes from.

    Attributes
    ----------
    kind : str
        ``drawn`` from a design file, a ``mesh`` file, or a ``solid`` meshed here.
    file : str
        Name of the file; empty for a drawn wheel.
    sha256 : str
        Of its bytes.
    surfaces : tuple of IdentifiedSurface
        Those the tests need.
    remarks : tuple of str
        What breaks its symmetry, and surfaces of an unexpected area.
    symmetry : str
        What was found of a solid's shape.
    departures : tuple of Departure
        Features left out on request.
    """

    kind: Literal["drawn", "mesh", "solid"] = "drawn"
    file: str = ""
    sha256: str = ""
    surfaces: tuple[IdentifiedSurface, ...] = ()
    remarks: tuple[str, ...] = ()
    departures: tuple[Departure, ...] = ()
    symmetry: str = ""

    @property
    def description(self) -> str:
        """In one line."""
        if self.kind == "drawn":
            return "drawn from the design file"
        what = "meshed elsewhere" if self.kind == "mesh" else "solid meshed here"
        found = f"; {self.symmetry}" if self.symmetry else ""
        return f"{what}: {self.file}, SHA-256 {self.sha256}{found}"
