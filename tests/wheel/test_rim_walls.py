"""Walls of the rim that taper between stations, against closed forms."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import LineString, Point
from variants import fillet_gap, ring, sharp_turns, solid_volume, variant

from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.reading.rim_limits import rim_faults
from spokecheck.wheel.shape.estimate import estimate_volume
from spokecheck.wheel.shape.rim import rim_contour
from spokecheck.wheel.shape.wheel_shape import draw_wheel

CORNER = {"well_wall_mm": 7.0, "well_corner_wall_mm": 12.0}
LEG = {"leg_wall_mm": 7.0, "leg_seat_wall_mm": 4.0, "inboard": {"seat_wall_mm": 6.0}}

EXPOSED = {**LEG, **CORNER, "well_side": "inboard", "lip_height_mm": 28.0}
"""Walls that no spoke hides."""


def inner_distance(contour, at):
    """Distance [mm] of a point of the tyre side from the rim's inner side."""
    return LineString(contour.inner).distance(Point(*at))


@pytest.mark.parametrize("side", ["outboard", "inboard"])
@pytest.mark.parametrize("over", [None, 30.0])
def test_the_leg_has_its_walls_at_both_ends(side, over):
    """7 mm at the well's flank, 4 mm at the seat and from the taper's end on."""
    keys = {**LEG, "leg_taper_mm": over, "well_side": side}
    design = variant(rim=keys)
    contour = rim_contour(design.rim)
    leg, seat = contour.station("leg"), contour.station("far seat")
    # square to the tyre side of each end the walls differ by a mitre of 5 degrees
    assert_allclose(inner_distance(contour, seat.at), 4.0, rtol=0.02)
    assert_allclose(inner_distance(contour, leg.at), 7.0, rtol=0.03)
    if over is not None:
        taper = contour.station("taper")
        assert_allclose(abs(taper.at[1] - leg.at[1]), 30.0)
        even = (np.array(taper.at) + np.array(seat.at)) / 2.0
        assert_allclose(inner_distance(contour, even), 4.0, rtol=1e-3)
    drawn = {c.name for c in draw_wheel(design).profile.curves}
    assert "rim inner" in drawn


def test_volume_of_a_tapered_leg():
    """Metal taken off the barrel is a ring of two triangles (Pappus), and roundings.

    Only the wall at the far seat differs: 7 against 4 mm.
    """
    thick, thin = (variant(rim={**LEG, "leg_seat_wall_mm": w}) for w in (7.0, 4.0))
    before, after = (rim_contour(design.rim).inner for design in (thick, thin))
    start = rim_contour(thick.rim).flanges[-1].under
    expected = ring(start, before[1], after[1]) + ring(before[1], after[1], before[2])
    gaps = [fillet_gap(draw_wheel(d).profile.curves) for d in (thick, thin)]
    expected += gaps[0] - gaps[1]
    taken = solid_volume(thick) - solid_volume(thin)
    # the difference of two solids of 5e6 mm^3, which the kernel weighs to 1e-5
    assert_allclose(taken, expected, rtol=1e-3)
    assert_allclose(
        estimate_volume(draw_wheel(thick)) - estimate_volume(draw_wheel(thin)),
        expected,
        rtol=2e-3,
    )


def test_volume_of_an_even_leg_beyond_its_taper():
    """A taper that ends after 40 mm takes a ring of one triangle more (Pappus)."""
    whole, short = (variant(rim={**LEG, "leg_taper_mm": w}) for w in (None, 40.0))
    before, after = (rim_contour(design.rim).inner for design in (whole, short))
    expected = ring(after[1], after[2], before[2])
    gaps = [fillet_gap(draw_wheel(d).profile.curves) for d in (whole, short)]
    expected += gaps[0] - gaps[1]
    taken = solid_volume(whole) - solid_volume(short)
    assert_allclose(taken, expected, rtol=2e-3)


@pytest.mark.parametrize("height", [20.0, 27.0])
def test_volume_of_a_thicker_lip(height):
    """Each flange gains a ring of one triangle below its edge (Pappus), and a rounding.

    A lip of 27 mm stands into the barrel, and its re-entrant corner is rounded.
    """
    plain, thick = (
        variant(rim={"inboard": {"lip_height_mm": h}}) for h in (9.0, height)
    )
    before, after = (rim_contour(design.rim) for design in (plain, thick))
    under = before.flanges[-1].under
    expected = ring(under, before.lip_foot(-1), after.lip_foot(-1))
    gaps = [
        fillet_gap(draw_wheel(d).profile.curves, "flange inboard")
        for d in (plain, thick)
    ]
    expected += gaps[0] - gaps[1]
    assert_allclose(solid_volume(thick) - solid_volume(plain), expected, rtol=2e-3)


def test_volume_of_a_well_that_tapers():
    """An inboard well from 12 to 7 mm lacks a ring of two triangles (Pappus)."""
    even, tapered = (
        variant(rim={"well_side": "inboard", "well_corner_wall_mm": 12.0,
                     "well_wall_mm": w})
        for w in (12.0, 7.0)
    )  # fmt: skip
    before, after = (rim_contour(design.rim).inner for design in (even, tapered))
    k = [s.name for s in rim_contour(even.rim).stations].index("well")
    expected = ring(before[k - 1], before[k], after[k])
    expected += ring(before[k], after[k], before[k + 1])
    gaps = [
        fillet_gap(draw_wheel(d).profile.curves, "rim inner corner")
        for d in (even, tapered)
    ]
    expected += gaps[0] - gaps[1]
    assert_allclose(solid_volume(even) - solid_volume(tapered), expected, rtol=2e-3)


def test_a_thick_corner_is_not_paid_for_over_the_whole_well():
    """With 12 mm at the corner alone a wheel weighs less than with 12 mm throughout.

    Both have the same section at the corner, and windows that end at the same radius.
    """
    thin, corner, thick = (
        draw_wheel(variant(rim={"well_wall_mm": 12.0, **keys}))
        for keys in (
            {"well_wall_mm": 7.0},
            {**CORNER, "well_corner_run_mm": 14.0},
            {},
        )
    )
    assert corner.window_range == pytest.approx(thick.window_range)
    contour = corner.profile.contour
    k = [s.name for s in contour.stations].index("corner")
    assert_allclose(contour.air[k, 0] - contour.inner[k, 0], 12.0)
    volumes = [estimate_volume(shape) for shape in (thin, corner, thick)]
    assert volumes == sorted(set(volumes))


@pytest.mark.parametrize(
    ("key", "values"),
    [
        ("well_corner_wall_mm", np.arange(7.0, 14.0, 0.5)),
        ("well_corner_run_mm", np.arange(10.0, 19.0, 1.0)),
        ("lip_height_mm", np.arange(8.0, 28.0, 1.0)),
        ("lip_run_mm", np.arange(2.0, 20.0, 2.0)),
        ("leg_seat_wall_mm", np.arange(3.0, 7.0, 0.5)),
        ("leg_taper_mm", np.arange(12.0, 90.0, 6.0)),
    ],
)
def test_mass_strictly_follows_walls_that_taper(key, values):
    """Each step of a key that adds metal makes the wheel heavier."""
    volumes = [
        estimate_volume(draw_wheel(variant(rim={**EXPOSED, key: float(value)})))
        for value in values
    ]
    assert (np.diff(volumes) > 0.0).all()


@pytest.mark.parametrize(
    ("keys", "fault", "words"),
    [
        ({"leg_taper_mm": 30.0}, "rim.leg_taper_mm", "leg_seat_wall_mm is given"),
        ({"well_corner_run_mm": 12.0}, "rim.well_corner_run_mm", "wall_mm is given"),
        (
            {**CORNER, "well_corner_run_mm": 20.0},
            "rim.well_corner_run_mm",
            "19 mm at most",
        ),
        (
            {**CORNER, "well_corner_run_mm": 8.0},
            "rim.well_corner_wall_mm",
            "7 mm to 11.0 mm",
        ),
        (
            {"lip_run_mm": 8.0, "flange_wall_mm": 6.0},
            "rim.lip_run_mm",
            "flange_wall_mm settles",
        ),
        (
            {"inboard": {"lip_height_mm": 34.0}},
            "rim.inboard.lip_height_mm",
            "32.5 mm high at most",
        ),
        (
            {"lip_run_mm": 22.0, "lip_height_mm": 27.0},
            "rim.lip_run_mm",
            "within 21 mm",
        ),
        ({"lip_run_mm": 9.0}, "rim.lip_run_mm", "of 9 mm does not stand out"),
        ({**LEG, "leg_taper_mm": 95.0}, "rim.leg_taper_mm", "93.0 mm at most"),
        (
            {**LEG, "leg_wall_mm": 14.0, "leg_taper_mm": 15.0},
            "rim.leg_seat_wall_mm",
            "changes by 10.0 mm to rim.leg_wall_mm over 15.0 mm, 7.5 mm at most",
        ),
    ],
)
def test_tapers_without_room_are_refused(keys, fault, words):
    """A fault names the key, the limit, and what to do."""
    faults = {f.key: f for f in rim_faults(variant(rim=keys))}
    assert words in str(faults[fault])
    assert faults[fault].remedy


def test_a_taper_leaves_no_sharp_re_entrant_corner():
    """Where walls taper, the section turns into the metal by less than 1 degree."""
    lip = {"seat_wall_mm": 6.0, "lip_height_mm": 27.0}
    for keys in (
        LEG,
        {**LEG, "leg_taper_mm": 40.0, "inboard": lip},
        {**CORNER, "well_corner_run_mm": 15.0, "well_side": "inboard"},
    ):
        curves = draw_wheel(variant(rim=keys)).profile.curves
        for turn, *names in sharp_turns(curves):
            if all("inner" in n or "inboard" in n for n in names):
                assert turn > -np.deg2rad(1.0), keys


def test_a_wheel_of_tapering_walls_is_meshed():
    """All cells are upright, and the mesh has the volume of the solid."""
    lip = {"seat_wall_mm": 6.0, "lip_height_mm": 26.0, "lip_run_mm": 10.0}
    keys = {**LEG, **CORNER, "leg_taper_mm": 40.0, "well_corner_run_mm": 18.0}
    design = variant(rim={**keys, "inboard": lip})
    assert find_faults(design) == []
    wheel = build_wheel(design)
    assert jacobian_ratios(wheel.mesh.points, wheel.mesh.cells).min() >= LEAST_JACOBIAN
    assert wheel.quality.least_shape > 0.05
    # the contract asks for 1e-3
    assert abs(wheel.weight.solid_gap) < 1e-3
