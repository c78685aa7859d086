"""Wheels written from memory of the trade, without regard to the program.

Twelve files of common dimensions (invented; walls, seats and humps as common practice
has them).  None is changed to please the program.
"""

import tomllib
from pathlib import Path

import pytest

from spokecheck.errors import DesignError
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.estimate import estimate_mass
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

FILES = sorted(Path("tests/designs/trade").glob("*.toml"))


def faults_of(path):
    try:
        read_design(path)
    except DesignError as error:
        return error.faults
    return ()


def test_common_wheels_are_accepted_at_once():
    """Of twelve files ten at least are accepted as they are written."""
    assert len(FILES) == 12
    refused = [path.stem for path in FILES if faults_of(path)]
    assert len(refused) <= 2, refused


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_none_is_refused_after_one_correction(path):
    """Each fault names the value that cures it."""
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    for fault in faults_of(path):
        assert fault.remedy.startswith("raise it to "), fault
        table, _, key = fault.key.partition(".")
        raw[table][key] = float(fault.remedy.split()[3])
    design = Design.model_validate(raw)
    assert not find_faults(design)
    # cast and forged passenger-car wheels weigh 6 to 14 kg, common practice
    assert 6e-3 < estimate_mass(draw_wheel(design)) < 14e-3


COMMON = {
    "6 x 139.7 about a bore of 106 mm": (
        "pickup-17",
        {"hub": {"bore_mm": 106.1}, "bolts": {"count": 6, "pitch_circle_mm": 139.7}},
    ),
    "an edge of 2 mm on a flange of 12 mm": (
        "saloon-18",
        {"rim": {"edge_radius_mm": 2}},
    ),
    "a well of 3.5 mm": ("sport-21-forged", {"rim": {"well_wall_mm": 3.5}}),
    "cap recess and bore": ("city-15", {"hub": {"cap_mm": 58, "bore_mm": 54.1}}),
}


@pytest.mark.parametrize(("stem", "holds"), COMMON.values(), ids=COMMON)
def test_what_real_wheels_have_is_in_these_files(stem, holds):
    """The features that used to be refused."""
    raw = tomllib.loads((FILES[0].parent / f"{stem}.toml").read_text(encoding="utf-8"))
    for table, keys in holds.items():
        assert raw[table].items() >= keys.items()
    assert not faults_of(FILES[0].parent / f"{stem}.toml")


def test_an_edge_is_drawn_with_the_radius_asked_for():
    """1.5 and 2.0 mm on a flange of 12 mm, none a tenth less."""
    for stem, radius in (("compact-16", 1.5), ("saloon-18", 2.0)):
        shape = draw_wheel(read_design(FILES[0].parent / f"{stem}.toml"))
        edges = [c for c in shape.profile.curves if c.name.startswith("flange edge")]
        assert len(edges) == 4
        for edge in edges:
            assert edge.radius == pytest.approx(radius, abs=0.02)


def test_both_limits_of_a_cap_recess_stand_in_one_message():
    """Bore and bolt seats at once."""
    raw = tomllib.loads((FILES[0].parent / "city-15.toml").read_text(encoding="utf-8"))
    raw["hub"]["cap_mm"] = 90.0
    (fault,) = [f for f in find_faults(Design.model_validate(raw)) if "cap" in f.key]
    # bore 54.1 and a step of 1 mm; circle 100, seat 24, wall 2.5
    assert "56.1" in fault.limit
    assert "71.0" in fault.limit
