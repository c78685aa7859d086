"""The store of earlier results: keys, whole entries, bounds, many processes."""

import json
import os
import re
import time
import tomllib
import zipfile
from dataclasses import fields, replace
from multiprocessing import get_context
from pathlib import Path

import pytest

from spokecheck.run import cache
from spokecheck.run.cache import Store, default_folder, key_of, surroundings
from spokecheck.screen.request import Request

KEY = "ab" * 32
FILES = {
    "findings.json": b"{}",
    ".json": b"numbers " * 5000,
    ".vtu": os.urandom(50_000),
}
OTHER = {
    "required_margin": 1.2,
    "fineness": 1.5,
    "tolerance": 0.04,
    "meshes": 2,
    "places": 7,
    "drawing": 1,
    "patch_half_angle": 35.0,
    "procedures": ("un-r124",),
    "other_criteria": True,
    "impact": True,
    "whole": True,
    "pictures": False,
    "vtu": True,
}


@pytest.fixture
def store(tmp_path):
    """A store with one entry."""
    made = Store(tmp_path / "store")
    made.put(KEY, FILES)
    return made


@pytest.fixture
def design(tmp_path):
    """A file to take a key of."""
    path = tmp_path / "a.toml"
    path.write_text("name = 'A'\n")
    return path


def entry(store):
    """Path of the only entry."""
    (path,) = store.folder.iterdir()
    return path


def test_an_entry_comes_back_as_it_was(store):
    """What was put is what is got, and nothing else lies in the folder."""
    assert store.get(KEY) == FILES
    assert store.get("cd" * 32) is None
    assert entry(store).name == f"spokecheck-{KEY}.zip"


def _rewrite(path, **members):
    """The archive anew, with members replaced, or left out where None."""
    with zipfile.ZipFile(path) as old:
        kept = {name: old.read(name) for name in old.namelist()} | members
    with zipfile.ZipFile(path, "w") as new:
        for name, content in kept.items():
            if content is not None:
                new.writestr(name, content)


def _truncate(path, share):
    path.write_bytes(path.read_bytes()[: int(share * path.stat().st_size)])


def _flip(path, share):
    raw = bytearray(path.read_bytes())
    raw[int(share * len(raw))] ^= 0x10
    path.write_bytes(raw)


def _as_folder(path):
    path.unlink()
    path.mkdir()


def _of_another_key(path):
    other = Store(path.parent)
    other.put("cd" * 32, FILES)
    os.replace(other._path("cd" * 32), path)


PLANTED = {
    "empty": lambda path: path.write_bytes(b""),
    "noise": lambda path: path.write_bytes(os.urandom(3000)),
    "text": lambda path: path.write_text("not an archive"),
    "folder": _as_folder,
    "cut at a tenth": lambda path: _truncate(path, 0.1),
    "cut at half": lambda path: _truncate(path, 0.5),
    "cut at the last byte": lambda path: _truncate(path, 0.99999),
    "bit in the data": lambda path: _flip(path, 0.5),
    "bit near the end": lambda path: _flip(path, 0.97),
    "other key": _of_another_key,
    "no manifest": lambda path: _rewrite(path, **{"manifest.json": None}),
    "manifest no JSON": lambda path: _rewrite(path, **{"manifest.json": b"{"}),
    "manifest a list": lambda path: _rewrite(path, **{"manifest.json": b"[]"}),
    "member missing": lambda path: _rewrite(path, **{".vtu": None}),
    "member swapped": lambda path: _rewrite(path, **{".json": b"other numbers"}),
}


@pytest.mark.parametrize("plant", PLANTED.values(), ids=PLANTED)
def test_a_damaged_entry_counts_as_not_there(store, plant):
    """Whatever was done to the file, the answer is a miss, and a put mends it."""
    assert store.get(KEY) is not None
    path = entry(store)
    plant(path)
    assert store.get(KEY) is None
    if path.is_file():
        store.put(KEY, FILES)
        assert store.get(KEY) == FILES


def test_an_entry_of_another_layout_counts_as_not_there(store, monkeypatch):
    """A later release that lays entries out anew does not read old ones."""
    monkeypatch.setattr(cache, "FORMAT", cache.FORMAT + 1)
    assert store.get(KEY) is None


def test_a_failed_put_leaves_nothing(tmp_path):
    """An archive that breaks half-way is removed, whatever was in the way."""
    store = Store(tmp_path)

    class Bad(dict):
        def items(self):
            yield ".json", b"good"
            if list(tmp_path.iterdir()):  # the archive is under way
                raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        store.put(KEY, Bad())
    assert list(tmp_path.iterdir()) == []


def test_the_key_changes_with_every_choice(design, tmp_path):
    """No field of the request can change without the key."""
    plain = Request()
    key = key_of(design, plain, "x")
    assert key == key_of(design, Request(), "x")
    own = tmp_path / "own.toml"
    own.write_text("[mine]\n")
    solid = tmp_path / "a.step"
    solid.write_text("solid")
    other = {**OTHER, "procedure_file": own, "mesh": solid}
    assert set(other) == {field.name for field in fields(Request)}
    keys = {
        key_of(design, replace(plain, **{name: value}), "x")
        for name, value in other.items()
    }
    assert key not in keys
    assert len(keys) == len(other)


def test_the_key_changes_with_every_file(design, tmp_path):
    """A byte of the design or of the procedure file makes another run."""
    own = tmp_path / "own.toml"
    own.write_text("[mine]\n")
    asked = Request(procedure_file=own)
    before = key_of(design, asked, "x")
    own.write_text("[mine] \n")
    between = key_of(design, asked, "x")
    design.write_text("name = 'B'\n")
    assert len({before, between, key_of(design, asked, "x")}) == 3


def test_the_key_does_not_hang_on_where_files_lie(design, tmp_path):
    """A checkout in another folder finds the same entry."""
    twin = tmp_path / "elsewhere" / "b.toml"
    twin.parent.mkdir()
    twin.write_bytes(design.read_bytes())
    assert key_of(design, Request(), "x") == key_of(twin, Request(), "x")


def test_what_cannot_be_read_twice_has_no_key(design, tmp_path):
    """Missing files, folders and pipes are never looked up, so never emptied."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (pipe, tmp_path, tmp_path / "nowhere.toml"):
        assert key_of(path, Request(), "x") is None
        assert key_of(design, Request(procedure_file=path), "x") is None


def test_an_edit_of_the_program_changes_the_surroundings(tmp_path):
    """Code and data files count, compiled leftovers do not."""
    code, data = tmp_path / "a.py", tmp_path / "deep" / "alloys.toml"
    data.parent.mkdir()
    code.write_text("x = 1\n")
    data.write_text("y = 1\n")
    seen = [surroundings(tmp_path)]
    (tmp_path / "__pycache__").mkdir()
    (tmp_path / "__pycache__" / "a.pyc").write_bytes(b"1")
    assert surroundings(tmp_path) == seen[0]
    for path, text in ((code, "x = 2\n"), (data, "y = 2\n")):
        path.write_text(text)
        seen.append(surroundings(tmp_path))
    code.rename(tmp_path / "b.py")
    seen.append(surroundings(tmp_path))
    assert len(set(seen)) == 4


@pytest.mark.parametrize("name", ["spokecheck", *cache.LIBRARIES])
def test_another_version_changes_the_surroundings(name, monkeypatch, tmp_path):
    """A new release of the package or of a library makes every result a new one."""
    before = surroundings(tmp_path)
    real = cache._version
    monkeypatch.setattr(cache, "_version", lambda n: "9" if n == name else real(n))
    assert surroundings(tmp_path) != before


def test_every_library_of_the_package_is_in_the_key():
    """All dependencies count, but those that only print, or write new designs."""
    text = Path("pyproject.toml").read_text(encoding="utf-8")
    needed = tomllib.loads(text)["project"]["dependencies"]
    names = {re.match(r"[\w-]+", line)[0] for line in needed}
    assert names - {"typer", "rich", "tomlkit"} <= set(cache.LIBRARIES)


def test_the_least_recently_used_goes_first(tmp_path):
    """The bound holds after each put; files of others are left alone."""
    foreign = tmp_path / "holiday.zip"
    foreign.write_bytes(b"x" * 100_000)
    content = {".json": os.urandom(10_000)}
    store = Store(tmp_path, most_bytes=35_000)
    keys = [digit * 64 for digit in "abc"]
    now = time.time()
    for age, key in zip((300, 200, 100), keys, strict=True):
        store.put(key, content)
        os.utime(store._path(key), (now - age, now - age))
    assert store.get(keys[0]) == content  # used just now, so the second is the oldest
    store.put("d" * 64, content)
    assert [store.get(key) is not None for key in keys] == [True, False, True]
    assert foreign.exists()


def test_leftovers_of_a_crash_are_swept(store):
    """A half-written file of yesterday goes, one of now stays."""
    old, new = (store.folder / f"spokecheck-{name}.part" for name in ("old", "new"))
    for path in (old, new):
        path.write_bytes(b"x")
    os.utime(old, (time.time() - 2 * cache.STALE_PART,) * 2)
    store.put(KEY, FILES)
    assert not old.exists()
    assert new.exists()


def _hammer(pipe, folder, letter, start, most_bytes):
    """Put and get one key while another process does; tell what the gets gave."""
    store = Store(Path(folder), most_bytes)
    seen = set()
    start.wait()
    for turn in range(60):
        store.put(KEY, {".json": letter.encode() * 40_000})
        store.put(f"{turn:02d}" * 32, {".json": os.urandom(20_000)})
        found = store.get(KEY)
        seen.add(None if found is None else frozenset(found[".json"].decode()))
    pipe.send(seen)


@pytest.mark.parametrize(
    ("most_bytes", "allowed"), [(200_000, {"p", "q", None}), (10**9, {"p", "q"})]
)
def test_two_processes_at_once_never_see_half_an_entry(tmp_path, most_bytes, allowed):
    """A get is whole; a miss only where the other process drops entries."""
    spawn = get_context("spawn")
    start = spawn.Barrier(2)
    pipes, workers = [], []
    for letter in "pq":
        ours, theirs = spawn.Pipe()
        args = (theirs, str(tmp_path), letter, start, most_bytes)
        workers.append(spawn.Process(target=_hammer, args=args))
        pipes.append(ours)
        workers[-1].start()
    seen = [pipe.recv() if pipe.poll(120) else {"nothing"} for pipe in pipes]
    for worker in workers:
        worker.join(30)
    whole = {None if letter is None else frozenset(letter) for letter in allowed}
    assert seen[0] | seen[1] <= whole
    assert [path for path in tmp_path.iterdir() if path.suffix == ".part"] == []


def test_the_folder_follows_the_users_setting(monkeypatch, tmp_path):
    """XDG Base Directory Specification: cached data go below XDG_CACHE_HOME."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "spokecheck"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert default_folder() == tmp_path / ".cache" / "spokecheck"


def test_the_manifest_is_plain_json(store):
    """An entry can be looked into with any archive program."""
    with zipfile.ZipFile(entry(store)) as archive:
        manifest = json.loads(archive.read("manifest.json"))
    assert manifest["key"] == KEY
    assert set(manifest["sha256"]) == set(FILES)


def test_the_key_counts_the_mesh_of_a_sidecar(tmp_path):
    """A sidecar's mesh counts with its content, named in it, beside it, or given."""
    sidecar, mesh = tmp_path / "a.vtu.toml", tmp_path / "a.vtu"
    sidecar.write_text("[mesh]\n")
    mesh.write_text("one")
    first = key_of(sidecar, Request(), "x")
    mesh.write_text("two")
    assert key_of(sidecar, Request(), "x") != first
    mesh.write_text("one")
    assert key_of(sidecar, Request(), "x") == first
    mesh.unlink()
    assert key_of(sidecar, Request(), "x") is None
