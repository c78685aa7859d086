"""The front door: every public name is listed, sorted, and leads to the one meant."""

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import spokecheck

SOURCE = ast.parse(Path(spokecheck.__file__).read_text(encoding="utf-8"))


def typed_imports():
    """Public name to (module, own name), as the type checker reads them."""
    guard = next(node for node in SOURCE.body if isinstance(node, ast.If))
    return {
        alias.asname or alias.name: (node.module, alias.name)
        for node in guard.body
        for alias in node.names
    }


def test_the_list_is_sorted_and_has_no_name_twice():
    """``__all__`` is in order."""
    assert spokecheck.__all__ == sorted(set(spokecheck.__all__))


def test_list_table_and_typed_imports_are_the_same():
    """What is listed, what is found at run time and what is typed agree exactly."""
    assert set(spokecheck.__all__) == set(spokecheck._HOMES)
    assert typed_imports() == spokecheck._HOMES


@pytest.mark.parametrize("name", spokecheck.__all__)
def test_every_name_leads_to_its_home(name):
    """A public name is the object of its home module, defined there."""
    module, own_name = spokecheck._HOMES[name]
    found = getattr(spokecheck, name)
    assert found is getattr(import_module(module), own_name)
    assert found.__module__ == module
    assert found.__name__ == own_name


def test_no_public_name_hides_behind_a_room():
    """No public name is also a room: importing the room would replace it."""
    rooms = {path.stem for path in Path(spokecheck.__file__).parent.iterdir()}
    assert rooms.isdisjoint(spokecheck.__all__)


def test_an_unknown_name_is_told():
    """A name that is not there raises the usual error."""
    with pytest.raises(AttributeError, match="no attribute 'beam_blok'"):
        _ = spokecheck.beam_blok


def test_completion_offers_every_name():
    """``dir`` shows what can be imported."""
    assert set(spokecheck.__all__) <= set(dir(spokecheck))


def test_the_front_door_imports_no_library():
    """Importing the package loads no heavy library, so commands start fast."""
    heavy = ("numpy", "scipy", "gmsh", "pyvista", "pydantic", "matplotlib")
    code = f"import sys, spokecheck; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
