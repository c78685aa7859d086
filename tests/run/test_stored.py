"""A stored run is shown as it was, and only whole runs are stored."""

import json
from dataclasses import replace

import pytest

from spokecheck.errors import InputError
from spokecheck.report.findings.summary import (
    summarise,
    summary_from_text,
    summary_to_text,
)
from spokecheck.report.whole_files import Written
from spokecheck.run import job as jobs
from spokecheck.run.cache import Store, key_of, surroundings
from spokecheck.run.job import Keeping, screen_file
from spokecheck.run.stored import Screened, keep, recall
from spokecheck.screen.request import Request

KEY = "ab" * 32
FILES = {".json": b"{}\n", ".html": b"<p>", ".vtu": b"<VTKFile>"}
PLAIN = Request(pictures=False)


@pytest.fixture(scope="module")
def summary(small_screening):
    """Summary of the shared screening."""
    return summarise(small_screening)


def screened(summary, folder, notes=()):
    """A run that wrote its files."""
    paths = [folder / f"a{suffix}" for suffix in FILES]
    return Screened(summary, Written(*paths, small=b"jpeg", notes=notes))


def test_a_summary_survives_json(summary):
    """Every value comes back equal and of the same type, floats to the last bit."""
    again = summary_from_text(summary_to_text(summary))
    assert again == summary
    assert repr(again) == repr(summary)


def test_a_margin_without_bound_survives_json(summary):
    """An infinite margin is a float like another."""
    endless = replace(summary, worst=replace(summary.worst, margin=float("inf")))
    assert summary_from_text(summary_to_text(endless)) == endless


@pytest.mark.parametrize(
    "change",
    [
        {"mass": "14"},
        {"mass": 14},
        {"n_spots": True},
        {"verdict": "passes"},
        {"tests": None},
        {"spots": [{}]},
        {"remarks": [["Mesh", []]]},
        {"extra": 1},
    ],
)
def test_a_summary_of_other_types_is_refused(summary, change):
    """Nothing is converted in silence."""
    raw = json.loads(summary_to_text(summary)) | change
    with pytest.raises(ValueError):  # noqa: PT011 - the words are for developers
        summary_from_text(json.dumps(raw))


def test_a_stored_run_writes_the_same_files(summary, tmp_path):
    """Files come back byte for byte, under the name asked for now."""
    store = Store(tmp_path / "store")
    assert keep(store, KEY, screened(summary, tmp_path), FILES).written.notes == ()
    found = recall(store, KEY, tmp_path / "out", "b", vtu=True)
    assert found.stored
    assert found.summary == summary
    assert found.written.small == b"jpeg"
    pairs = {".json": found.written.json, ".html": found.written.page}
    for suffix, path in pairs.items():
        assert path == tmp_path / "out" / f"b{suffix}"
        assert path.read_bytes() == FILES[suffix]
    assert found.written.vtu.read_bytes() == FILES[".vtu"]


@pytest.mark.parametrize("missing", [".json", ".html", ".vtu"])
def test_an_entry_without_a_file_asked_for_is_a_miss(summary, tmp_path, missing):
    """Nothing is written unless everything is there."""
    store = Store(tmp_path / "store")
    some = {name: raw for name, raw in FILES.items() if name != missing}
    keep(store, KEY, screened(summary, tmp_path), some)
    assert recall(store, KEY, tmp_path / "out", "b", vtu=True) is None
    assert not (tmp_path / "out").exists()


def test_an_entry_with_a_bad_summary_is_a_miss(summary, tmp_path):
    """A summary that does not read back counts as not there."""
    store = Store(tmp_path / "store")
    for raw in (b"{", b"\xff", b"null"):
        store.put(KEY, {**FILES, "summary.json": raw})
        assert recall(store, KEY, tmp_path / "out", "b", vtu=False) is None


def test_a_run_without_its_pictures_is_not_stored(summary, tmp_path):
    """What could not be done this time is tried again the next."""
    store = Store(tmp_path / "store")
    keep(store, KEY, screened(summary, tmp_path, ("no pictures: no driver",)), FILES)
    assert store.get(KEY) is None


def test_a_store_that_cannot_be_written_costs_a_note(summary, tmp_path):
    """The result stands; the user is told why it was not kept."""
    (tmp_path / "file").write_text("in the way")
    store = Store(tmp_path / "file")
    (note,) = keep(store, KEY, screened(summary, tmp_path), FILES).written.notes
    assert "not stored" in note
    assert "file" in note


def test_files_that_cannot_be_written_again_are_bad_input(summary, tmp_path):
    """The message names the place and the option to change."""
    store = Store(tmp_path / "store")
    keep(store, KEY, screened(summary, tmp_path), FILES)
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(InputError, match="--out"):
        recall(store, KEY, tmp_path / "file", "b", vtu=False)


def run_job(monkeypatch, small_screening, tmp_path, meanwhile):
    """The job on a design file, with the work replaced; the store afterwards."""
    path = tmp_path / "a.toml"
    path.write_text("name = 'A'\n")
    store = Store(tmp_path / "store")
    key = key_of(path, PLAIN, surroundings())

    def work(*_):
        meanwhile(path)
        return small_screening

    monkeypatch.setattr(jobs, "read_source", lambda *_: None)
    monkeypatch.setattr(jobs, "screen", work)
    keeping = Keeping(store, {path: key})
    screen_file(path, PLAIN, tmp_path / "out", {path: "a"}, keeping)
    return store, key


def test_the_job_stores_what_it_wrote(monkeypatch, small_screening, tmp_path):
    """The entry holds the bytes of the files in the folder."""
    store, key = run_job(monkeypatch, small_screening, tmp_path, lambda path: None)
    found = store.get(key)
    for suffix in (".json", ".html"):
        assert found[suffix] == (tmp_path / "out" / f"a{suffix}").read_bytes()
    assert ".vtu" not in found


def test_a_design_edited_during_the_work_is_not_stored(
    monkeypatch, small_screening, tmp_path
):
    """A result is kept only if its file is still the one that was looked up."""
    edit = "name = 'B'\n"
    store, key = run_job(
        monkeypatch, small_screening, tmp_path, lambda path: path.write_text(edit)
    )
    assert store.get(key) is None
    assert not store.folder.exists()
