"""The handbook stands on the wheels' own factor: made wrong, the cases fail."""

import numpy as np
import pytest

from spokecheck.errors import ModelError, SpokecheckError
from spokecheck.fem import cuts, fronts
from spokecheck.handbook.catalogue import CASES, find_case
from spokecheck.handbook.runner import run_case

UNSOLVED = {"p05": "eigenvalues of the stiffness", "p27": "resultant of a load"}
"""Cases that solve nothing, and what they ask instead."""

SOLVED = [case for case in CASES if case.id not in UNSOLVED]

WHOLE = ("p02", "p07", "p12", "p17", "p20", "p28", "p31", "p36", "p38")
"""A quick case of every kind: static, foundation, modes."""

SECTOR = ("p19", "p25", "p30a", "p39")
"""The cases that are also solved by one sector."""


@pytest.mark.parametrize("case", SOLVED, ids=lambda case: case.id)
def test_every_solved_case_needs_the_frontal_factor(case, monkeypatch):
    """Without the factor no case comes to a result: there is no other way to one."""

    def refuse(*_):
        raise ModelError("no factor today")

    monkeypatch.setattr(fronts.FrontalFactor, "__init__", refuse)
    with pytest.raises(ModelError, match="no factor today"):
        run_case(case, fineness=1)


def update_too_small(patch):
    """What a child front leaves is a tenth too small."""
    right = fronts.UpdateStack.push
    patch.setattr(
        fronts.UpdateStack, "push", lambda self, k, U: right(self, k, 0.9 * U)
    )


def pivots_too_large(patch):
    """Each front's triangle is a tenth too large."""
    right = fronts.dpotrf

    def larger(a, **options):
        factor, fault = right(a, **options)
        a *= 1.1
        return factor, fault

    patch.setattr(fronts, "dpotrf", larger)


def border_forgotten(patch):
    """Back substitution without what the border moved."""
    right = fronts.FrontalFactor.backward

    def alone(self, values):
        for panel in self._panels:
            values[panel.border] *= 0.9
        right(self, values)

    patch.setattr(fronts.FrontalFactor, "backward", alone)


def schur_complement_too_stiff(patch):
    """Cuts a tenth too stiff."""
    right = fronts.FrontalFactor._assemble_schur

    def stiffer(self, *arguments):
        right(self, *arguments)
        self.schur *= 1.1

    patch.setattr(fronts.FrontalFactor, "_assemble_schur", stiffer)


def high_cut_not_turned(patch):
    """Vectors of the high cut taken as they are."""
    patch.setattr(cuts, "rotation", lambda angle: np.eye(3))


def phase_reversed(patch):
    """The phase between the cuts turned the wrong way, in load and answer."""
    right = cuts.TiedCuts.solve
    patch.setattr(cuts.TiedCuts, "solve", lambda self, f, m: right(self, f, -m))


def fails(case):
    """Whether a case leaves its tolerance, or stops."""
    try:
        return not run_case(case).passed
    except SpokecheckError:
        return True


@pytest.mark.parametrize("name", [*WHOLE, *SECTOR])
@pytest.mark.parametrize("fault", [update_too_small, pivots_too_large])
def test_a_wrong_factor_fails_every_kind_of_case(fault, name, monkeypatch):
    """A front that is a tenth off is seen by cases of all kinds."""
    fault(monkeypatch)
    assert fails(find_case(name))


@pytest.mark.parametrize("name", WHOLE)
def test_wrong_back_substitution_fails_whole_bodies(name, monkeypatch):
    """The way back through the fronts is seen as well."""
    border_forgotten(monkeypatch)
    assert fails(find_case(name))


CUT_FAULTS = [
    *(
        (fault, name)
        for fault in (schur_complement_too_stiff, high_cut_not_turned)
        for name in SECTOR
    ),
    # orders 0 and N/2 have a real phase, which has no wrong way round
    *((phase_reversed, name) for name in ("p30a", "p39")),
]


@pytest.mark.parametrize(("fault", "name"), CUT_FAULTS)
def test_wrong_cuts_fail_the_cases_run_on_a_sector(fault, name, monkeypatch):
    """What ties the cuts of a wheel's sector is seen by the cases run both ways."""
    fault(monkeypatch)
    assert fails(find_case(name))
