"""Terminal, JSON and page of one screening: complete, escaped, and in agreement."""

import html
import io
import json
import os
import re
import signal
import sys
import time
from dataclasses import fields, is_dataclass, replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from spokecheck.cases.procedure import requirements
from spokecheck.errors import DesignError, Fault
from spokecheck.mesh.named_files import read_vtu
from spokecheck.report import caution
from spokecheck.report.findings import numbers, sentences
from spokecheck.report.findings.json_report import (
    exact_text,
    findings_to_dict,
    read_exact,
    to_text,
)
from spokecheck.report.findings.page import screening_page
from spokecheck.report.findings.terminal import render_faults, render_screening
from spokecheck.report.pictures.marks import place_marks
from spokecheck.report.pictures.picture_job import picture_job
from spokecheck.report.pictures.picture_process import (
    DrawingProcess,
    Pictures,
    draw_pictures,
)
from spokecheck.report.stems import slug, unique_stems
from spokecheck.run.write import write_outputs
from spokecheck.screen.findings import FORMAT, SimilarPlaces
from spokecheck.screen.json_numbers import life_range, life_within
from spokecheck.screen.verdict import judge

NONE = Pictures(note="no pictures: not asked for")
NASTY = "<b>&\"'</script><script>alert(1)</script> ü 輪"


def _shown(renderable, width=80):
    """What a terminal without colour shows."""
    stream = io.StringIO()
    Console(file=stream, width=width, color_system=None).print(renderable)
    return stream.getvalue()


def _named(screening, name):
    """The same screening of a design with another name."""
    found = screening.findings
    design = {**found.design, "name": name, "note": name}
    return replace(screening, findings=replace(found, name=name, design=design))


class _Reader(HTMLParser):
    """Tags and text of a page."""

    VOID = ("meta", "img", "link", "br", "path", "use", "rect", "circle")

    def __init__(self, page):
        super().__init__()
        self.tags, self.open, self.text, self.misplaced = [], [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag in self.VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.misplaced.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text.append(data)


@pytest.fixture(scope="module")
def page(small_screening):
    """Page of the shared screening, without pictures."""
    return screening_page(small_screening, NONE)


@pytest.fixture(scope="module")
def document(small_screening):
    """JSON of the shared screening, read back."""
    return json.loads(to_text(findings_to_dict(small_screening.findings)))


def test_numbers_agree_everywhere(small_screening, page, document):
    """Every margin, stress and life reads alike in terminal, page and JSON."""
    found = small_screening.findings
    terminal = _shown(render_screening(found, most=1000), 200)
    text = re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page)))
    for spot in document["hot_spots"]:
        stresses = [spot[f"{key}_mpa"] for key in ("amplitude", "mean", "allowable")]
        shown = [numbers.stress(value) for value in stresses]
        life = numbers.life(spot["life_median_cycles"], spot["life_median_range"])
        error = numbers.percent(spot["stress_error"])
        head = [str(spot["rank"]), numbers.margin(spot["margin"]), spot["place"]]
        line = r"\s+".join(re.escape(x) for x in (*head, *shown, life, error))
        assert re.search(line, terminal)
        line = r"\s+".join(re.escape(x) for x in head)
        line += r" .*?" + " ".join(re.escape(x) for x in shown[:2])
        line += r" .*?" + f"{re.escape(life)} .*?{re.escape(error)}"
        assert re.search(line, text)


def test_tests_agree_everywhere(small_screening, page, document):
    """Load, cycles and margin of each test read alike in terminal and page."""
    found = small_screening.findings
    terminal = _shown(render_screening(found), 200)
    for test, told in zip(found.tests, document["tests"], strict=True):
        load = numbers.load(test)
        size = told["moment_n_mm"] or 1000.0 * told["force_n"]
        assert float(load.split()[0]) == pytest.approx(size / 1e6, rel=1e-3)
        margin = numbers.margin(told["margin"])
        line = [told["name"], load, numbers.cycles(told["cycles"]), margin]
        assert re.search(r"\s+".join(re.escape(x) for x in line), terminal)
        cells = r"(<[^>]*>)+\s*".join(re.escape(x) for x in line)
        assert re.search(cells, page)


def test_json_is_complete(small_screening, document):
    """Tests, derivations, spots, audits, exclusions and squeezes are all there."""
    found = small_screening.findings
    assert document["format"] == FORMAT
    assert document["caution"] == caution.FULL
    assert len(document["hot_spots"]) == len(found.hot_spots)
    for spot, told in zip(found.hot_spots, document["hot_spots"], strict=True):
        assert len(told["audit"]) == len(spot.audit)
    levels = requirements(small_screening.wheel.design)
    for test, level in zip(document["tests"], levels, strict=True):
        assert len(test["derivation"]) == len(level.derivation)
        ranks = test["hot_spot_ranks"]
        mine = [spot for spot in document["hot_spots"] if spot["test"] == test["name"]]
        assert ranks == [spot["rank"] for spot in mine]
        assert test["place"] == mine[0]["place"]
    departures = small_screening.wheel.departures
    told = [(d["key"], d["because"]) for d in document["wheel"]["departures"]]
    assert told == [(d.key, d.because) for d in departures]


def test_every_field_of_the_findings_is_a_key(small_screening, document):
    """Nothing is left out of the JSON, however deep it lies."""

    def compare(record, told):
        if is_dataclass(record):
            names = {one.name for one in fields(record)}
            assert names <= set(told), type(record).__name__
            for name in names:
                compare(getattr(record, name), told[name])
        elif isinstance(record, tuple):
            for one, other in zip(record, told, strict=True):
                compare(one, other)

    compare(small_screening.findings, document)


def test_exact_findings_read_back(small_screening):
    """Every value comes back equal and of the same type, floats to the last bit."""
    found = small_screening.findings
    again = read_exact(exact_text(found))
    assert again == found
    assert repr(again) == repr(found)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("name", 3),
        ("hot_spots", None),
        ("hot_spots", [{}]),
        ("tests", {}),
        ("verdict", "clears"),
        ("wheel", {"mass_kg": "14"}),
    ],
)
def test_findings_of_other_types_are_refused(small_screening, key, value):
    """Nothing is converted in silence."""
    raw = json.loads(exact_text(small_screening.findings)) | {key: value}
    with pytest.raises(ValueError):  # noqa: PT011 - the words are for developers
        read_exact(json.dumps(raw))


def test_findings_without_a_key_are_refused(small_screening):
    """Each key of the record is needed."""
    raw = json.loads(exact_text(small_screening.findings))
    for key in set(raw) - {"format"}:
        with pytest.raises(ValueError):  # noqa: PT011
            read_exact(json.dumps({k: v for k, v in raw.items() if k != key}))


def test_json_verdict_follows_from_its_own_margins(document):
    """A reader can redo the verdict from the hot spots, their bars, and the loop's end.

    To the digits printed; one mesh settles nothing, so the word is the fourth.
    """
    verdict, spots = document["verdict"], document["hot_spots"]
    assert verdict["worst_margin"] == min(spot["margin"] for spot in spots)
    less_bar = [spot["margin"] / (1.0 + spot["stress_error"]) for spot in spots]
    assert verdict["worst_margin_less_bar"] == pytest.approx(min(less_bar), rel=1e-4)
    worst = spots[less_bar.index(min(less_bar))]
    settled = document["convergence"]["settled"]
    word = judge(worst["margin"], worst["stress_error"], settled)
    assert verdict["word"] == str(word) == "not settled"


def test_similar_places_stand_in_one_line_with_their_range(small_screening):
    """Terminal, page and JSON count them and give the best one's margin, rounded down.

    A hot spot without any says how many places are equal, and no more.
    """
    found = small_screening.findings
    similar = SimilarPlaces(places=7, highest_margin=1.359)
    worst = replace(found.worst, copies=1, similar=similar)
    seven = replace(found, hot_spots=(worst, *found.hot_spots[1:]))
    words = "1 place, the worst of 7 like it (margins to 1.35)"
    assert words in " ".join(_shown(render_screening(seven)).split())
    assert words in screening_page(replace(small_screening, findings=seven), NONE)
    first, second, *_ = findings_to_dict(seven)["hot_spots"]
    assert first["similar"] == {"places": 7, "highest_margin": 1.359}
    assert second["similar"] is None
    assert numbers.places(found.worst) == f"{found.worst.copies} places"


def test_terminal_and_page_take_the_error_bar_off_alike(small_screening, page):
    """Both show the worst margin less its bar, and that one mesh settles nothing."""
    least = small_screening.findings.verdict.worst_margin_less_bar
    words = f"{numbers.margin(least)} less its error bar"
    text = html.unescape(re.sub(r"<[^>]+>", "", page))
    for shown in (" ".join(text.split()), sentences.headline(small_screening.findings)):
        assert words in shown
        assert "quick look, on one mesh" in shown


def test_a_quick_look_says_so_before_its_verdict(small_screening):
    """With one mesh the headline begins with it; with more it begins with the word."""
    found = small_screening.findings
    quick = sentences.headline(found)
    assert quick.startswith("a quick look, on one mesh, settles nothing; not settled")
    options = replace(found.options, most_meshes=2)
    usual = sentences.headline(replace(found, options=options))
    assert usual == quick.partition("; ")[2]


def test_json_holds_no_path_date_or_wall_time(small_screening):
    """Wall times stay with the screening, and no path gets into the findings."""
    text = to_text(findings_to_dict(small_screening.findings))
    assert small_screening.seconds
    assert "/" + "home" not in text
    assert "seconds" not in json.loads(text)


def test_json_does_not_see_rounding_noise(small_screening):
    """A balance at rounding level, whatever its size, leaves no trace."""
    found = small_screening.findings
    tests = tuple(
        replace(test, balance_misfit=test.balance_misfit * 3.0) for test in found.tests
    )
    noisy = replace(found, tests=tests)
    assert to_text(findings_to_dict(noisy)) == to_text(findings_to_dict(found))


@pytest.mark.parametrize(("life", "word"), [(float("inf"), "beyond"), (0.0, "below")])
def test_life_outside_the_line_is_a_word(small_screening, life, word):
    """Lives outside the S-N line are null in the JSON and a word everywhere."""
    found = small_screening.findings
    spots = tuple(
        replace(
            spot,
            life_median_cycles=life_within(life),
            life_median_range=life_range(life),
        )
        for spot in found.hot_spots
    )
    odd = replace(found, hot_spots=spots)
    told = findings_to_dict(odd)["hot_spots"][0]
    assert told["life_median_cycles"] is None
    assert told["life_median_range"] == word
    assert re.search(rf"{word}\s+\d+\.\d %", _shown(render_screening(odd)))
    page = screening_page(replace(small_screening, findings=odd), NONE)
    assert f'<td class="n">{word}</td>' in page


def test_caution_on_every_output(small_screening, page, document):
    """Terminal, page and JSON each carry the caution."""
    told = " ".join(_shown(render_screening(small_screening.findings)).split())
    assert caution.SHORT in told
    assert html.escape(caution.FULL, quote=False) in page
    assert document["caution"] == caution.FULL


def test_what_is_left_out_is_told_everywhere(small_screening, page, document):
    """Terminal, page and JSON say that valve hole and humps are left out, and why."""
    told = " ".join(_shown(render_screening(small_screening.findings)).split())
    remarks = document["wheel"]["drawing_remarks"]
    assert len(remarks) == 3
    for words in ("valve hole is left out", "hump is left out"):
        assert words in told
        assert words in page
        assert any(words in remark for remark in remarks)


def test_page_stands_alone(page):
    """The page refers to no file, no script and no other host."""
    tags = _Reader(page).tags
    assert not [tag for tag, _ in tags if tag in ("script", "link", "iframe")]
    used = [a.get("src") or a.get("href") or a.get("xlink:href") for _, a in tags]
    assert all(u.startswith(("data:", "#")) for u in used if u)
    assert "url(http" not in page


def test_page_is_well_formed(page):
    """Every element that is opened is closed, in order."""
    reader = _Reader(page)
    assert reader.misplaced == []
    assert reader.open == []


def test_page_without_pictures_says_so(page):
    """Without pictures the page gives the reason."""
    assert NONE.note in page
    assert "<img" not in page


def test_terminal_fits_80_columns(small_screening):
    """No line is wider than 80 characters, with the longest name there may be."""
    long = _named(small_screening, "x" * 80)
    lines = _shown(render_screening(long.findings)).splitlines()
    assert max(map(len, lines)) <= 80
    verdict = sentences.headline(long.findings)
    assert verdict in " ".join(" ".join(lines).split())


def test_names_are_escaped(small_screening):
    """Markup in a name is text on the page and in the terminal."""
    nasty = _named(small_screening, NASTY)
    reader = _Reader(screening_page(nasty, NONE))
    assert "script" not in [tag for tag, _ in reader.tags]
    assert NASTY in "".join(reader.text)
    assert "[red]x[/red]" in _shown(
        render_screening(_named(small_screening, "[red]x[/red]").findings)
    )


@settings(max_examples=25, deadline=None)
@given(st.text(min_size=1, max_size=80))
def test_any_name_survives_the_json(small_screening, name):
    """Whatever the name, the JSON gives it back."""
    if any("\ud800" <= c <= "\udfff" for c in name):
        return
    named = _named(small_screening, name).findings
    told = json.loads(to_text(findings_to_dict(named)))
    assert told["name"] == name


@given(st.text(max_size=200))
def test_slugs_are_safe_file_names(name):
    """A slug is a short, non-empty name of letters, digits and hyphens."""
    stem = slug(name)
    assert re.fullmatch(r"[^\W_]+(-[^\W_]+)*", stem) or stem == "design"
    assert len(stem.encode("utf-8")) <= 240
    assert slug(stem) == stem


@given(
    st.lists(
        st.sampled_from(
            ["a/x", "b/x", "a/X", "c/a-x", "y", "b/y-2", "y-2", "comparison"]
        )
    )
)
def test_stems_never_collide(names):
    """However folders repeat file names, every file gets its own stem."""
    from pathlib import Path

    files = [Path(name + ".toml") for name in dict.fromkeys(names)]
    stems = unique_stems(files)
    assert len({stem.lower() for stem in stems.values()}) == len(files)
    assert "comparison" not in stems.values()


def test_faults_are_told_one_by_one():
    """Key, value, limit and remedy of every fault show, with markup as text."""
    faults = [
        Fault("spokes.count", "2", "needs at least 3 [spokes]", "add a spoke"),
        Fault("hub", "", "missing", "add the table"),
    ]
    text = " ".join(_shown(render_faults(DesignError("a.toml", faults))).split())
    for part in ("a.toml", "2 faults", "spokes.count", "3 [spokes]", "add the table"):
        assert part in text


def test_same_bytes_twice(small_screening, tmp_path):
    """Writing twice gives the same JSON and the same page, byte for byte."""
    first = write_outputs(small_screening, tmp_path / "a")
    second = write_outputs(small_screening, tmp_path / "b")
    assert first.json.read_bytes() == second.json.read_bytes()
    assert first.page.read_bytes() == second.page.read_bytes()
    assert {p.name for p in (tmp_path / "a").iterdir()} == {
        first.json.name,
        first.page.name,
    }


def test_vtu_reads_back(small_screening, tmp_path):
    """The VTU holds the mesh and, on the surface, the utilisation of each test."""
    written = write_outputs(small_screening, tmp_path, vtu=True)
    mesh, columns = read_vtu(written.vtu)
    own = small_screening.wheel.mesh
    np.testing.assert_array_equal(mesh.cells, own.cells)
    np.testing.assert_array_equal(mesh.points, own.points)
    found = small_screening.fields
    assert len(columns) == len(small_screening.findings.tests)
    for test in small_screening.findings.tests:
        values = columns[f"utilisation, {test.name}"]
        on = values[found.surface.nodes]
        np.testing.assert_array_equal(on, found.utilisation[test.name])
        assert np.isnan(values).sum() == own.n_points - len(on)


def _child(code):
    """A stand-in for the drawing process."""
    return (sys.executable, "-c", code)


def test_crash_of_the_drawing_process_leaves_the_rest(small_screening, tmp_path):
    """A drawing process that dies by a signal costs the pictures and nothing else."""
    crash = _child(f"import os; os.kill(os.getpid(), {int(signal.SIGSEGV)})")
    with DrawingProcess(crash) as drawing:
        written = write_outputs(small_screening, tmp_path, drawing)
    assert "SIGSEGV" in written.notes[0]
    assert written.notes[0] in html.unescape(written.page.read_text("utf-8"))
    assert json.loads(written.json.read_text("utf-8"))["hot_spots"]


@pytest.mark.parametrize(
    ("code", "told"),
    [
        ("raise SystemExit('out of ink')", "out of ink"),
        ("import time; time.sleep(60)", "took over"),
        ("", "wrote none"),
    ],
)
def test_other_failures_of_the_drawing_process(small_screening, code, told):
    """An error, a hang and an empty hand each become a note."""
    job = picture_job(small_screening.fields, place_marks(small_screening))
    drawn = draw_pictures(job, _child(code), timeout=5.0)
    assert drawn.images == {}
    assert told in drawn.note


def test_a_drawing_process_that_gets_no_job_ends_with_its_block(tmp_path):
    """A screening that fails leaves neither the child nor its folder behind."""
    pid_file = tmp_path / "pid"
    code = (
        "import os, pathlib, sys, time; "
        f"place = pathlib.Path({str(pid_file)!r}); "
        "place.write_text(f'{os.getpid()} {sys.argv[2]}'); "
        "time.sleep(60)"
    )
    with DrawingProcess(_child(code)):
        while not (pid_file.exists() and pid_file.read_text("utf-8")):
            time.sleep(0.01)
    pid, folder = pid_file.read_text("utf-8").split(" ", 1)
    assert not Path(folder).exists()
    with pytest.raises(ProcessLookupError):
        os.kill(int(pid), 0)


def test_missing_program_becomes_a_note(small_screening):
    """A drawing process that cannot be started becomes a note."""
    job = picture_job(small_screening.fields, place_marks(small_screening))
    assert draw_pictures(job, ("/nowhere/at-all",)).note.startswith("no pictures")
