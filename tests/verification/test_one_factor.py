"""The handbook stands on the wheels' own factor, and on no other."""

import pytest

from spokecheck.errors import ModelError
from spokecheck.fem import fronts
from spokecheck.handbook.catalogue import CASES
from spokecheck.handbook.runner import run_case

UNSOLVED = {"p05": "eigenvalues of the stiffness", "p27": "resultant of a load"}
"""Cases that solve nothing, and what they ask instead."""

SOLVED = [case for case in CASES if case.id not in UNSOLVED]


@pytest.mark.parametrize("case", SOLVED, ids=lambda case: case.id)
def test_every_solved_case_needs_the_frontal_factor(case, monkeypatch):
    """Without the factor no case comes to a result: there is no other way to one."""

    def refuse(*_):
        raise ModelError("no factor today")

    monkeypatch.setattr(fronts.FrontalFactor, "__init__", refuse)
    with pytest.raises(ModelError, match="no factor today"):
        run_case(case, fineness=case.least)
