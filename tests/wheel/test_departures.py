"""What is drawn otherwise than asked for: hardly anything, and never in silence."""

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from spokecheck.report.sheet.drawn_facts import drawn_facts
from spokecheck.wheel.reading.read import parse_design, read_design
from spokecheck.wheel.shape.departures import NOTED, departures
from spokecheck.wheel.shape.estimate import estimate_volume
from spokecheck.wheel.shape.fallbacks import FALLBACKS, changes, drawing_number
from spokecheck.wheel.shape.profile import draw_profile
from spokecheck.wheel.shape.room import room_faults, what_gives_room
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

ASPEN = Path("meshes/designs/aspen-cast-5.toml")
GALLERY = sorted(Path("meshes/gallery").glob("*.toml"))

ADDS = (
    "spokes.root_depth_mm",
    "spokes.tip_depth_mm",
    "spokes.root_width_mm",
    "spokes.tip_width_mm",
    "spokes.root_radius_mm",
    "spokes.rim_gap_mm",
    "spokes.rim_fillet_mm",
    "spokes.window_corner_mm",
    "spokes.pocket.wall_mm",
    "spokes.pocket.floor_mm",
    "hub.thickness_mm",
    "hub.fillet_mm",
    "rim.seat_wall_mm",
    "rim.well_wall_mm",
    "rim.leg_wall_mm",
    "rim.flange_width_mm",
    "rim.lip_height_mm",
)
"""Keys that add metal as they rise."""

SPARED = {
    "plate": ("root_width", "tip_width", "window_corner", "root_radius", "rim_gap"),
    "course": ("root_width", "tip_width"),
}
"""Keys that a file of the gallery does not use."""


def aspen(**keys):
    """The cast example with other values for some keys of its file."""
    text = ASPEN.read_text(encoding="utf-8")
    for key, value in keys.items():
        text, found = re.subn(rf"^{key} = .*$", f"{key} = {value}", text, flags=re.M)
        assert found == 1
    return parse_design(text)


def changed(raw, key, step):
    """Tables with a dotted key raised; None where the key is not given."""
    head, _, rest = key.partition(".")
    value = raw.get(head)
    if rest:
        inner = changed(value, rest, step) if isinstance(value, dict) else None
        return None if inner is None else raw | {head: inner}
    return None if value is None else raw | {head: value + step}


@pytest.mark.parametrize("depth", [39, 40, 41, 46])
def test_hub_fillets_and_windows_do_not_depend_on_the_depth(depth):
    """At each depth the hub fillet is 12 mm, and the windows end at 86 mm."""
    shape = draw_wheel(aspen(root_depth_mm=depth, fillet_mm=12))
    fillets = {c.radius for c in shape.profile.curves if c.name == "hub fillet, back"}
    np.testing.assert_allclose(list(fillets), 12.0, rtol=1e-3)
    assert shape.window_range[0] == pytest.approx(86.0, abs=1e-9)
    assert {d.key for d in departures(shape)} == {"rim.well_radius_mm"}


def test_a_larger_fillet_makes_the_wheel_heavier():
    """8, 12 and 14 mm, at depths with room and without."""
    for depth in (36, 40, 46):
        volumes = [
            estimate_volume(draw_wheel(aspen(root_depth_mm=depth, fillet_mm=radius)))
            for radius in (8, 12, 14)
        ]
        assert volumes == sorted(volumes)
        assert len(set(volumes)) == 3


def follows(raw, key, step=0.5, count=3):
    """Whether the volume rises with each step of a key; what is reported may stay."""
    last = None
    for k in range(count):
        tables = changed(raw, key, k * step)
        if tables is None:
            return True
        try:
            shape = draw_wheel(Design.model_validate(tables))
        except ValueError:
            return True  # out of its range, or of room
        volume = estimate_volume(shape)
        same = any(d.key == key for d in departures(shape))
        if last is not None and not (volume > last or (same and volume == last)):
            return False
        last = volume
    return True


def gallery_keys(path):
    """Keys of a file of the gallery that add metal."""
    spared = SPARED.get(path.stem, ())
    return [key for key in ADDS if not any(s in key for s in spared)]


@pytest.mark.parametrize("path", GALLERY, ids=lambda path: path.stem)
def test_mass_follows_the_spokes_on_all_patterns(path):
    """Deeper, wider, thicker: heavier, by the drawing's volume."""
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    for key in ("spokes.root_depth_mm", "spokes.tip_depth_mm", "hub.fillet_mm"):
        assert follows(raw, key, count=2), key


@pytest.mark.slow  # 2 min
@pytest.mark.parametrize("path", GALLERY, ids=lambda path: path.stem)
def test_mass_strictly_follows_every_key_that_adds_metal(path):
    """All keys of ``ADDS`` that the pattern uses, in steps of 0.5 and 0.1 mm."""
    raw = read_design(path).model_dump()
    for key in gallery_keys(path):
        for step in (0.5, 0.1):
            assert follows(raw, key, step), (key, step)


def test_a_rounding_without_room_says_which_key_gives_some():
    """The well's corners: the named change, drawn, gives what is said."""
    design = aspen()
    shape = draw_wheel(design)
    (found,) = departures(shape)
    assert (found.key, found.asked) == ("rim.well_radius_mm", 18.0)
    assert found.drawn < 17.0
    key, value, gives = re.search(
        r"(rim\.\w+) ([\d.]+) gives ([\d.]+) mm", found.because
    ).groups()
    other = changed(design.model_dump(exclude_none=True), key, 0.0)
    table = (other or design.model_dump())["rim"] | {key[4:]: float(value)}
    again = draw_wheel(Design.model_validate(design.model_dump() | {"rim": table}))
    drawn = [s.drawn for s in again.profile.reduced_radii if s.key == found.key]
    assert min(drawn, default=18.0) == pytest.approx(float(gives), rel=0.01)


def test_a_rounding_with_less_than_half_its_room_is_refused_with_what_gives_some():
    """A step of the relief too low for its radius names the key to raise."""
    text = ASPEN.read_text(encoding="utf-8").replace(
        "thickness_mm = 48",
        "thickness_mm = 48\nrelief_inner_mm = 80\nrelief_depth_mm = 1\n"
        "relief_radius_mm = 12",
    )
    design = Design.model_validate(tomllib.loads(text))
    faults = room_faults(design, draw_profile(design).reduced_radii)
    assert [fault.key for fault in faults] == ["hub.relief_radius_mm"]
    assert "has room for" in faults[0].limit
    assert "gives" in faults[0].remedy
    small = next(
        s
        for s in draw_wheel(design).profile.reduced_radii
        if s.key == "hub.relief_radius_mm"
    )
    assert "hub.relief_depth_mm" in what_gives_room(design, small)


def test_every_fallback_that_changes_the_shape_is_a_departure():
    """Each key that a fallback changes by more than 0.02 mm is listed."""
    design = aspen(well_radius_mm=14)
    for fallback in FALLBACKS:
        listed = {
            d.key: d.drawn - d.asked
            for d in departures(draw_wheel(design, fallback))
            if "meshed soundly" in d.because
        }
        wanted = {k: v for k, v in changes(design, fallback).items() if abs(v) > NOTED}
        assert listed == pytest.approx(wanted)
        assert (drawing_number(fallback) > 0) == bool(wanted)


def test_facts_of_a_drawing_tell_asked_from_drawn():
    """Mass in kg, and the well radius with both numbers."""
    shape = draw_wheel(aspen())
    facts = drawn_facts(shape, "aspen.toml")
    assert facts.mass == pytest.approx(14.6, abs=0.2)
    assert facts.rounding("hub.fillet_mm") == "14"
    assert re.fullmatch(r"18 > 16\.\d+", facts.rounding("rim.well_radius_mm"))
