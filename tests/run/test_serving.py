"""Which stored runs serve a request."""

import pytest

from spokecheck.report.whole_files import Written
from spokecheck.run.cache import Store, key_of
from spokecheck.run.serving import recall_serving, that_serve
from spokecheck.run.stored import Screened, keep
from spokecheck.screen.request import Request

FILES = {".json": b"{}\n", ".html": b"<p>with pictures", ".vtu": b"<VTKFile>"}


@pytest.fixture
def stored(small_screening, tmp_path):
    """A design, and a store with its run that drew pictures and wrote a VTU."""
    design, store = tmp_path / "a.toml", Store(tmp_path / "store")
    design.write_text("name = 'A'\n")
    key = key_of(design, Request(vtu=True), "x")
    files = Written(*(tmp_path / f"a{suffix}" for suffix in FILES))
    keep(store, key, Screened(small_screening.findings, files), FILES)
    return design, store


@pytest.mark.parametrize("pictures", [True, False])
@pytest.mark.parametrize("vtu", [True, False])
def test_a_run_with_more_serves_one_with_less(stored, tmp_path, pictures, vtu):
    """Pictures and VTU change no number, so their run is shown without them too."""
    design, store = stored
    asked = Request(pictures=pictures, vtu=vtu)
    found = recall_serving(store, design, asked, "x", tmp_path / "out", "b")
    assert found.stored
    assert (found.written.vtu is not None) == vtu
    written = {path.suffix for path in (tmp_path / "out").iterdir()}
    assert written == ({".json", ".html", ".vtu"} if vtu else {".json", ".html"})


def test_a_run_with_less_serves_none_with_more():
    """Pictures that were not drawn cannot be shown."""
    assert [r.pictures for r in that_serve(Request())] == [True, True]
    assert {r.vtu for r in that_serve(Request(vtu=True))} == {True}


def test_another_choice_is_another_run(stored, tmp_path):
    """A choice that changes numbers is never served by a run without it."""
    design, store = stored
    for other in (Request(fineness=1.5), Request(impact=True)):
        assert recall_serving(store, design, other, "x", tmp_path / "out", "b") is None
