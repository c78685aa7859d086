"""Spoke patterns, drafts and back pockets: drawn, meshed, refused where they must."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import LineString, Polygon

from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.plane.curves import area_and_moment, distance_to, outline_points
from spokecheck.plane.joints import OFF
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.shape.departures import departures
from spokecheck.wheel.shape.profile import draw_profile
from spokecheck.wheel.shape.section_joints import CLEAR
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

FIVE = Path("meshes/designs/aspen-cast-5.toml")
SLIM = {"root_width_mm": 24.0, "tip_width_mm": 22.0, "window_corner_mm": 8.0}
FORK = {
    "pattern": "forked", "root_width_mm": 60.0, "tip_width_mm": 36.0,
    "window_corner_mm": 8.0, "fork": {"radius_mm": 125.0, "tip_spacing_mm": 120.0},
}  # fmt: skip
SWEPT = {"pattern": "swept", "root_width_mm": 50.0, "tip_width_mm": 44.0,
         "sweep": {"angle_deg": 25.0}}  # fmt: skip
PLATE = {"pattern": "plate", "count": 10, "root_width_mm": None, "tip_width_mm": None}
POCKET = {"wall_mm": 9.0, "floor_mm": 10.0}
WHEELS = {
    "twin": SLIM | {"pattern": "twin",
                    "twin": {"root_spacing_mm": 34.0, "tip_spacing_mm": 70.0}},
    "forked, pockets": FORK | {"pocket": {"wall_mm": 8.0, "floor_mm": 10.0}},
    "swept, draft": SWEPT | {"draft_deg": 3.0},
    "swept, pockets": SWEPT | {"pocket": POCKET},
    "swept by turns": SWEPT | {"count": 10, "root_width_mm": 30.0,
                               "tip_width_mm": 26.0, "window_corner_mm": 9.0,
                               "sweep": {"angle_deg": 12.0, "hand": "alternate"}},
    "lattice": {"pattern": "lattice", "count": 10, "root_width_mm": 16.0,
                "tip_width_mm": 14.0, "window_corner_mm": 5.0,
                "lattice": {"lead_deg": 30.0}},
    "round holes": PLATE | {"plate": {"circle_mm": 290.0, "width_mm": 52.0}},
    "slots": PLATE | {"plate": {"window": "slotted", "circle_mm": 300.0,
                                "width_mm": 36.0, "length_mm": 70.0}},
    "course": {"pattern": "course", "root_width_mm": 54.0, "tip_width_mm": 44.0,
               "course": {"points_mm": [[86, 0], [120, 6], [160, -4], [205, -30]]}},
    "straight, draft and pockets": {"draft_deg": 3.0, "pocket": POCKET | {
        "floor_radius_mm": 5.0, "corner_mm": 8.0}},
    "rounder at the rim": {"rim_corner_mm": 22.0},
}  # fmt: skip


def _raw(**spokes):
    raw = tomllib.loads(FIVE.read_text(encoding="utf-8"))
    merged = {**raw["spokes"], **spokes}
    raw["spokes"] = {key: v for key, v in merged.items() if v is not None}
    return raw


def _design(**spokes):
    return Design.model_validate(_raw(**spokes))


def _faults(**spokes):
    return {fault.key: str(fault) for fault in find_faults(_design(**spokes))}


@pytest.mark.parametrize("spokes", WHEELS.values(), ids=WHEELS)
def test_each_pattern_makes_a_sound_wheel(spokes):
    """Five equal sectors, cells unfolded, volume within 0.1 % of the CAD's."""
    design = _design(**spokes)
    assert find_faults(design) == []
    wheel = build_wheel(design)
    assert wheel.cyclic.count == 5
    assert wheel.quality.least_jacobian >= LEAST_JACOBIAN
    assert abs(wheel.weight.solid_gap) < 1e-3


def test_windows_of_straight_spokes_have_the_area_between_them():
    """Ring less spokes less corner gussets, against what the outline encloses.

    The ring from 86 to 199.5 mm less five trapezia, by hand from the file's numbers;
    what the bars and the ring's arcs share at their ends is below 1 %.
    """
    design = _design(window_corner_mm=3.0)
    shape = draw_wheel(design)
    (window,) = shape.windows
    area, _ = area_and_moment(window.curves)
    inner, outer = window.inner, window.outer
    spokes = 5.0 * (outer - inner) * 64.0
    assert_allclose(5.0 * area, np.pi * (outer**2 - inner**2) - spokes, rtol=0.01)


def test_copies_of_a_pattern_do_not_overlap_and_leave_the_bars_whole():
    """Windows of a lattice, all kinds and copies, are apart by the bars' width."""
    shape = draw_wheel(_design(**WHEELS["lattice"]))
    holes = [
        Polygon(outline_points(w.curves, 16) @ _turn(angle))
        for w in shape.windows
        for angle in w.angles
    ]
    assert len(holes) == 10 * len(shape.windows)
    gaps = [a.distance(b) for k, a in enumerate(holes) for b in holes[k + 1 :]]
    assert 13.0 < min(gaps) < 17.0


def _turn(angle):
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, s], [-s, c]])


def test_draft_widens_windows_towards_the_back():
    """What 3 degrees of draft take off, against offset outlines summed over the depth.

    At height z the sides lie d = (datum - z) tan 3 deg further out; the sum runs along
    the outline, and at each of its points over the depth of the section there.
    """
    plain, drafted = (build_wheel(_design(draft_deg=d)) for d in (0.0, 3.0))
    lost = (plain.weight.mass - drafted.weight.mass) / plain.alloy.density / 5.0
    (window,) = drafted.shape.windows
    fine = outline_points(window.curves, 64)
    steps = np.roll(fine, -1, axis=0) - fine
    length = np.linalg.norm(steps, axis=1)
    outward = np.column_stack([steps[:, 1], -steps[:, 0]]) / length[:, None]
    radius = np.hypot(*(fine + steps / 2.0 + 0.6 * outward).T)  # amid the strip
    section = Polygon(outline_points(drafted.shape.profile.curves))
    total = 0.0
    for r, part in zip(radius, length, strict=True):
        back, face = section.intersection(LineString([(r, -200), (r, 200)])).bounds[
            1::2
        ]
        growth = np.tan(np.deg2rad(3.0)) * (window.datum - np.linspace(back, face, 50))
        strip = part * growth + np.pi * growth**2 * part / length.sum()  # Steiner
        total += strip.mean() * (face - back)
    # the curvature of the section across the strip of 1 mm is left out
    assert_allclose(lost, total, rtol=0.04)


def test_a_pocket_takes_off_its_plan_times_its_depth():
    """Mass lost to a pocket: plan less floor rounding, times depth, within 5 %."""
    plain = build_wheel(_design())
    hollow = build_wheel(_design(pocket=POCKET))
    lost = (plain.weight.mass - hollow.weight.mass) / plain.alloy.density / 5.0
    (pocket,) = hollow.shape.drawing.pockets
    plan, _ = area_and_moment(pocket.curves)
    (r, z), lines = pocket.origin, _design().spokes
    share = (r - 86.0) / (hollow.shape.profile.contour.well_inner_radius - 86.0)
    face = 42.0 + 48.0 + share * (44.0 - 48.0)
    depth = lines.root_depth_mm + share * (lines.tip_depth_mm - lines.root_depth_mm)
    assert_allclose(face - z, POCKET["floor_mm"], atol=0.2)
    assert_allclose(lost, plan * (depth - POCKET["floor_mm"]), rtol=0.05)


def test_pocket_surfaces_are_named_and_rounded():
    """Floor, walls and the radius between them are surfaces of the mesh."""
    wheel = build_wheel(_design(pocket=POCKET))
    assert {"spoke pocket floor", "spoke pocket wall", "spoke pocket fillet"} <= set(
        wheel.mesh.surfaces
    )


@pytest.mark.parametrize(
    ("spokes", "key", "said"),
    [
        ({"pattern": "twin"}, "spokes.twin", "needs this table"),
        ({"fork": FORK["fork"]}, "spokes.fork", "does not use it"),
        ({"root_width_mm": None}, "spokes.root_width_mm", "missing"),
        (SWEPT | {"sweep": {"angle_deg": 9.0, "hand": "alternate"}},
         "spokes.count", "come in pairs"),
        (PLATE | {"plate": {"circle_mm": 290.0, "width_mm": 95.0}},
         "spokes.count", "less than 4 mm of metal"),
        (PLATE | {"plate": {"circle_mm": 390.0, "width_mm": 52.0}},
         "spokes.plate.circle_mm", "there is room from"),
        (PLATE | {"plate": {"window": "slotted", "circle_mm": 290.0,
                            "width_mm": 52.0}},
         "spokes.plate.length_mm", "longer"),
        (WHEELS["lattice"] | {"pocket": POCKET}, "spokes.pocket", "no separate spokes"),
        ({"pocket": POCKET | {"wall_mm": 32.0}}, "spokes.pocket", "no room"),
        ({"pocket": POCKET | {"floor_mm": 33.0}}, "spokes.pocket", "mm deep"),
        ({"pocket": POCKET | {"floor_radius_mm": 9.0}},
         "spokes.pocket.corner_mm", "must exceed the floor radius"),
        ({"draft_deg": 8.0, "window_corner_mm": 3.0}, "spokes.draft_deg", "vanishes"),
        ({"face_bow_mm": -25.0}, "spokes.face_bow_mm", "come within"),
        ({"pattern": "course", "course": {"points_mm": [[86, 0], [205, 0]],
                                          "widths_mm": [40.0, 30.0, 20.0]}},
         "spokes.course.widths_mm", "as many widths"),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused_with_its_reason(spokes, key, said):
    """Each fault names its key and says what is wrong."""
    assert said in _faults(**spokes).get(key, "nothing")


def test_a_bowed_face_passes_its_middle_at_the_asked_height():
    """The section's face lies 6 mm above the chord at mid-span, to 0.05 mm."""
    bow = {"face_bow_mm": 6.0, "back_bow_mm": 6.0, "tip_face_mm": 38.0}
    shape = draw_wheel(_design(**bow))
    tip = shape.profile.contour.well_inner_radius
    chord = 42.0 + (48.0 + 38.0) / 2.0
    face = [c for c in shape.profile.curves if c.name == "spoke face"]
    points = outline_points(face, 64)
    near = points[np.argmin(np.abs(points[:, 0] - (86.0 + tip) / 2.0))]
    assert_allclose(near[1], chord + 6.0, atol=0.05)


@pytest.mark.parametrize("beside", [-0.05, 0.0, 0.02, 0.2])
def test_windows_that_all_but_meet_a_step_are_drawn_where_they_are_asked_for(beside):
    """The step of the section moves out of the way, by less than can be drawn."""
    still = draw_wheel(_design())
    (step,) = [r for r, _ in _steps_near_hub(still)][:1]
    asked = float(step + beside)
    shape = draw_wheel(_design(root_radius_mm=asked))
    (window,) = shape.windows
    assert_allclose(window.inner, asked, atol=1e-9)
    assert not [d for d in departures(shape) if d.key.startswith("spokes.")]
    gaps = [abs(r - window.inner) for r, _ in _steps_near_hub(shape)]
    assert min(gaps) > CLEAR - 1e-6
    old = draw_profile(shape.design).curves
    points = outline_points(shape.profile.curves, 64)
    off = np.min([distance_to(curve, points) for curve in old], axis=0)
    assert off.max() < OFF


def _steps_near_hub(shape):
    """Ends of the section's curves between pad and mid-span, outermost last."""
    ends = [c.start for c in shape.profile.curves]
    return sorted(end for end in ends if 80.0 < end[0] < 130.0)


@pytest.mark.parametrize("root", [5.0, 8.0])
def test_spokes_of_strong_taper_are_drawn(root):
    """Sides that would cross inside the hub leave windows all the same."""
    design = _design(root_width_mm=root)
    assert not find_faults(design)
    (window,) = {w.inner for w in draw_wheel(design).windows}
    assert window == pytest.approx(design.spokes.root_radius_mm, abs=2.5)
