"""The benchmark's own arithmetic and wording; no test here looks at a clock."""

import json
import math
import subprocess
import sys

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.wheel.reading.read import parse_design
from tests.bench.__main__ import RESULTS
from tests.bench.measure import Clock, ask_child, run_child
from tests.bench.models import cornering, drum, sector, solve_ours, straight, whole
from tests.bench.suites import FIVE, SUITES, fit, ratio, variants
from tests.bench.table import README, TABLES, TITLES, render, written

SAME = 1e-9
"""Two right codes differ by rounding, grown by the condition of the matrix."""


def test_a_power_law_gives_its_exponent():
    """The slope of the logarithms is the exponent, whatever the factor."""
    rows = [{"unknowns": n, "t": 7.0 * n**1.37} for n in (1e4, 3e4, 5e5, 1e6)]
    assert_allclose(fit(rows, "t"), 1.37, rtol=1e-6)
    noisy = [{"unknowns": 10.0**k, "t": 10.0**y} for k, y in ((4, 1), (5, 3), (6, 4))]
    assert_allclose(fit(noisy, "t"), 1.5, rtol=1e-6)  # least squares by hand


def test_a_ratio_is_slow_over_fast():
    """Twelve seconds over three are four times."""
    slow = {"total_wall_s": 12.0, "total_cpu_s": 10.0}
    fast = {"total_wall_s": 3.0, "total_cpu_s": 4.0}
    assert ratio(slow, fast) == {"wall": 4.0, "cpu": 2.5}


def test_every_benchmark_has_its_table():
    """Letters, titles and tables belong together."""
    assert set(SUITES) == set(TABLES) == set(TITLES)


def test_the_committed_table_is_that_of_the_committed_run():
    """The README shows what results.json holds, to the last digit."""
    run = json.loads(RESULTS.read_text(encoding="utf-8"))
    text = README.read_text(encoding="utf-8")
    assert written(text, render(run)) == text


def test_a_failed_benchmark_is_a_row_with_its_reason():
    """A missing library or a crash never hides the other results."""
    run = json.loads(RESULTS.read_text(encoding="utf-8"))
    run["results"] = {letter: {"failed": "no library"} for letter in SUITES}
    assert render(run).count("Not run: no library.") == len(SUITES)
    rows = {"rows": [{"fineness": 1.0, "failed": "ended after 9 s"}], "threads": 1}
    run["results"] = {"e": rows, "c": {"runs": [{"threads": 1, "failed": "no"}]}}
    text = render(run)
    assert "ended after 9 s" in text
    assert "1 threads: not run: no" in text


def test_a_readme_without_a_place_is_refused():
    """Nothing is written where no place was left for it."""
    with pytest.raises(ValueError, match="run: begin"):
        written("# Benchmarks\n", "table")


def test_a_child_that_fails_tells_why():
    """The last line of its error is the reason."""
    told = ask_child("no such task", {}, 1)
    assert "no such task" in told["failed"]


def test_a_child_that_takes_too_long_is_ended():
    """After the limit the process is gone, and said to be late."""
    done = run_child(["-c", "import time; time.sleep(600)"], limit=0.5)
    assert done.late
    assert done.code < 0


def test_a_child_is_measured():
    """Peak memory counts what it held, CPU time what it did, threads as asked.

    Asked from a small process: until a child runs its own program, the system counts
    the memory of its parent for it.
    """
    code = (
        "import os, time; held = bytearray(200 << 20)\n"
        "while time.process_time() < 0.3: pass\n"
        "print(os.environ['OMP_NUM_THREADS'])"
    )
    asker = (
        "from tests.bench.measure import run_child\n"
        f"done = run_child(['-c', {code!r}], threads=3)\n"
        "print(done.out.strip(), done.peak, done.cpu)"
    )
    told = subprocess.run(
        [sys.executable, "-c", asker], capture_output=True, text=True, check=True
    )
    threads, peak, cpu = told.stdout.split()
    assert threads == "3"
    assert 200.0 < float(peak) < 300.0
    assert 0.3 <= float(cpu) < 30.0


def test_a_clock_adds_up():
    """Time of one name is summed, and the total is that of all names."""
    clock = Clock()
    for name in ("a", "b", "a"):
        with clock.time(name):
            sum(range(10000))
    told = clock.told()
    assert list(told["wall_s"]) == ["a", "b"]
    assert math.isclose(told["total_wall_s"], sum(told["wall_s"].values()))


def test_variants_differ_in_what_was_asked_and_nothing_else():
    """A hundred designs without a fault, each with its own width and depth."""
    text = FIVE.read_text(encoding="utf-8")
    made = variants(text, 100)
    assert len(set(made)) == 100
    for one in made:
        parse_design(one)
        pairs = zip(text.splitlines(), one.splitlines(), strict=True)
        changed = [a.split(" =")[0] for a, b in pairs if a != b]
        assert set(changed) <= {"root_width_mm", "root_depth_mm"}


@pytest.fixture(scope="module")
def part():
    """One straight sector of the five-spoke example."""
    return sector(1.0)


def test_straight_cells_have_their_middles_in_the_middle(part):
    """Straightening again changes nothing; corners stay where they were."""
    again = straight(part.mesh)
    assert_allclose(again.points, part.mesh.points, rtol=0, atol=1e-12)
    a, b, m = (part.mesh.points[part.mesh.cells[:, k]] for k in (1, 2, 5))
    assert_allclose(m, (a + b) / 2.0, rtol=0, atol=1e-12)


def field(wheel, case):
    """Our displacement."""
    return solve_ours(wheel, case, Clock())


def top_gap(actual, expected):
    """Largest difference over the largest value."""
    return np.abs(actual - expected).max() / np.abs(expected).max()


@pytest.mark.slow
def test_the_compiled_library_finds_the_same_cornering(part):
    """NGSolve's whole wheel, our whole wheel and our sector move alike."""
    pytest.importorskip("ngsolve")
    from tests.bench.against_ngsolve import solve_theirs

    full, number = whole(part)
    u, U = field(part, cornering(part))[0], field(full, cornering(full))[0]
    V, corners = solve_theirs(full, cornering(full), Clock(), 1)
    assert top_gap(U[number[0]], u) < SAME
    assert top_gap(V, U[corners]) < SAME


@pytest.mark.slow
def test_scipy_finds_the_same_inflation(part):
    """Both modes of the direct solver give our order 0."""
    pytest.importorskip("skfem")
    from tests.bench import against_skfem as theirs

    case, model = theirs.inflation(part), theirs.their_model(part)
    u = field(part, case)[0]
    for solver in theirs.SOLVERS:
        v = theirs.solve_with_scipy(part, case, model, solver, Clock())
        assert top_gap(v, u) < SAME


def test_the_drum_case_has_many_orders(part):
    """The radial comparison solves more than a handful of orders."""
    assert len(drum(part).loads) > 10
