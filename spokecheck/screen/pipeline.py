"""The whole chain, from a design to a ranked list of hot spots: the map of the house.

design -> wheel -> body -> load cases -> stress histories -> hot spots -> verdict
"""

from dataclasses import dataclass, field

from spokecheck.cases.impact import drop
from spokecheck.cases.library import Book, read_procedures
from spokecheck.cases.procedure import requirements
from spokecheck.screen.hotspots import outer_surface
from spokecheck.screen.impact import indicate_impact
from spokecheck.screen.loaded import design_bead, load_wheel, wheel_body
from spokecheck.screen.ranking import rank, worst_first
from spokecheck.screen.results import Screening
from spokecheck.screen.stages import Progress, StageClock
from spokecheck.screen.verdict import judge
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.design import Design
from spokecheck.wheel.sizing import Fineness


@dataclass(frozen=True)
class Options:
    """How to screen.

    Attributes
    ----------
    fineness : Fineness
        How fine to mesh.
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
    """

    fineness: Fineness = field(default_factory=Fineness)
    procedures: tuple[str, ...] = ()
    book: Book = field(default_factory=read_procedures, repr=False)
    half_angle: float | None = None
    clamped: str | None = None
    beside: bool = False
    impact: bool = False


def screen(
    design: Design,
    options: Options | None = None,
    progress: Progress = lambda stage: None,
) -> Screening:
    """Screen one design.

    Parameters
    ----------
    design : Design
        A design without faults.
    options : Options, optional
        How to screen.
    progress : callable, optional
        Told the name of each stage as it begins.

    Returns
    -------
    Screening

    Raises
    ------
    SpokecheckError
        If the wheel cannot be meshed or solved.
    """
    options = options or Options()
    wanted = requirements(design, options.procedures, options.book)
    bead = design_bead(design, options.half_angle)
    fall = drop(design, options.procedures, options.book) if options.impact else None
    clock = StageClock(progress)
    clock.begin("mesh")
    wheel = build_wheel(design, options.fineness)
    clock.begin("stiffness")
    body = wheel_body(wheel)
    surface = outer_surface(wheel)
    loaded = {}
    for setup in dict.fromkeys(requirement.setup for requirement in wanted):
        clock.begin(setup.test)
        largest = max((r for r in wanted if r.setup == setup), key=lambda r: r.load)
        loaded[setup] = load_wheel(wheel, body, surface, largest, bead, options.clamped)
    clock.begin("hot spots")
    tests = tuple(
        rank(wheel, surface, loaded[r.setup], r, options.beside) for r in wanted
    )
    spots = worst_first(spot for test in tests for spot in test.spots)
    verdict = judge(spots[0].margin)
    struck = None
    if fall is not None:
        clock.begin("impact")
        struck = indicate_impact(wheel, body, surface, fall)
    return Screening(wheel, surface, tests, spots, verdict, clock.end(), struck)
