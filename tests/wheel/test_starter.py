"""A starter design: a few words of the trade give a file that can be drawn."""

import re
import tomllib

import pytest
from typer.testing import CliRunner

from spokecheck.cli import app
from spokecheck.errors import DesignError
from spokecheck.wheel.reading.read import parse_design
from spokecheck.wheel.shape.estimate import estimate_volume
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.starter import LAY, Words, starter_file
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.spokes_table import Spokes

COUNTS = {"lattice": 10, "plate": 10}


@pytest.mark.parametrize("pattern", LAY)
@pytest.mark.parametrize(
    ("rim", "bolts"),
    [("5.5J x 14", "4x100"), ("8J x 18", "5x114.3"), ("11J x 22", "6x139.7")],
)
def test_the_file_reads_without_a_fault(pattern, rim, bolts):
    """For rims of 14 to 22 inch, all patterns, common bolt circles."""
    text = starter_file(Words(rim, bolts, 650, COUNTS.get(pattern, 5), pattern), "new")
    design = parse_design(text)
    assert design.rim.size == rim
    assert design.spokes.pattern == pattern
    # a cast wheel of 14 to 22 inch has 5 to 20 kg (common practice), a plate more
    assert 5.0 < 2.68e-6 * estimate_volume(draw_wheel(design)) < 23.0


def test_every_pattern_has_its_proportions():
    """None is left to another's."""
    assert set(LAY) == set(Spokes.model_fields["pattern"].annotation.__args__)


def test_a_key_that_is_left_out_stands_in_a_comment():
    """With its default, which reads as TOML; so a # taken away changes nothing."""
    text = starter_file(Words("8J x 18", "5x112", 650), "new")
    known = parse_design(text).model_dump()
    freed = re.sub(r"^# (?=\w+ = (?!\.\.\.))", "", text, flags=re.MULTILINE)
    again = tomllib.loads(freed)
    assert len(freed) < len(text) - 40
    for table in ("rim", "hub", "bolts", "spokes", "duty", "material"):
        record = Design.model_fields[table].annotation
        plain = [
            k for k in record.model_fields if not isinstance(known[table][k], dict)
        ]
        shown = set(re.findall(r"^(?:# )?(\w+) = ", text, flags=re.MULTILINE))
        nested = {"inboard", "outboard", "pocket", *LAY, "fork", "sweep"}
        assert {k for k in plain if k not in nested} <= shown
    assert parse_design(freed).model_dump() == known
    assert again["rim"]["humps"] == "none"


def test_words_of_ones_own_stay():
    """Inset, bore and tyre are taken as given."""
    words = Words("7J x 17", "4x108", 560, 6, inset_mm=35.0, bore_mm=65.1,
                  tyre="215/50R17", name="Lark")  # fmt: skip
    design = parse_design(starter_file(words, "new"))
    assert (design.rim.inset_mm, design.hub.bore_mm) == (35.0, 65.1)
    assert (design.duty.tyre, design.name) == ("215/50R17", "Lark")


@pytest.mark.parametrize(
    ("words", "key"),
    [
        (Words("18 inch", "5x112", 650), "--rim"),
        (Words("8J x 18", "five", 650), "--bolts"),
        (Words("8J x 18", "5x112", 20), "duty.rating_kg"),
        (Words("8J x 18", "5x112", 650, 99), "spokes.count"),
        (Words("8J x 18", "5x112", 650, alloy="tin"), "material.alloy"),
        (Words("8J x 18", "5x112", 650, bore_mm=110.0), "hub.bore_mm"),
    ],
)
def test_words_that_make_no_wheel_are_refused_by_key(words, key):
    """The fault names what to ask for otherwise."""
    with pytest.raises(DesignError) as caught:
        starter_file(words, "new")
    assert key in {fault.key for fault in caught.value.faults}


def test_the_command_writes_a_new_file_and_no_old_one(tmp_path):
    """The design is named after its file; one that is there stays as it is."""
    file = tmp_path / "lark.toml"
    words = ["--rim", "8J x 18", "--bolts", "5x112", "--rating", "650"]
    first = CliRunner().invoke(app, ["new", str(file), *words])
    assert first.exit_code == 0
    before = file.read_text(encoding="utf-8")
    assert parse_design(before).name == "lark"
    assert CliRunner().invoke(app, ["new", str(file), *words]).exit_code == 0
    again = CliRunner().invoke(app, ["new", str(file), *words, "--spokes", "7"])
    assert again.exit_code == 2
    assert file.read_text(encoding="utf-8") == before
