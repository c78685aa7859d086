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
WINGS = {
    room: {w: k for k, part in enumerate(order.split(" | ")) for w in part.split(", ")}
    for room, order in (line.split(": ") for line in _block("wings"))
}
BLIND = dict(line.split(" never sees ") for line in _block("blind"))
HOME = dict(line.split(" lives in ") for line in _block("homes"))


def _room(path):
    """Room of a file: its folder, or its own name at the top."""
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def _wing(room, parts):
    """Wing of a module in a room without one name for all: its folder, or its own."""
    return parts[0] if room in WINGS and parts else ""


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
    own_wing = _wing(room, path.relative_to(PACKAGE).with_suffix("").parts[1:])
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
        elif target == room and _to_the_right(room, own_wing, _wing(room, parts[2:])):
            yield f"{relative}:{line} imports {room}.{parts[2]}: {own_wing} may not"


def _to_the_right(room, wing, target):
    """Whether a wing stands to the right of another, or beside it."""
    if target == wing or wing == "__init__":
        return False
    ranks = WINGS.get(room, {})
    return bool(ranks) and ranks[target] >= ranks[wing]


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_room_imports_only_to_its_left(path):
    """Rooms and wings import only to their left, and no guest outside its home."""
    assert list(breaches(path)) == []


def test_every_room_has_a_rank():
    """The table in the guide names every room there is."""
    rooms = {_room(path) for path in FILES} - {"__init__", "__main__"}
    assert rooms == set(RANK)
    for room, wings in WINGS.items():
        inside = [p for p in FILES if _room(p) == room and p.name != "__init__.py"]
        wing = {p.relative_to(PACKAGE / room).with_suffix("").parts[0] for p in inside}
        assert wing == set(wings)


@pytest.mark.parametrize(
    ("room", "line", "told"),
    [
        ("fatigue", "from spokecheck.fem import solve", "imports fem"),
        ("fem", "def f():\n    from ..wheel import design", "imports wheel"),
        ("screen", "from spokecheck import __version__", "front door"),
        ("report", "import gmsh", "lives elsewhere"),
        ("mesh", "import spokecheck.cli", "imports cli"),
        ("wheel/shape", "from spokecheck.wheel.meshing import dents", "wheel.meshing"),
        ("wheel/reading", "import spokecheck.wheel.meshing.dents", "wheel.meshing"),
        ("report/sheet", "from spokecheck.report.pictures.marks import A", "pictures"),
    ],
)
def test_a_planted_breach_is_seen(room, line, told, tmp_path, monkeypatch):
    """Each kind of breach, planted in a copy of the tree, is told."""
    monkeypatch.setitem(globals(), "PACKAGE", tmp_path)
    bad = tmp_path / room / "bad.py"
    bad.parent.mkdir(parents=True)
    bad.write_text(line)
    assert any(told in breach for breach in breaches(bad))
