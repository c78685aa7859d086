"""Running cases: fits, failures, several processes, and records left whole."""

import pickle
import re

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from spokecheck.errors import CaseError
from spokecheck.handbook.case import Values, resolve
from spokecheck.handbook.catalogue import CASES, find_case
from spokecheck.handbook.convergence import fit_order, study_convergence
from spokecheck.handbook.runner import run_all, run_case


@settings(deadline=None)  # a busy machine is no fault
@given(
    st.floats(0.5, 6.0),
    st.floats(-100.0, 100.0),
    st.floats(0.1, 50.0),
    st.lists(st.integers(1, 12), min_size=4, max_size=6, unique=True),
)
def test_a_power_law_gives_back_its_order_and_limit(order, limit, slope, levels):
    """Values that follow limit + c h^p return p and the limit."""
    h = np.sort(1.0 / np.array(levels, dtype=float))[::-1]
    step = slope * np.abs(np.diff(h**order)).min()
    assume(step > 1e-4 * max(1.0, abs(limit)))  # else rounding hides the law
    got_limit, got_order = fit_order(h, limit + slope * h**order)
    assert_allclose(got_order, order, atol=0.02)
    assert_allclose(got_limit, limit, atol=0.02 * slope)


def test_values_that_do_not_change_have_no_order():
    """A quantity that is exact on every mesh has no observed rate."""
    limit, order = fit_order(np.array([1.0, 0.5, 0.25]), np.full(3, 7.0))
    assert limit == 7.0
    assert np.isnan(order)


def test_observed_rate_of_a_handbook_case():
    """The end force of the quarter ring, a work of the load, converges with order 4.

    Strang and Fix, ch. 3: twice the order of the strain error, which is 2 here.
    """
    study = study_convergence(find_case("p32"))
    force = study.trends[0]
    assert force.theoretical == 4.0
    assert_allclose(force.observed, 4.0, atol=0.3)
    assert_allclose(force.limit, force.target, rtol=1e-5)


def test_a_singular_edge_shows_in_the_rate():
    """Where a fixed face meets free ones, a work of the loads converges near 1.4.

    Williams 1952: exponent 0.71 of the clamped-free right angle for nu = 0.3; on coarse
    meshes the smooth part of the error still adds to the rate.
    """
    study = study_convergence(find_case("p06"), refinements=(2, 3, 4, 6))
    for trend in study.trends[1:]:
        assert trend.theoretical == 1.4
        assert 1.1 < trend.observed < 2.0


def test_two_refinements_are_too_few():
    """A rate needs three finenesses; a repeated one does not count."""
    with pytest.raises(CaseError, match="2 finenesses: a rate needs at least 3"):
        study_convergence(find_case("p32"), refinements=(1, 2, 2))


def test_two_processes_give_what_one_gives():
    """Runs in two processes come back in order, with the same numbers, and pickle."""
    names = ["p27", "p09", "p04"]
    seen = []
    runs = run_all(names, workers=2, report=lambda run: seen.append(run.case_id))
    assert [run.case_id for run in runs] == names
    assert sorted(seen) == sorted(names)
    for run in runs:
        alone = run_case(find_case(run.case_id))
        assert [r.target for r in run.readings] == [r.target for r in alone.readings]
        for r, q in zip(run.readings, alone.readings, strict=True):
            assert_allclose(r.value, q.value, rtol=1e-9, atol=1e-9)
        assert pickle.loads(pickle.dumps(run)).values == run.values


def test_a_case_that_raises_is_reported_not_lost(monkeypatch):
    """An error inside one case becomes its message; the others still run."""
    from spokecheck.errors import ModelError
    from spokecheck.handbook import runner

    right = runner.run_case

    def broken(case, *arguments, **names):
        if case.id == "p09":
            raise ModelError("planted")
        return right(case, *arguments, **names)

    monkeypatch.setattr(runner, "run_case", broken)
    runs = run_all(["p04", "p09", "p27"], workers=1)
    assert [run.passed for run in runs] == [True, False, True]
    assert runs[1].failure == "planted"


def test_parameters_by_name_and_by_meaning():
    """A parameter can be set by its name or by what it means."""
    case = find_case("p10")
    assert resolve(case, {"L": 300.0}) == resolve(case, {"length": 300.0})
    assert resolve(case, {"end-load": 5.0}).F == 5.0


def test_all_faults_of_a_request_are_told_at_once():
    """Several bad parameters give one message with all of them."""
    with pytest.raises(CaseError) as failure:
        resolve(find_case("p10"), {"L": -1.0, "nu": 0.5, "depth_of_sea": 3.0})
    told = str(failure.value)
    assert "depth_of_sea: no parameter of p10" in told
    assert "L = -1 mm: must be above 0 mm; change the length" in told
    assert "nu = 0.5: must be between -0.99 and 0.49" in told


def test_values_read_as_attributes_only_if_known():
    """A parameter that does not exist is an attribute error, not a silent zero."""
    values = Values(L=3.0)
    assert values.L == 3.0
    with pytest.raises(AttributeError):
        _ = values.missing


CHANGED = [
    ("p10", {"L": 320.0, "b": 12.0, "h": 14.0, "F": 40.0, "E": 210000.0, "nu": 0.3}),
    ("p17", {"a": 30.0, "b": 45.0, "p": 12.0, "nu": 0.2}),
    ("p20", {"a": 3.0, "S": 20.0, "nu": 0.1}),
    ("p25", {"a": 60.0, "b": 90.0, "p": 3.0}),
    ("p32", {"a": 20.0, "b": 30.0, "t": 4.0, "u0": 0.01}),
    ("p33", {"a": 30.0, "b": 10.0, "L": 250.0, "T": 1.0e4}),
    ("p34", {"a": 9.0, "b": 7.0, "T": 2.0e4}),
    ("p36", {"k": 9.0, "R": 150.0, "h": 8.0, "F": 500.0}),
]


@pytest.mark.parametrize(("name", "changes"), CHANGED)
def test_homework_values_meet_their_own_closed_form(name, changes):
    """With other dimensions, loads and materials the case still meets its target."""
    run = run_case(find_case(name), changes)
    missed = [(r.name, r.error) for r in run.readings if not r.passed]
    assert not missed


def test_notes_of_a_changed_case_give_no_figures_of_the_default():
    """Figures about the default geometry stand beside the default run only."""
    case = find_case("p24b")
    (plain,) = run_case(case, fineness=1).readings
    (changed,) = run_case(case, {"r": 4.0}, fineness=1).readings
    assert "within 0.5 %" in plain.reason
    assert "%" not in changed.reason


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_reasons_that_hold_for_all_parameters_hold_no_percentages(case):
    """What a converged solid gives depends on the parameters: ``at_default``."""
    if case.parameters:
        assert not any(re.search(r"[0-9] %", q.reason) for q in case.quantities)


@pytest.mark.parametrize(
    "fineness", [3, 4, *(pytest.param(n, marks=pytest.mark.slow) for n in (5, 6))]
)
def test_the_cavity_holds_at_every_fineness_offered(fineness):
    """From the least fineness on; the finest of its study takes a quarter minute."""
    case = find_case("p35")
    assert case.least == case.refinements[0] == 3
    assert run_case(case, fineness=fineness).passed


def test_running_all_at_one_fineness_respects_the_least():
    """A case that is not offered so coarse is run at its least."""
    (run,) = run_all(("p35",), fineness=1, workers=1)
    assert run.fineness == 3
    assert run.passed
