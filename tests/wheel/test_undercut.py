"""The undercut: a groove turned into the spokes' back beside the rim."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from variants import fillet_gap, ring, sharp_turns, solid_volume, variant

from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.report.sheet.design_sheet import lay_out
from spokecheck.report.sheet.drawn_facts import drawn_facts
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.shape.departures import departures
from spokecheck.wheel.shape.estimate import estimate_volume
from spokecheck.wheel.shape.rim_joint import rim_joint
from spokecheck.wheel.shape.spoke_lines import spoke_lines
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

CUT = {"undercut_mm": 6.0, "undercut_width_mm": 24.0, "undercut_radius_mm": 5.0}
NAMES = ("rim fillet, back", "undercut fillet", "spoke back", "rim inner")


def plate(**spokes):
    """The closed disc of the gallery, its ten windows clear of the undercut."""
    path = Path("meshes/gallery/plate.toml")
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    raw["spokes"] |= {"back_bow_mm": 0.0, "rim_fillet_mm": 4.0, **spokes}
    raw["spokes"]["tip_depth_mm"] = 25.0
    raw["spokes"]["plate"]["circle_mm"] = 240
    return Design.model_validate(raw)


def test_volume_of_an_undercut():
    """On a closed disc it takes a ring of two triangles (Pappus), and roundings."""
    plain, cut = plate(), plate(**CUT | {"undercut_mm": 4.0})
    before, after = (draw_wheel(d).profile for d in (plain, cut))
    old, new = (spoke_lines(d, p.contour) for d, p in ((plain, before), (cut, after)))
    edge, foot = new.cut
    corner, joint = (
        rim_joint(p.contour, lines, "back", 4.0).at
        for p, lines in ((before, old), (after, new))
    )
    expected = ring(edge, foot, corner) + ring(foot, joint, corner)
    gaps = [sum(fillet_gap(p.curves, n) for n in NAMES) for p in (before, after)]
    expected += gaps[0] - gaps[1]
    assert expected > 2.0e4
    assert_allclose(solid_volume(plain) - solid_volume(cut), expected, rtol=2e-3)


def test_depth_of_an_undercut_in_the_section():
    """Its floor lies 6 mm outboard of the back and parallel to it, its edge 24 mm in.

    The slope leaves the back at 45 degrees.
    """
    lines = spoke_lines(
        design := variant(spokes=CUT), draw_wheel(design).profile.contour
    )
    tip = draw_wheel(design).profile.contour.well_inner_radius
    edge, foot = lines.cut
    assert edge[0] == pytest.approx(tip - 24.0)
    assert_allclose(foot - edge, np.full(2, foot[0] - edge[0]))
    for r in (foot[0], (foot[0] + tip) / 2.0, tip):
        assert_allclose(lines.at("back", r) - lines.uncut.at("back", r), 6.0)
    assert_allclose(lines.at("back", edge[0]), lines.uncut.at("back", edge[0]))


@pytest.mark.parametrize("key", ["undercut_mm", "undercut_width_mm"])
def test_a_larger_undercut_makes_the_wheel_lighter(key):
    """Each half millimetre of depth or width takes metal; its radius adds some."""
    values = CUT[key] + np.arange(0.0, 4.0, 0.5)
    volumes = [
        estimate_volume(draw_wheel(variant(spokes={**CUT, key: float(value)})))
        for value in values
    ]
    assert (np.diff(volumes) < 0.0).all()


def test_a_larger_radius_makes_the_wheel_heavier():
    """From 3 to 9 mm."""
    volumes = [
        estimate_volume(draw_wheel(variant(spokes={**CUT, "undercut_radius_mm": r})))
        for r in (3.0, 5.0, 7.0, 9.0)
    ]
    assert (np.diff(volumes) > 0.0).all()


def test_an_undercut_leaves_no_sharp_re_entrant_corner():
    """The section turns into the metal by less than 1 degree anywhere on the back."""
    for base in ("aspen-cast-5", "birch-forged-10"):
        curves = draw_wheel(variant(base, spokes=CUT)).profile.curves
        assert any(curve.name == "undercut fillet" for curve in curves)
        for turn, *names in sharp_turns(curves):
            if "spoke back" in names or "undercut fillet" in names:
                assert turn > -np.deg2rad(1.0), (base, names)


@pytest.mark.parametrize(
    ("keys", "key", "words"),
    [
        (
            {"undercut_mm": 26.0, "undercut_width_mm": 45.0},
            "undercut_mm",
            "6 mm are needed",
        ),
        ({"undercut_width_mm": 8.0}, "undercut_width_mm", "4 mm of floor need 10.2 mm"),
        ({"undercut_width_mm": 70.0}, "undercut_width_mm", "half of the spokes'"),
        (
            {"undercut_width_mm": 34.0, "back_bow_mm": 5.0},
            "undercut_width_mm",
            "where the bowed back is straight",
        ),
        (
            {"pocket": {"wall_mm": 10, "floor_mm": 12, "end_mm": 15}},
            "undercut_width_mm",
            "up to 14.0 mm is possible, 3 mm beside the back pocket",
        ),
    ],
)
def test_an_undercut_without_room_is_refused(keys, key, words):
    """A fault names the key, the limit, and what bounds it."""
    raw = variant().model_dump()
    raw["spokes"] |= CUT | keys
    faults = {f.key: f for f in find_faults(Design.model_validate(raw))}
    assert words in str(faults[f"spokes.{key}"])


def test_the_change_a_fault_names_cures_it():
    """An undercut that leaves too little depth, lowered to the value named."""
    keys = {"undercut_mm": 26.0, "undercut_width_mm": 45.0}
    (fault,) = find_faults(variant(spokes=keys))
    named = float(fault.remedy.split()[3])
    assert not find_faults(variant(spokes={**keys, "undercut_mm": named}))


def test_a_radius_without_room_is_a_departure():
    """A floor too short for its radius, with what gives room."""
    shape = draw_wheel(
        variant(spokes={**CUT, "undercut_width_mm": 13.0, "undercut_radius_mm": 9.0})
    )
    found = {d.key: d for d in departures(shape)}["spokes.undercut_radius_mm"]
    assert found.asked == 9.0
    assert 4.5 < found.drawn < 8.9
    assert "spokes.undercut_" in found.because


def test_an_undercut_is_dimensioned():
    """Width, depth and radius stand on the sheet."""
    keys = {"undercut_mm": 6.3, "undercut_width_mm": 23.7, "undercut_radius_mm": 5.1}
    shape = draw_wheel(variant(spokes=keys))
    sheet = lay_out(shape, drawn_facts(shape, "undercut"))
    texts = {words.text for words in sheet.words}
    assert {"6.3", "23.7", "R5.1"} <= texts


def test_a_wheel_with_an_undercut_is_meshed():
    """All cells are upright, the groove is a surface, and the volume is the solid's."""
    wheel = build_wheel(variant(spokes=CUT))
    assert wheel.shape.fallback.slim == 0.0
    assert "undercut fillet" in wheel.mesh.surfaces
    assert jacobian_ratios(wheel.mesh.points, wheel.mesh.cells).min() >= LEAST_JACOBIAN
    assert abs(wheel.weight.solid_gap) < 2e-3
