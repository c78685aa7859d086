"""Design files: what is accepted, and how faults are reported."""

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from spokecheck.errors import DesignError
from spokecheck.wheel.reading.read import parse_design, read_design
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

DESIGNS = sorted(Path("meshes/designs").glob("*.toml"))
TEXT = Path("meshes/designs/aspen-cast-5.toml").read_text(encoding="utf-8")


def changed(*pairs):
    """Text of the example with some lines replaced."""
    text = TEXT
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


def message(*pairs):
    """Faults of the changed example, by key."""
    with pytest.raises(DesignError) as caught:
        parse_design(changed(*pairs), "variant.toml")
    return {fault.key: fault for fault in caught.value.faults}


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_every_committed_design_can_be_drawn(path):
    """Every example is free of faults, says that it is invented, and can be drawn."""
    design = read_design(path)
    assert "invented" in design.note.lower()
    inner, outer = draw_wheel(design).window_range
    assert outer > inner > 0.0


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ("inset_mm = 42", "inset_mm = 42\ninsett_mm = 3", "rim.insett_mm", "inset_mm?"),
        ('size = "8J x 18"', 'size = "8J x 17000"', "rim.size", "14 to 22"),
        ("root_width_mm = 66", "root_width_mm = 0.066", "spokes.root_width_mm", "mm"),
        (
            "root_width_mm = 66",
            "root_width_mm = 120",
            "spokes.root_width_mm",
            "overlap",
        ),
        ("tip_width_mm = 62", "tip_width_mm = 199", "spokes.tip_width_mm", "overlap"),
        (
            "pitch_circle_mm = 112",
            "pitch_circle_mm = 150",
            "bolts.pitch_circle_mm",
            "outside the pad",
        ),
        ("bore_mm = 66.6", "bore_mm = 90", "hub.bore_mm", "seats reach in"),
        (
            "bore_mm = 66.6",
            "bore_mm = 66.6\nrelief_inner_mm = 84\nrelief_radius_mm = 12",
            "hub.relief_radius_mm",
            "room for",
        ),
        ("thickness_mm = 48", "thickness_mm = 20", "hub.thickness_mm", "cone seat"),
        (
            "root_radius_mm = 86",
            "root_radius_mm = 72",
            "spokes.root_radius_mm",
            "raise",
        ),
        ("root_depth_mm = 38", "root_depth_mm = 70", "spokes.root_depth_mm", "inboard"),
        ("tip_face_mm = 44", "tip_face_mm = 120", "spokes.tip_face_mm", "rim"),
        ('tyre = "225/45R18"', "", "duty.tyre", "radii"),
        ('tyre = "225/45R18"', 'tyre = "225/45R17"', "duty.tyre", "17-inch"),
        ('"a356-t6-low-pressure"', '"a356"', "material.alloy", "a356-t6"),
        ("rating_kg = 620", 'rating_kg = "620"', "duty.rating_kg", "number"),
        ("rating_kg = 620", "rating_kg = nan", "duty.rating_kg", "finite"),
        ("surface_rz_um = 50", "survival = 1.2", "material.survival", "at most 1"),
        ("window_corner_mm = 16", "window_corner_mm = 60", None, "window"),
    ],
)
def test_each_fault_names_key_limit_and_remedy(old, new, key, words):
    """A fault is reported with its key, what is allowed, and what to do."""
    faults = message((old, new))
    if key is None:
        key = next(iter(faults))
    assert words in str(faults[key])
    assert faults[key].remedy


def test_all_faults_of_a_file_are_reported_together():
    """An unknown key does not hide a range fault, nor that an overlap elsewhere."""
    faults = message(
        ("inset_mm = 42", "inset_mm = 42\ncolour = 1"),
        ("rating_kg = 620", "rating_kg = 62"),
        ("root_width_mm = 66", "root_width_mm = 120"),
        ("pitch_circle_mm = 112", "pitch_circle_mm = 150"),
    )
    assert {
        "rim.colour",
        "duty.rating_kg",
        "spokes.root_width_mm",
        "bolts.pitch_circle_mm",
    } <= set(faults)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"[rim", "Expected"),
        (b"\xff\xfe", "UTF-8"),
        (b"", "needed"),
        (b"x" * 2_000_000, "bytes"),
    ],
)
def test_files_that_are_no_designs(tmp_path, content, words):
    """Broken, binary, empty and huge files are reported apart."""
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    with pytest.raises(DesignError, match=words):
        read_design(path)


def test_a_missing_file_is_named(tmp_path):
    """A path that leads nowhere is reported with the path."""
    with pytest.raises(DesignError, match="nowhere"):
        read_design(tmp_path / "nowhere.toml")


def test_schema_describes_every_key_with_its_unit():
    """The JSON Schema can be printed, and each millimetre key says so."""
    schema = json.loads(json.dumps(Design.model_json_schema()))
    for table in schema["$defs"].values():
        for key, field in table["properties"].items():
            if key.endswith("_mm"):
                assert "[mm]" in field["description"], key


NUMBERS = st.floats(allow_nan=True, allow_infinity=True) | st.integers(-5, 500)


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_any_numbers_make_a_wheel_or_a_list_of_faults(data):
    """Whatever numbers stand in a file, it can be drawn or its faults are reported."""
    raw = tomllib.loads(TEXT)
    for _ in range(data.draw(st.integers(1, 4))):
        table = data.draw(st.sampled_from(["rim", "hub", "bolts", "spokes", "duty"]))
        keys = sorted(k for k, v in raw[table].items() if isinstance(v, int | float))
        key = data.draw(st.sampled_from(keys))
        near = float(raw[table][key]) * data.draw(st.floats(0.3, 3.0))
        raw[table][key] = data.draw(NUMBERS | st.just(near))
    lines = []
    for name, value in raw.items():
        if not isinstance(value, dict):
            lines.insert(0, f"{name} = {json.dumps(value)}")
            continue
        lines.append(f"[{name}]")
        lines += [f"{k} = {_toml(v)}" for k, v in value.items()]
    try:
        design = parse_design("\n".join(lines))
    except DesignError:
        return
    assert draw_wheel(design).profile.curves


def _toml(value):
    if isinstance(value, float):
        return {"inf": "inf", "-inf": "-inf", "nan": "nan"}.get(str(value), repr(value))
    return json.dumps(value)
