"""What a user asks for: every choice of a run that is not the design's."""

from dataclasses import dataclass
from pathlib import Path

MOST_PASSES = 5
"""Meshes tried unless told otherwise; the examples settle in three or four."""


@dataclass(frozen=True)
class Request:
    """Choices as they stand on the command line, before anything is read or imported.

    Every field can change a result, so every field is part of the cache's key.

    Attributes
    ----------
    fineness : float
        How fine to mesh at first; 2 halves every edge.
    tolerance : float
        Share that the first hot spots may move.
    passes : int
        Most meshes tried.
    remesh : bool
        Whether to make finer meshes anew.
    patch_angle : float or None
        Half-angle of the tyre's patch [deg]; None takes the design's.
    procedures : tuple of str
        Test procedures; empty takes those the design names.
    procedure_file : Path or None
        The user's own procedures.
    beside, impact : bool
        Whether to find other criteria, and to add the impact indication.
    pictures, vtu : bool
        What to write beside JSON and page.
    mesh : Path or None
        Mesh or STEP file of a sidecar that does not name it.
    """

    fineness: float = 1.0
    tolerance: float = 0.05
    passes: int = MOST_PASSES
    remesh: bool = False
    patch_angle: float | None = None
    procedures: tuple[str, ...] = ()
    procedure_file: Path | None = None
    beside: bool = False
    impact: bool = False
    pictures: bool = True
    vtu: bool = False
    mesh: Path | None = None
