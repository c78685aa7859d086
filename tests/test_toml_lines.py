"""Lines of keys in a TOML text."""

import tomllib
from pathlib import Path

import pytest

from spokecheck.toml_lines import line_in_message, line_of

TEXT = '''name = "a"      # 1
note = """
[spokes]
count = 9
"""
[spokes]            # 6
count = 5
"odd key" = 1
[ spokes . pocket ] # 9
wall_mm = 4
[[lines]]           # 11
x.y.z = 1
[rim] # [hub]
size = """8J""" # 14
hub = "[hub]"
'''


@pytest.mark.parametrize(
    ("key", "line"),
    [
        ("name", 1), ("spokes", 6), ("spokes.count", 7), ("spokes.odd key", 8),
        ("spokes.pocket.wall_mm", 10), ("spokes.pocket.floor_mm", 9),
        ("spokes.none", 6), ("lines.x", 12), ("lines.x.y", 12), ("rim.size", 14),
        ("rim.hub", 15), ("hub.bore_mm", 1), ("", 1),
    ],
)  # fmt: skip
def test_a_key_is_found_on_its_line(key, line):
    """Tables, dotted keys and texts of several lines; else the table, else line 1."""
    assert line_of(TEXT, key) == line


def test_every_key_of_an_example_is_on_a_line_that_has_it():
    """Each key of a design file is found where its text begins so."""
    text = Path("meshes/designs/cedar-flow-formed-7.toml").read_text(encoding="utf-8")
    lines = text.splitlines()
    for table, keys in tomllib.loads(text).items():
        for key in keys if isinstance(keys, dict) else ():
            assert lines[line_of(text, f"{table}.{key}") - 1].startswith(key)


def test_the_line_of_a_syntax_error_is_in_its_message():
    """The library's own message is understood."""
    with pytest.raises(tomllib.TOMLDecodeError) as caught:
        tomllib.loads("a = 1\nb = = 2\n")
    assert line_in_message(str(caught.value)) == 2
    assert line_in_message("at the end of the document") == 1
