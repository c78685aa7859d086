"""The import order of the rooms, read from the table that DEVELOPERS.md shows."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "spokecheck"
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
FILES = sorted(PACKAGE.rglob("*.py"))


def _block(name):
    """Lines of the fenced block that follows a marker comment in the guide."""
    found = re.search(rf"<!-- {name} -->\s*```\w*\n(.*?)```", GUIDE, re.DOTALL)
    assert found, f"DEVELOPERS.md has no block {name}"
    return found[1].strip().splitlines()


ORDER = [part.strip().split(", ") for part in " ".join(_block("order")).split("|")]
RANK = {room: k for k, rooms in enumerate(ORDER) for room in rooms}
BLIND = dict(line.split(" never sees ") for line in _block("blind"))
HOME = dict(line.split(" lives in ") for line in _block("homes"))


def _room(path):
    """Room of a file: its folder, or its own name at the top."""
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def _imports(path):
    """Absolute names imported anywhere in a file, with their lines."""
    package = ["spokecheck", *path.relative_to(PACKAGE).parts[:-1]]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from ((f"{base}.{alias.name}", node.lineno) for alias in node.names)


def _is_home(guest, path):
    """Whether a guest may be met in a file: its home is a file or a folder."""
    home = HOME.get(guest, path)
    return path.startswith(home) if home.endswith("/") else path == home


def breaches(path):
    """What a file imports against the rules, in words."""
    room, relative = _room(path), str(path.relative_to(PACKAGE))
    for name, line in _imports(path):
        parts = name.split(".")
        if not _is_home(parts[0], f"spokecheck/{relative}"):
            yield f"{relative}:{line} imports {parts[0]}, which lives elsewhere"
        if parts[0] != "spokecheck" or room in ("__init__", "__main__"):
            continue
        target = parts[1] if len(parts) > 1 else ""
        if target not in RANK:
            yield f"{relative}:{line} imports the front door ({name})"
        elif RANK[target] > RANK[room] or target in BLIND.get(room, "").split(", "):
            yield f"{relative}:{line} imports {target}: {room} may not"
        elif RANK[target] == RANK[room] and target != room:
            yield f"{relative}:{line} imports {target}: {room} may not"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_room_imports_only_to_its_left(path):
    """A room imports only rooms to its left, and no guest outside its home."""
    assert list(breaches(path)) == []


def test_every_room_has_a_rank():
    """The table in the guide names every room there is."""
    rooms = {_room(path) for path in FILES} - {"__init__", "__main__"}
    assert rooms == set(RANK)


@pytest.mark.parametrize(
    ("room", "line", "told"),
    [
        ("fatigue", "from spokecheck.fem import solve", "imports fem"),
        ("fem", "def f():\n    from ..wheel import design", "imports wheel"),
        ("screen", "from spokecheck import __version__", "front door"),
        ("report", "import gmsh", "lives elsewhere"),
        ("mesh", "import spokecheck.cli", "imports cli"),
    ],
)
def test_a_planted_breach_is_seen(room, line, told, tmp_path, monkeypatch):
    """Each kind of breach, planted in a copy of the tree, is told."""
    monkeypatch.setitem(globals(), "PACKAGE", tmp_path)
    bad = tmp_path / room / "bad.py"
    bad.parent.mkdir()
    bad.write_text(line)
    assert any(told in breach for breach in breaches(bad))
