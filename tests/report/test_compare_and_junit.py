"""Several designs at once: the comparison and the CI report."""

import io
import json
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rich.console import Console

from spokecheck.errors import DesignError, Fault, MeshError
from spokecheck.report import caution
from spokecheck.report.findings.comparison import compare, comparison_to_dict
from spokecheck.report.findings.comparison_page import write_comparison
from spokecheck.report.findings.design_result import DesignResult
from spokecheck.report.findings.junit import junit_xml, write_junit
from spokecheck.report.findings.ruler import ruler_svg
from spokecheck.report.findings.sentences import headline
from spokecheck.report.findings.terminal import render_comparison
from spokecheck.screen.verdict import judge


def _with_margin(screening, margin, name="X"):
    """Findings in which all hot spots have one margin."""
    found, word = screening.findings, judge(margin)
    return replace(
        found,
        name=name,
        tests=tuple(replace(t, margin=margin, verdict=word) for t in found.tests),
        hot_spots=tuple(replace(spot, margin=margin) for spot in found.hot_spots),
        verdict=replace(found.verdict, word=word, worst_margin=margin),
    )


def results(outcomes):
    """Results of a run from outcomes by path."""
    return [DesignResult(path=path, outcome=found) for path, found in outcomes.items()]


@pytest.fixture(scope="module")
def three(small_screening):
    """A failing, a clearing and a borderline design, in that order."""
    return {
        "weak": _with_margin(small_screening, 0.996, "Weak"),
        "strong": _with_margin(small_screening, 1.3, "Strong"),
        "middle": _with_margin(small_screening, 1.05, "Strong"),
    }


def test_comparison_ranks_by_worst_margin(three):
    """The greatest worst margin stands first."""
    found = compare(three)
    assert [entry.stem for entry in found.entries] == ["strong", "middle", "weak"]


def test_equal_margins_rank_the_lighter_first(small_screening):
    """Of two designs with one margin, the lighter stands first."""
    heavy = _with_margin(small_screening, 1.2)
    wheel = replace(heavy.wheel, mass_kg=0.9 * heavy.wheel.mass_kg)
    found = compare({"heavy": heavy, "light": replace(heavy, wheel=wheel)})
    assert [entry.stem for entry in found.entries] == ["light", "heavy"]


def test_comparison_is_written_and_told(three, tmp_path):
    """Page, JSON and terminal show each design, each failure and the caution."""
    fault = DesignError("bad.toml", [Fault("hub", "", "missing <hub>", "add it")])
    found = compare(three, {"some/bad.toml": fault}, {"weak": b"jpeg"})
    written = write_comparison(found, tmp_path, {"weak": "weak.html"})
    page = written.page.read_text("utf-8")
    told = json.loads(written.json.read_text("utf-8"))
    stream = io.StringIO()
    Console(file=stream, width=80, color_system=None).print(render_comparison(found))
    terminal = stream.getvalue()
    assert [d["rank"] for d in told["designs"]] == [1, 2, 3]
    assert told["not_screened"][0]["source"] == "bad.toml"
    assert 'href="weak.html"' in page
    assert page.count("data:image/jpeg;base64,") == 1
    assert "missing &lt;hub&gt;" in page
    for text in (terminal, page):
        assert "0.99" in text
        assert "bad.toml" in text
    assert caution.SHORT in " ".join(terminal.split())
    assert told["caution"] in page
    assert max(map(len, terminal.splitlines())) <= 80


def test_comparison_of_nothing(tmp_path):
    """A comparison in which every design failed still gives a page."""
    found = compare({}, {"a.toml": MeshError("no mesh")})
    page = write_comparison(found, tmp_path).page.read_text("utf-8")
    assert "no mesh" in page
    assert comparison_to_dict(found)["designs"] == []


def test_junit_counts(three):
    """Tests below the margin that clears fail; the totals add up."""
    root = ET.fromstring(
        junit_xml(results({**three, "bad.toml": MeshError("no mesh")}))
    )
    cases = root.findall("testsuite/testcase")
    n = len(three["weak"].tests)
    assert int(root.get("tests")) == len(cases) == 3 * n + 1
    assert int(root.get("failures")) == len(root.findall(".//failure")) == 2 * n
    assert int(root.get("errors")) == len(root.findall(".//error")) == 1


def test_junit_message_has_margin_limit_and_place(three):
    """A failure says margin, limit and place."""
    root = ET.fromstring(junit_xml(results({"weak": three["weak"]})))
    message = root.find(".//failure").get("message")
    for part in ("margin 0.99", "1.10", three["weak"].tests[0].place):
        assert part in message


@settings(
    max_examples=50, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(name=st.text(min_size=1, max_size=80))
def test_junit_is_legal_xml_for_any_name(three, name):
    """Names with markup or control characters leave the XML readable."""
    odd = replace(three["weak"], name=name)
    root = ET.fromstring(junit_xml(results({name: odd})))
    shown = root.find("testsuite").get("name")
    assert len(shown) == len(name)


def test_junit_is_written_whole(three, tmp_path):
    """The file holds what the function gives, and nothing lies beside it."""
    path = write_junit(results(three), tmp_path / "junit.xml")
    assert path.read_bytes() == junit_xml(results(three))
    assert list(tmp_path.iterdir()) == [path]


def test_a_required_margin_shows_wherever_the_limit_does(small_screening):
    """Failure message, comparison, its page and the headline have the user's limit."""
    found = _with_margin(small_screening, 1.3, "Strong")
    verdict = replace(found.verdict, clears_from_margin=1.35)
    tests = tuple(replace(t, verdict=judge(1.3, required=1.35)) for t in found.tests)
    found = replace(found, verdict=verdict, tests=tests)
    message = (
        ET.fromstring(junit_xml(results({"a": found})))
        .find(".//failure")
        .get("message")
    )
    assert "clears from 1.35" in message
    assert comparison_to_dict(compare({"a": found}))["clears_from_margin"] == 1.35
    assert "clears from 1.35" in headline(found)
    assert ">1.35</text>" in ruler_svg([("a", 1.3)], 1.35)
