"""Findings on the wheel and its mesh, as the JSON has them."""

from dataclasses import dataclass
from typing import Literal

from spokecheck.screen.json_numbers import Length, Number, Share
from spokecheck.wheel.shape.departures import departure_text


@dataclass(frozen=True, kw_only=True)
class ZoneMass:
    """One zone of the mesh: its alloy, mass and number of cells."""

    zone: str
    alloy: str
    mass_kg: Number
    cells: int


@dataclass(frozen=True, kw_only=True)
class NamedArea:
    """A surface of a wheel that was not drawn here, and how it was identified."""

    name: str
    area_mm2: Number
    expected_mm2: Number
    how: str


@dataclass(frozen=True, kw_only=True)
class OriginFindings:
    """Where the wheel comes from.

    Attributes
    ----------
    kind : str
        ``drawn`` from a design file, a ``mesh`` file, or a ``solid`` meshed here.
    words : str
        The same in one line.
    file, sha256 : str
        Name and fingerprint of the file; empty for a drawn wheel.
    surfaces : tuple of NamedArea
        Those the tests need; none for a drawn wheel.
    """

    kind: Literal["drawn", "mesh", "solid"]
    words: str
    file: str
    sha256: str
    surfaces: tuple[NamedArea, ...]


@dataclass(frozen=True, kw_only=True)
class MeshFindings:
    """The finest mesh.

    Attributes
    ----------
    points, cells : int
    least_jacobian : float
        Share of the cell's largest.
    least_shape : float
        Inverse condition number; 1 is regular.
    straightened_cells : int
    surface_moved_mm : float
        Largest distance that made between mesh and drawing.
    surface_cells_taken_off : int
    """

    points: int
    cells: int
    least_jacobian: Number
    least_shape: Number
    straightened_cells: int
    surface_moved_mm: Length
    surface_cells_taken_off: int


@dataclass(frozen=True, kw_only=True)
class DepartureFindings:
    """A dimension that is not drawn as asked for."""

    key: str
    asked_mm: Number
    drawn_mm: Number
    because: str

    @property
    def text(self) -> str:
        """One line for every report."""
        return departure_text(self.key, self.asked_mm, self.drawn_mm, self.because)


@dataclass(frozen=True, kw_only=True)
class RingFindings:
    """The ring on which two parts were joined.

    Attributes
    ----------
    back_mm, face_mm : tuple of float
        Ends (r, z) of its line across the section.
    room_mm : float
        Least distance from holes, pockets, windows and roundings.
    rounding : str
        Rounding that it has to end on; empty if none.
    """

    back_mm: tuple[Length, Length]
    face_mm: tuple[Length, Length]
    room_mm: Length
    rounding: str


@dataclass(frozen=True, kw_only=True)
class WayFindings:
    """How the wheel was meshed and first solved.

    Attributes
    ----------
    name : str
        One sector, two parts joined, or the whole wheel.
    reason : str
        In words.
    ring : RingFindings or None
        Where parts were joined.
    """

    name: str
    reason: str
    ring: RingFindings | None


@dataclass(frozen=True, kw_only=True)
class WheelFindings:
    """The wheel as drawn and meshed.

    Attributes
    ----------
    symmetry_sectors : int
        Equal sectors.
    way : WayFindings
    alloy, rim_alloy : str
    construction : str
        One piece or two.
    mass_kg : float
    zones : tuple of ZoneMass
    centre_of_mass_mm : float
        From the rim centre plane, outboard positive.
    polar_inertia_kg_m2, transverse_inertia_kg_m2 : float
        About the axle, and about a diameter.
    mesh_volume_gap : float or None
        Mesh volume over drawn volume, less one; None where nothing was drawn.
    origin : OriginFindings
    runout_mm : dict of str to float
        Largest distance of each bead seat's points from the true circle.
    mesh : MeshFindings
    drawing_remarks : tuple of str
        What the drawing leaves out, or takes in at a price.
    drawing : int
        Which of the drawings was meshed; 0 is of the shape asked for.
    departures : tuple of DepartureFindings
        What is not drawn as asked for.
    """

    symmetry_sectors: int
    way: WayFindings
    alloy: str
    rim_alloy: str
    construction: str
    mass_kg: Number
    zones: tuple[ZoneMass, ...]
    centre_of_mass_mm: Length
    polar_inertia_kg_m2: Number
    transverse_inertia_kg_m2: Number
    mesh_volume_gap: Share | None
    origin: OriginFindings
    runout_mm: dict[str, Length]
    mesh: MeshFindings
    drawing_remarks: tuple[str, ...]
    drawing: int
    departures: tuple[DepartureFindings, ...]


@dataclass(frozen=True, kw_only=True)
class MeshLimits:
    """Limits that every mesh keeps, and what is wanted at the hot spots."""

    least_jacobian: float
    least_shape: float
    cut_gap_mm: float
    edges_per_quarter: float
    layers: int


@dataclass(frozen=True, kw_only=True)
class MeshRequirements:
    """What the mesh keeps, and where it falls short.

    Attributes
    ----------
    limits : MeshLimits
    checked : bool
        Whether the limits were checked.
    cut_gap_mm : float or None
        Largest gap of the two cuts; None for a mesh nobody has checked.
    short : tuple of str
        Where the final mesh falls short at hot spots, and by how much.
    """

    limits: MeshLimits
    checked: bool
    cut_gap_mm: Share | None
    short: tuple[str, ...]
