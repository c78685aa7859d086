"""How to screen: every choice that is not the design's."""

from dataclasses import dataclass, field

from spokecheck.cases.library import Book, read_procedures
from spokecheck.screen.adapt import RefinementLimits
from spokecheck.screen.request import Request
from spokecheck.wheel.meshing.sizing import Fineness


@dataclass(frozen=True)
class Options:
    """How to screen.

    Attributes
    ----------
    fineness : Fineness
        How fine to mesh at first.
    limits : RefinementLimits
        When the hot spots stand still, and when to give up.
    procedures : tuple of str
        Test procedures; empty takes those the design names.
    book : mapping of str to Procedure
        Where procedures are looked up.
    half_angle : float or None
        Half-angle of the tyre's patch [deg]; None takes the design's.
    clamped : str or None
        Flange held in the cornering test; None takes the procedure's.
    beside : bool
        Whether to find other criteria at the hot spots.
    impact : bool
        Whether to add the indication for the 13-degree impact.
    remesh : bool
        Whether to mesh the whole wheel anew for each round, rather than halve cells.
    """

    fineness: Fineness = field(default_factory=Fineness)
    limits: RefinementLimits = field(default_factory=RefinementLimits)
    procedures: tuple[str, ...] = ()
    book: Book = field(default_factory=read_procedures, repr=False)
    half_angle: float | None = None
    clamped: str | None = None
    beside: bool = False
    impact: bool = False
    remesh: bool = False


def read_options(request: Request) -> Options:
    """Options that a request asks for.

    Raises
    ------
    InputError
        If its procedure file has faults.
    """
    return Options(
        fineness=Fineness(request.fineness),
        limits=RefinementLimits(request.tolerance, request.passes),
        procedures=request.procedures,
        book=read_procedures(request.procedure_file),
        half_angle=request.patch_angle,
        beside=request.beside,
        impact=request.impact,
        remesh=request.remesh,
    )
