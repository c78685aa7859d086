"""What a CI job shows: remarks on lines, a summary, margins that fell."""

import io
import json
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from rich.console import Console

from spokecheck.errors import DesignError, Fault, InputError, MeshError
from spokecheck.report import caution
from spokecheck.report.findings.annotations import Form, annotations, on_file
from spokecheck.report.findings.baseline import (
    WORST,
    Baseline,
    Earlier,
    read_baseline,
)
from spokecheck.report.findings.comparison import compare, comparison_to_dict
from spokecheck.report.findings.design_result import DesignResult, worst_first
from spokecheck.report.findings.job_lines import render_results, result_line
from spokecheck.report.findings.job_summary import Summary, summary_text
from spokecheck.report.findings.json_report import findings_to_dict, to_text
from spokecheck.report.findings.junit import junit_xml
from spokecheck.screen.verdict import judge
from spokecheck.wheel.tables.surface_names import WORDS, key_shaping

ASPEN = "meshes/designs/aspen-cast-5.toml"


def with_margin(found, margin):
    """Findings in which all hot spots have one margin and no error bar."""
    word = judge(margin)
    spots = tuple(replace(s, margin=margin, stress_error=0) for s in found.hot_spots)
    verdict = replace(
        found.verdict, word=word, worst_margin=margin, worst_margin_less_bar=margin
    )
    return replace(
        found,
        tests=tuple(replace(t, margin=margin, verdict=word) for t in found.tests),
        hot_spots=spots,
        verdict=verdict,
    )


@pytest.fixture(scope="module")
def clear(small_screening):
    """Findings of a design that clears."""
    return with_margin(small_screening.findings, 1.3)


@pytest.fixture(scope="module")
def weak(small_screening):
    """Findings of a design that does not clear."""
    return with_margin(small_screening.findings, 0.9)


@pytest.fixture(scope="module")
def results(clear, weak):
    """One result of every kind, in no order."""
    fault = Fault("spokes.count", "2", "must be at least 3", "raise it")
    baseline = Baseline("released", {"fell": Earlier("X", {"radial": 1.5})})
    falls = baseline.falls("fell", clear)
    earlier = baseline.of("fell", clear)
    return [
        DesignResult(path="a/wheel.toml", outcome=clear, picture=Path("out/a.jpg")),
        DesignResult(path="b/wheel.toml", outcome=weak, picture=Path("out/b ü.jpg")),
        DesignResult(path="fell.toml", outcome=clear, earlier=earlier, falls=falls),
        DesignResult(path="|<b>.toml", outcome=DesignError("|<b>.toml", [fault] * 12)),
        DesignResult(path="c.toml", outcome=MeshError("no mesh\nat all")),
        DesignResult(path="d.toml"),
    ]


def written(results, **choices):
    """Text of a summary."""
    return summary_text(Summary(Path("job/summary.md"), **choices), results)


# margins of an earlier run


def test_a_fall_beyond_what_is_allowed_is_seen(clear):
    """5 % of 1.3684 is a fall to 1.3: one is allowed at the limit, one is not."""
    at_limit = {"radial": 1.3 / 0.95 - 1e-9}
    beyond = {"radial": 1.3 / 0.95 + 1e-6}
    assert Baseline("x", {"s": Earlier("A", at_limit)}).falls("s", clear) == ()
    (fall,) = Baseline("x", {"s": Earlier("A", beyond)}).falls("s", clear)
    assert fall.share == pytest.approx(0.05, abs=1e-6)
    assert "margin 1.30, 1.36 before, a fall of 5.0 %" in fall.words


def test_a_rise_and_a_test_of_old_are_no_fall(clear):
    """Only tests of both runs are compared."""
    before = Earlier("A", {"radial": 1.0, "cornering 33 %": 9.0})
    assert Baseline("x", {"s": before}).falls("s", clear) == ()


def test_a_design_is_known_by_stem_else_by_its_name(clear):
    """A name that two earlier designs have says nothing."""
    one, two = Earlier(clear.name, {WORST: 2.0}), Earlier(clear.name, {WORST: 3.0})
    assert Baseline("x", {"old": one}).of("new", clear) is one
    assert Baseline("x", {"new": two, "old": one}).of("new", clear) is two
    assert Baseline("x", {"old": one, "older": two}).of("new", clear) is None
    assert Baseline("x", {"old": replace(one, name="B")}).of("new", clear) is None


def test_results_of_an_earlier_run_are_read(clear, tmp_path):
    """A folder of results, the JSON of one of them, and that of a comparison."""
    text = to_text(findings_to_dict(clear))
    (tmp_path / "a.json").write_text(text, encoding="utf-8")
    (tmp_path / "other.json").write_text("[]")
    document = comparison_to_dict(compare({"a": clear}))
    table = tmp_path / "comparison.json"
    table.write_text(json.dumps(document))
    for place in (tmp_path, tmp_path / "a.json", table):
        found = read_baseline(place)
        assert set(found.designs) == {"a"}
        assert found.designs["a"].worst == 1.3
        assert found.falls("a", with_margin(clear, 1.2))
        assert not found.falls("a", with_margin(clear, 1.29))


@pytest.mark.parametrize(
    ("text", "said"),
    [("{", "no JSON"), ("{}", "no results"), ('{"kind": "screening"}', "form")],
)
def test_what_is_no_result_is_bad_input(tmp_path, text, said):
    """The message says what the file is not."""
    file = tmp_path / "x.json"
    file.write_text(text)
    with pytest.raises(InputError, match=said):
        read_baseline(file)


def test_an_empty_folder_is_no_earlier_run(tmp_path):
    """Nothing to compare with is bad input, not a pass."""
    with pytest.raises(InputError, match="no results"):
        read_baseline(tmp_path)
    with pytest.raises(InputError, match="check the path"):
        read_baseline(tmp_path / "none.json")


# remarks on lines


def test_a_hot_spot_is_remarked_at_the_key_that_shapes_it(weak):
    """Each test that does not clear, on the line of its worst spot's key."""
    found = annotations(DesignResult(path=ASPEN, outcome=weak))
    lines = Path(ASPEN).read_text(encoding="utf-8").splitlines()
    errors = [one for one in found if one.level == "error"]
    assert len(errors) == len(weak.tests)
    for remark in errors:
        key = remark.message.split(":")[0].split(".")[1]
        assert lines[remark.line - 1].startswith(key)
        assert remark.text(Form.PLAIN).startswith(f"{ASPEN}:{remark.line}: error: ")


def test_a_design_that_clears_has_no_error(clear, weak):
    """Fillets drawn smaller are warnings, for both."""
    for outcome in (clear, weak):
        found = annotations(DesignResult(path=ASPEN, outcome=outcome))
        warnings = [one for one in found if one.level == "warning"]
        said = [departure.text for departure in outcome.wheel.departures]
        assert [one.message for one in warnings] == said != []
    assert {r.level for r in annotations(DesignResult(path=ASPEN, outcome=clear))} == {
        "warning"
    }


def test_faults_are_remarked_on_their_lines(tmp_path):
    """At the key, at its table if it is missing, at the place of a syntax error."""
    file = tmp_path / "x.toml"
    file.write_text("name = 'A'\n[spokes]\ncount = 2\n")
    faults = [
        Fault("spokes.count", "2", "must be at least 3", "raise it"),
        Fault("spokes.root_width_mm", "missing", "is needed", "add it"),
        Fault("TOML", "", "Invalid value (at line 3, column 9)", "correct it"),
    ]
    error = DesignError(str(file), faults)
    found = annotations(DesignResult(path=str(file), outcome=error))
    assert [one.line for one in found] == [3, 2, 3]
    assert on_file(error) == found


def test_a_workflow_command_cannot_be_broken_out_of(tmp_path):
    """Line ends, percent signs and separators in names and values are escaped."""
    odd = "a\n::error::x,y:%.toml"
    fault = Fault("name", "b\r\n::set::c", "100 %", "no")
    result = DesignResult(path=odd, outcome=DesignError(odd, [fault]))
    (remark,) = annotations(result)
    text = remark.text(Form.WORKFLOW)
    assert len(text.splitlines()) == 1
    head, _, message = text.removeprefix("::error ").partition("::")
    assert head.count(",") == 2
    assert "%25" in message


def test_every_surface_has_a_key():
    """A hot spot on any surface points to a key, not to the name of the design."""
    assert {key_shaping(surface) for surface in WORDS} & {"name"} == set()


# the summary


def test_the_summary_has_what_needs_a_look_first(results):
    """Bad input, failures, weak designs, falls; then what passes."""
    ordered = [one.path for one in worst_first(results)]
    assert ordered[0] == "|<b>.toml"
    assert ordered[-1] == "a/wheel.toml"
    rows = [line for line in written(results).splitlines() if line.startswith("| ")]
    assert len(rows) == 1 + len(results)
    assert "does not clear" in rows[4]
    assert "margin fell" in rows[5]
    assert rows[-1].startswith("| a/wheel.toml")


def test_the_summary_says_all_it_should(results):
    """Counts, notes, falls, faults, the worst picture by link, the caution."""
    text = written(results, notes=("1 of 6 designs changed since main",))
    for part in (
        "### spokecheck: 6 designs: 1 bad input, 1 computation failed, 1 not finished",
        "1 of 6 designs changed since main",
        "fell.toml: radial: margin 1.30, 1.50 before, a fall of 13.3 %",
        "spokes.count = 2: must be at least 3; raise it",
        "  - 2 more",
        "../out/b%20%C3%BC.jpg",
        caution.SHORT,
    ):
        assert part in text
    assert "out/a.jpg" not in text  # it clears


def test_what_has_no_earlier_result_is_named(results):
    """A design that was renamed does not pass in silence."""
    text = written(results, compared=True)
    assert "nothing to compare with: b/wheel.toml, a/wheel.toml." in text
    assert "nothing to compare with" not in written(results)


def test_links_start_from_an_address_if_one_is_given(results):
    """A job page does not see the files beside it."""
    text = written(results, link_base="https://example.org/job/1/")
    assert "(https://example.org/job/1/b%20%C3%BC.jpg)" in text


def test_names_stay_text_in_the_summary(results):
    """Neither table, markup nor a tag comes out of a path."""
    text = written(results)
    assert "<b>" not in text
    assert "&#124;&#60;b&#62;.toml" in text
    table = [line for line in text.splitlines() if line.startswith("|")]
    assert {line.count("|") for line in table} == {8}


def test_a_summary_of_nothing(results):
    """No design changed: a headline and the caution, no table."""
    text = written([])
    assert "0 designs" in text
    assert "|" not in text


def test_a_long_summary_is_cut(results):
    """A place for comments takes some 65 000 characters; 3,000 designs stay below."""
    many = [replace(results[0], path=f"wheels/{k:04}/wheel.toml") for k in range(3000)]
    text = written(many)
    assert len(text) < 65_000
    assert "2900 more" in text


# terminal and JUnit


def test_lines_and_closing_table_are_not_wrapped_in_a_file(results):
    """One line a design, however long its name."""
    long = replace(results[0], path="x" * 300 + ".toml")
    stream = io.StringIO()
    console = Console(file=stream, width=10_000)
    console.print(result_line(long, 1, 2))
    console.print(render_results([*results, long]))
    lines = stream.getvalue().splitlines()
    assert sum("x" * 300 in line for line in lines) == 2
    assert sum("wheel.toml" in line for line in lines) == 2
    assert "7 designs" in stream.getvalue()


def test_junit_keeps_files_named_alike_apart_and_has_the_falls(results):
    """A suite for each path; what is not finished is an error."""
    root = ET.fromstring(junit_xml(results))
    suites = {suite.get("name"): suite for suite in root}
    assert len(suites) == len(results)
    assert {case.get("classname") for case in root.iter("testcase")} == set(suites)
    fell = suites["fell.toml"].find("testcase/failure")
    assert fell.get("type") == "margin fell"
    assert suites["d.toml"].find("testcase/error").get("type") == "not finished"
    assert int(suites["a/wheel.toml"].get("failures")) == 0
