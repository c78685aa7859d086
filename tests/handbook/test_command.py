"""The handbook on the command line: list, one case, convergence, all, and misuse."""

import re

import pytest
from typer.testing import CliRunner

from spokecheck import cli
from spokecheck.handbook import runner
from spokecheck.handbook.catalogue import CASES, find_case


def call(*arguments):
    """Exit code and text of one command."""
    result = CliRunner().invoke(cli.app, ["handbook", *arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, re.sub(r"\s+", " ", result.output)


def test_list_names_every_case_and_family():
    """Without a case, every case is listed under its family."""
    code, text = call()
    assert code == 0
    for case in CASES:
        assert case.slug in text
        assert case.family in text


def test_one_case_shows_value_target_error_and_source():
    """A case prints its values beside the targets, with source and caution."""
    code, text = call("tapered-panel", "--fineness", "1")
    assert code == 0
    assert "23.965" in text
    assert "Cook, J. Struct. Div. ASCE 100" in text
    assert "does not replace certified testing" in text
    assert "met" in text


def test_changed_parameters_recompute_the_closed_form():
    """A longer deep cantilever has its own closed form, by name or by meaning."""
    L, b, h, F, E, nu = 150.0, 20.0, 25.0, 1000.0, 70000.0, 0.33
    exact = 4.0 * F * L**3 / (E * b * h**3)
    exact += F * L / (5.0 / 6.0 * E / (2.0 * (1.0 + nu)) * b * h)
    for name in ("L", "length"):
        code, text = call("p11", "--set", f"{name}=150")
        assert code == 0
        assert f"{exact:.6g}" in text


def test_a_missed_target_is_exit_code_one():
    """A mesh too coarse for the tolerance ends with code 1 and says which missed."""
    code, text = call("p26", "--fineness", "1")
    assert code == 1
    assert "missed" in text


def test_convergence_prints_rates_and_saves_both_pictures(tmp_path):
    """A study prints observed beside theoretical rate, and writes two PNG files."""
    code, text = call("quarter-ring-exact", "--convergence", "--out", str(tmp_path))
    assert code == 0
    assert "Rate Theory" in text
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["p32-convergence.png", "p32-deformed.png"]
    for path in tmp_path.iterdir():
        assert path.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
        assert path.stat().st_size > 10_000
        assert b"Software" not in path.read_bytes()[:200]


def test_all_ends_with_one_table(monkeypatch):
    """Running everything shows a line for each case and how many met their targets."""
    few = tuple(find_case(name) for name in ("p04", "p09", "p27"))
    monkeypatch.setattr(runner, "CASES", few)
    code, text = call("--all", "--workers", "1")
    assert code == 0
    assert "3 of 3 cases met all their targets" in text


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["cantilever"], "case 'cantilever': not one of the"),
        (["p10", "--set", "h=-5"], "h = -5 mm: must be above 0 mm"),
        (["p10", "--set", "h=0"], "h = 0 mm: must be above 0 mm"),
        (["p10", "--set", "colour=3"], "colour: no parameter of p10; it has L, b, h"),
        (["p10", "--set", "L=long"], "must be name=value with a number"),
        (["p10", "--set", "L=20"], "L/h = 2: must be at least 8"),
        (["p04", "--set", "nu=0.5"], "nu = 0.5: must be between -0.99 and 0.49"),
        (["p10", "--fineness", "0"], "fineness = 0: must be 1 to 16"),
        (["p35", "--fineness", "2"], "fineness = 2: must be 3 to 16; 4 is usual"),
        (["p10", "--fineness", "2", "--convergence"], "2 finenesses: a rate needs"),
        (["--set", "L=3"], "no case named"),
        (["p10", "--all"], "--all runs every case as it stands"),
    ],
)
def test_misuse_says_what_to_change(arguments, told):
    """Bad input ends with code 2 and a message that names value, limit and remedy."""
    code, text = call(*arguments)
    assert code == 2
    assert told in text


def test_near_names_are_offered():
    """A slip in a name is answered with the nearest names."""
    _, text = call("cantilever-end-laod")
    assert "did you mean cantilever-end-load" in text
