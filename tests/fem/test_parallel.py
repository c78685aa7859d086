"""Jobs side by side: same results, same errors, and nothing lost with a copy."""

import os
import time
from functools import partial
from multiprocessing import get_all_start_methods
from signal import SIGKILL, raise_signal
from threading import Event, Thread

import pytest

from spokecheck.errors import ModelError
from spokecheck.fem import parallel, threads
from spokecheck.fem.parallel import LostCopyError, run_and_keep, run_parallel

pytestmark = pytest.mark.skipif(
    "fork" not in get_all_start_methods(), reason="processes cannot be copied here"
)
HERE = os.getpid()


@pytest.fixture(autouse=True)
def two_cores(monkeypatch):
    """A machine of two cores, one thread to a process."""
    monkeypatch.setenv(threads.THREAD_VARIABLES[0], "1")
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(
        parallel, "count_threads", lambda: 1
    )  # the tests' runner has more


def where(value):
    """A value, and whether it was found in this process."""
    return value, os.getpid() == HERE


def only_here(harm):
    """Do harm in a copy; answer in this process."""
    if os.getpid() != HERE:
        harm()
    return "here"


def refuse():
    """Raise an error of the project."""
    raise ModelError("the part is free to move")


def surprise():
    """Raise an error of Python."""
    raise ZeroDivisionError("by zero")


def test_results_come_in_order_and_the_last_job_runs_here():
    """All jobs but the last run in copies of the process."""
    found = run_parallel([partial(where, k) for k in range(3)])
    assert found == [(0, False), (1, False), (2, True)]


def test_a_single_job_is_done_here():
    """Nothing is copied for one job."""
    assert run_parallel([partial(where, 7)]) == [(7, True)]


def test_where_threads_are_many_all_jobs_are_done_here(monkeypatch):
    """Algebra of several threads in several processes is slower than in one."""
    monkeypatch.delenv(threads.THREAD_VARIABLES[0])
    assert all(here for _, here in run_parallel([partial(where, k) for k in range(2)]))


def test_a_process_with_another_thread_is_never_copied(monkeypatch):
    """A lock that the other thread holds would stay locked in the copy for ever."""
    monkeypatch.undo()
    monkeypatch.setenv(threads.THREAD_VARIABLES[0], "1")
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    stop = Event()
    other = Thread(target=stop.wait)
    other.start()
    try:
        found = run_parallel([partial(where, k) for k in range(2)])
    finally:
        stop.set()
        other.join()
    assert found == [(0, True), (1, True)]


@pytest.mark.parametrize("last", [True, False])
def test_an_error_of_the_project_is_carried_across(last):
    """Whichever process met it, the caller sees the same error."""
    jobs = [refuse, partial(where, 1)]
    with pytest.raises(ModelError, match="the part is free to move"):
        run_parallel(jobs[::-1] if last else jobs)


def test_any_other_error_is_met_again_here():
    """Its own type and traceback reach the caller."""
    with pytest.raises(ZeroDivisionError):
        run_parallel([surprise, partial(where, 1)])


@pytest.mark.parametrize(
    "harm",
    [
        partial(os._exit, 3),
        partial(raise_signal, SIGKILL),
        partial(time.sleep, 9e3),
        surprise,
    ],
    ids=["leaves", "crashes", "hangs", "fails"],
)
def test_a_lost_copy_costs_its_time_only(monkeypatch, harm):
    """Its job is done here."""
    monkeypatch.setattr(parallel, "LEAST_WAIT", 0.5)
    assert run_parallel([partial(only_here, harm), partial(where, 1)])[0] == "here"


def counter(start):
    """A number, and a function that counts on from it where the job was done."""
    state = [start]

    def add(step):
        state[0] += step
        return state[0], os.getpid() == HERE

    return start, add


def test_what_a_job_leaves_answers_where_the_job_was_done():
    """The copy keeps its state between requests; so does this process."""
    results, kept = run_and_keep([partial(counter, 10), partial(counter, 20)])
    try:
        assert results == [10, 20]
        assert [one.answer(1) for one in kept] == [(11, False), (21, True)]
        assert [one.answer(5) for one in kept] == [(16, False), (26, True)]
    finally:
        for one in kept:
            one.end()


def test_a_kept_copy_passes_errors_on_and_says_when_it_has_ended():
    """An error of the project is raised here; after the end there is no answer."""

    def job():
        return 0, lambda request: refuse() if request else "well"

    _, (kept, _) = run_and_keep([job, job])
    with pytest.raises(ModelError):
        kept.answer(1)
    assert kept.answer(0) == "well"
    kept.end()
    with pytest.raises(LostCopyError):
        kept.answer(0)


def test_a_job_lost_with_its_copy_answers_here():
    """The copy dies before it is done: the job is done here, and stays here."""

    def job():
        only_here(partial(raise_signal, SIGKILL))
        return counter(1)

    _, (kept, _) = run_and_keep([job, job])
    assert kept.answer(1) == (2, True)
