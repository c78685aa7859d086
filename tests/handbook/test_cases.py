"""Every handbook case meets its target inside its stated tolerance."""

import pytest

from spokecheck.handbook.catalogue import CASES
from spokecheck.handbook.runner import run_case

SLOW = {"p15", "p18", "p23a", "p23b", "p37"}
"""Cases that take more than about three seconds on one core."""

MARKED = [
    pytest.param(case, id=case.id, marks=pytest.mark.slow if case.id in SLOW else [])
    for case in CASES
]


@pytest.mark.parametrize("case", MARKED)
def test_case_meets_its_target(case):
    """The case's default run is inside every stated tolerance."""
    run = run_case(case)
    missed = [r for r in run.readings if not r.passed]
    assert not missed, "\n".join(
        f"{r.name}: {r.value:.6g}, target {r.target:.6g}, error {r.error:+.3%}, "
        f"tolerance {r.tolerance:.3%}"
        for r in missed
    )
