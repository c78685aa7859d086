"""A stored run is shown as it was, and only whole runs are stored."""

import sys

import pytest

from spokecheck.errors import InputError
from spokecheck.report.whole_files import Written
from spokecheck.run import job as jobs
from spokecheck.run.cache import Store, key_of, surroundings
from spokecheck.run.job import Keeping, imported, screen_file
from spokecheck.run.stored import Screened, keep, recall
from spokecheck.screen.request import Request

KEY = "ab" * 32
FILES = {".json": b"{}\n", ".html": b"<p>", ".vtu": b"<VTKFile>"}
PLAIN = Request(pictures=False)


@pytest.fixture(scope="module")
def found(small_screening):
    """Findings of the shared screening."""
    return small_screening.findings


def screened(found, folder, notes=()):
    """A run that wrote its files."""
    paths = [folder / f"a{suffix}" for suffix in FILES]
    return Screened(found, Written(*paths, small=b"jpeg", notes=notes))


def test_a_stored_run_writes_the_same_files(found, tmp_path):
    """Files come back byte for byte, under the name asked for now."""
    store = Store(tmp_path / "store")
    assert keep(store, KEY, screened(found, tmp_path), FILES).written.notes == ()
    again = recall(store, KEY, tmp_path / "out", "b", vtu=True)
    assert again.stored
    assert again.findings == found
    assert again.written.small == b"jpeg"
    pairs = {".json": again.written.json, ".html": again.written.page}
    for suffix, path in pairs.items():
        assert path == tmp_path / "out" / f"b{suffix}"
        assert path.read_bytes() == FILES[suffix]
    assert again.written.vtu.read_bytes() == FILES[".vtu"]


@pytest.mark.parametrize("missing", [".json", ".html", ".vtu"])
def test_an_entry_without_a_file_asked_for_is_a_miss(found, tmp_path, missing):
    """Nothing is written unless everything is there."""
    store = Store(tmp_path / "store")
    some = {name: raw for name, raw in FILES.items() if name != missing}
    keep(store, KEY, screened(found, tmp_path), some)
    assert recall(store, KEY, tmp_path / "out", "b", vtu=True) is None
    assert not (tmp_path / "out").exists()


def test_an_entry_with_bad_findings_is_a_miss(found, tmp_path):
    """Findings that do not read back count as not there."""
    store = Store(tmp_path / "store")
    for raw in (b"{", b"\xff", b"null"):
        store.put(KEY, {**FILES, "findings.json": raw})
        assert recall(store, KEY, tmp_path / "out", "b", vtu=False) is None


def test_a_run_without_its_pictures_is_not_stored(found, tmp_path):
    """What could not be done this time is tried again the next."""
    store = Store(tmp_path / "store")
    keep(store, KEY, screened(found, tmp_path, ("no pictures: no driver",)), FILES)
    assert store.get(KEY) is None


def test_a_store_that_cannot_be_written_costs_a_note(found, tmp_path):
    """The result stands; the user is told why it was not kept."""
    (tmp_path / "file").write_text("in the way")
    store = Store(tmp_path / "file")
    (note,) = keep(store, KEY, screened(found, tmp_path), FILES).written.notes
    assert "not stored" in note
    assert "file" in note


def test_files_that_cannot_be_written_again_are_bad_input(found, tmp_path):
    """The message names the place and the option to change."""
    store = Store(tmp_path / "store")
    keep(store, KEY, screened(found, tmp_path), FILES)
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
    entry = store.get(key)
    for suffix in (".json", ".html"):
        assert entry[suffix] == (tmp_path / "out" / f"a{suffix}").read_bytes()
    assert ".vtu" not in entry


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


def test_a_module_imported_meanwhile_is_there_at_the_end():
    """The block ends when the import has, so no copy of the process can catch it."""
    with pytest.raises(ZeroDivisionError), imported("spokecheck.run.write"):
        raise ZeroDivisionError
    assert "spokecheck.run.write" in sys.modules
