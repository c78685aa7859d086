"""What a user asks for: every choice of a run that is not the design's."""

from dataclasses import dataclass
from pathlib import Path

from spokecheck.screen.verdict import CLEARS

FIRST_PLACES = 5
"""Places that must settle unless the user says otherwise."""

MOST_MESHES = 5
"""Meshes tried unless the user says otherwise; the examples settle in three or four."""


@dataclass(frozen=True, kw_only=True)
class Request:
    """The choices of one run, from the command line to the pipeline and the cache.

    It is made before anything is read or imported.
    Every field can change a result, so every field is part of the cache's key.

    Attributes
    ----------
    fineness : float
        How fine the first mesh is; 2 halves every edge.
    tolerance : float
        Relative change that is left to the first hot spots.
    meshes : int
        Most meshes tried; 1 refines nothing.
    places : int
        Places that must settle, whatever their error bars; similar ones count as one.
    patch_half_angle : float or None
        Half-angle of the tyre's patch [deg], in place of the design's.
    procedures : tuple of str
        Test procedures, in place of those the design names.
    procedure_file : Path or None
        The user's own procedures.
    required_margin : float
        Margin from which a design clears, its error bar taken off.
    other_criteria, impact : bool
        Whether to add other criteria at the hot spots, and the impact indication.
    whole : bool
        Whether to mesh and solve the whole wheel, whatever its symmetry.
    drawing : int
        First of the drawings tried, ``wheel.shape.fallbacks``; 0 is as asked for.
    pictures, vtu : bool
        What to write beside JSON and page.
    mesh : Path or None
        Mesh or STEP file of a sidecar, in place of the one it names.
    """

    fineness: float = 1.0
    tolerance: float = 0.05
    meshes: int = MOST_MESHES
    places: int = FIRST_PLACES
    patch_half_angle: float | None = None
    procedures: tuple[str, ...] = ()
    procedure_file: Path | None = None
    required_margin: float = CLEARS
    other_criteria: bool = False
    impact: bool = False
    whole: bool = False
    drawing: int = 0
    pictures: bool = True
    vtu: bool = False
    mesh: Path | None = None

    @property
    def overrides(self) -> dict[str, object]:
        """Values that take the place of keys of the design file when it is read."""
        values = {
            "duty.patch_half_angle_deg": self.patch_half_angle,
            "duty.procedures": self.procedures or None,
            "mesh.file": None if self.mesh is None else self.mesh.name,
        }
        return {key: value for key, value in values.items() if value is not None}
