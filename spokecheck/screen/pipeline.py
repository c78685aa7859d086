"""The whole chain, from a design to a ranked list of hot spots: the map of the house.

design -> wheel -> body -> load cases -> stress histories -> hot spots -> verdict
"""

from dataclasses import dataclass, field

from spokecheck.cases.procedure import requirements
from spokecheck.cases.radial import BeadLoad
from spokecheck.screen.hotspots import outer_surface
from spokecheck.screen.loaded import load_wheel, wheel_body
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
    procedure : str
        Test procedure.
    bead : BeadLoad
        How the drum load reaches the rim.
    clamped : str or None
        Flange held in the cornering test; None takes the procedure's.
    """

    fineness: Fineness = field(default_factory=Fineness)
    procedure: str = "un-r124"
    bead: BeadLoad = field(default_factory=BeadLoad)
    clamped: str | None = None


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
    clock = StageClock(progress)
    clock.begin("mesh")
    wheel = build_wheel(design, options.fineness)
    clock.begin("stiffness")
    body = wheel_body(wheel)
    surface = outer_surface(wheel)
    wanted = requirements(design, options.procedure)
    loaded = {}
    for test in dict.fromkeys(requirement.test for requirement in wanted):
        clock.begin(test)
        largest = next(r for r in wanted if r.test == test)
        loaded[test] = load_wheel(
            wheel, body, surface, largest, options.bead, options.clamped
        )
    clock.begin("hot spots")
    tests = tuple(rank(wheel, surface, loaded[r.test], r) for r in wanted)
    spots = worst_first(spot for test in tests for spot in test.spots)
    verdict = judge(spots[0].margin)
    return Screening(wheel, surface, tests, spots, verdict, clock.end())
