"""Every planted fault is seen by every case that is named beside it.

Each case is first run on the sound code, and must be green.
"""

import pytest

from spokecheck.fem import assembly, grid_convergence, stress
from spokecheck.handbook.catalogue import CASES
from tests.verification.faults_judged import FATIGUE, SPOTS
from tests.verification.faults_solved import SOLID, WHEEL
from tests.verification.planted import (
    Case,
    Constant,
    Fault,
    MissedError,
    Wrong,
    find,
    handbook,
    is_green,
    is_seen,
)
from tests.verification.targets import TARGETS, mass_too_high, scaled, wrong

FAULTS = (*SOLID, *WHEEL, *SPOTS, *FATIGUE)
ROWS = [
    pytest.param(fault, id=fault.name, marks=pytest.mark.slow if fault.slow else [])
    for fault in FAULTS
]


@pytest.fixture(scope="module")
def sound():
    """Whether a case is green on the sound code; each is run once."""
    known = {}

    def green(case):
        if case.name not in known:
            known[case.name] = is_green(case)
        return known[case.name]

    return green


@pytest.mark.parametrize("fault", ROWS)
def test_a_fault_is_seen(fault, sound):
    """Each case named beside a fault is green without it and red with it."""
    assert len(fault.cases) >= 2
    assert [case.name for case in fault.cases if not sound(case)] == []
    assert [case.name for case in fault.cases if not is_seen(fault, case)] == []


@pytest.mark.parametrize("target", TARGETS.values())
def test_every_target_is_there(target):
    """No fault patches a name that is gone."""
    find(target)


def test_every_handbook_case_sees_a_fault():
    """None of them stands in no row: a check that cannot fail is none."""
    named = {case.name.split()[0] for fault in FAULTS for case in fault.cases}
    assert {case.id for case in CASES} <= named


def test_rows_and_cases_have_names_of_their_own():
    """No two faults share a name, and no fault names a case twice."""
    assert len({fault.name for fault in FAULTS}) == len(FAULTS)
    for fault in FAULTS:
        names = [case.name for case in fault.cases]
        assert len(set(names)) == len(names), fault.name


def unseen(*patches):
    """A fault that is planted in a row of one quick case."""
    return is_seen(Fault("tried", patches, ()), handbook("p09", 1))


@pytest.mark.parametrize(
    "target",
    ["fem.assembly:cell_stifness", "fem.assemblx:x", "fem.loads:FaceSamples.x"],
)
def test_a_patch_of_a_missing_name_is_an_error(target):
    """It is no fault that nobody sees, and none that everybody does."""
    with pytest.raises(MissedError, match=target):
        unseen(Wrong(target, scaled(1.1)))


def test_a_patch_that_does_not_run_is_an_error():
    """Even beside another that does, and turns the case red."""
    mass = wrong("mass", mass_too_high)
    with pytest.raises(MissedError, match="mass_blocks: did not run in p09"):
        unseen(wrong("cell stiffness", scaled(1.1)), mass)


def test_a_constant_must_be_read_by_its_reader():
    """A reader that no longer reads it is an error."""
    stale = Constant(
        "fem.grid_convergence:LEAST_BAR", 1.0, "fem.grid_convergence:observed_order"
    )
    with pytest.raises(MissedError, match="does not read LEAST_BAR"):
        unseen(stale)


def test_a_slip_of_the_fault_is_not_a_red_case():
    """A patch that does not fit its target stops the row with its own error."""
    with pytest.raises(TypeError):
        unseen(wrong("cell stiffness", lambda right: lambda: None))


def test_a_harmless_patch_is_not_seen():
    """A function put in its own place leaves the case green."""
    assert not unseen(wrong("cell stiffness", scaled(1.0)))


def test_nothing_stays_planted():
    """After a row functions and constants are what they were, wherever imported."""
    before = assembly.cell_stiffness, stress.cell_stress, grid_convergence.NOISE
    noise = Constant(
        "fem.grid_convergence:NOISE", 1.0, "fem.grid_convergence:grid_convergence"
    )
    patches = (wrong("cell stiffness", scaled(1.1)), wrong("stress", scaled(1.1)))
    fault = Fault("tried", (*patches, noise), ())

    def crash():
        assert grid_convergence.NOISE == 1.0
        assert assembly.cell_stiffness is not before[0]
        raise RuntimeError("stop")

    with pytest.raises(RuntimeError, match="stop"):
        is_seen(fault, Case("crash", crash))
    now = assembly.cell_stiffness, stress.cell_stress, grid_convergence.NOISE
    assert now == before
