"""The hub: seats, counterbore, pockets, cap recess, relief, each against a closed form.

Volumes by Pappus and the mensuration of cones and spherical zones (any handbook).
"""

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from pydantic import ValidationError
from variants import (
    is_simple,
    sharp_turns,
    solid_volume,
    variant,
)

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.steady import clamp_forces
from spokecheck.fem.body import balance, make_body, respond
from spokecheck.fem.elasticity import Material
from spokecheck.fem.loads import sample_faces
from spokecheck.fem.orders import whole_body_resultant
from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.hub_table import Bolts, Hub
from spokecheck.wheel.tables.surface_names import WORDS

BORE, THICK = 60.0 / 2.0, 54.0
"""Bore radius and thickness [mm] of the hub the features are taken out of: thick enough
for a front that is flat."""

THICK_HUB = {"bore_mm": 2.0 * BORE, "thickness_mm": THICK, "pad_diameter_mm": 166.0}

ALL_HUB = {
    "bore_mm": 60.0,
    "bore_chamfer_mm": 2.0,
    "cap_mm": 74.0,
    "relief_inner_mm": 80.0,
    "relief_outer_mm": 142.0,
    "pocket_side": "back",
    "pocket_depth_mm": 25.0,
}


def ring(inner, outer, height):
    """Volume of a ring of rectangular section [mm^3]."""
    return np.pi * (outer**2 - inner**2) * height


def gusset(radius, out):
    """Area between a right angle and its rounding, and the centroid's offset."""
    area = (1.0 - np.pi / 4.0) * radius**2
    offset = radius * (10.0 - 3.0 * np.pi) / (12.0 - 3.0 * np.pi)
    return area, out - offset


def cap_recess():
    """A ring of rectangular section, less the rounding at its foot, by Pappus."""
    area, at = gusset(4.0, 38.0)
    keys = {"cap_mm": 76.0, "cap_depth_mm": 12.0, "cap_radius_mm": 4.0}
    return {"hub": keys}, ring(BORE, 38.0, 12.0) - 2.0 * np.pi * at * area


def bore_chamfer():
    """A ring of triangular section: centroid a third of the chamfer from the bore."""
    chamfer = 3.0
    volume = 2.0 * np.pi * (BORE + chamfer / 3.0) * chamfer**2 / 2.0
    return {"hub": {"bore_chamfer_mm": chamfer}}, volume


def inner_relief():
    """A ring with a 45-degree step, less the rounding at its foot."""
    d, edge, radius = 2.0, 41.0, 4.0
    step = 2.0 * np.pi * (edge - 2.0 * d / 3.0) * d**2 / 2.0
    # between two tangents at 45 degrees to each other and their arc
    t = np.tan(np.pi / 8.0)
    area = radius**2 * (t - np.pi / 8.0)
    keys = {"relief_inner_mm": 82.0, "relief_depth_mm": d, "relief_radius_mm": radius}
    # the gusset is 0.3 mm wide: its centroid lies at the foot to 1 %
    volume = ring(BORE, edge - d, d) + step - 2.0 * np.pi * (edge - d) * area
    return {"hub": keys}, volume


def back_pockets():
    """Five frustums, less the rounding at the floor, by Pappus about their axes."""
    mouth, depth, draft, radius = 11.0, 20.0, 0.0, 5.0
    area, at = gusset(radius, mouth)
    each = np.pi * mouth**2 * depth - 2.0 * np.pi * at * area
    keys = {"pocket_side": "back", "pocket_mm": 22.0, "pocket_depth_mm": depth}
    return {"hub": {**keys, "pocket_draft_deg": draft}}, 5.0 * each


def drafted_face_pockets():
    """Five frustums of 10 degrees of draft with a rounding at the floor."""
    mouth, depth, radius, draft = 12.0, 20.0, 2.0, np.deg2rad(10.0)
    floor = mouth - depth * np.tan(draft)
    frustum = np.pi * depth / 3.0 * (mouth**2 + mouth * floor + floor**2)
    turn = np.pi / 2.0 - draft
    area = radius**2 * (np.tan(turn / 2.0) - turn / 2.0)
    # a gusset 0.4 mm wide beside the floor's edge: centroid known to 5 % of that
    each = frustum - 2.0 * np.pi * (floor - 0.3) * area
    keys = {"pocket_side": "face", "pocket_mm": 24.0, "pocket_depth_mm": depth}
    extra = {"pocket_radius_mm": radius, "pocket_draft_deg": 10.0}
    return {"hub": {**keys, **extra}}, 5.0 * each


def wide_counterbore():
    """Five rings above the seats, less the rounding, plus the old rounding's sliver."""
    seat, wide, radius = 13.5, 18.0, 3.0
    top = THICK - 12.0 - (seat - 7.5) / np.tan(np.pi / 6.0)
    area, at = gusset(radius, wide)
    turn = np.pi / 6.0
    sliver = radius**2 * (np.tan(turn / 2.0) - turn / 2.0)
    each = ring(seat, wide, top) - 2.0 * np.pi * at * area
    each += 2.0 * np.pi * seat * sliver
    return {"bolts": {"counterbore_mm": 36.0}, "hub": {}}, 5.0 * each


@pytest.fixture(scope="module")
def thick_volume():
    """Volume [mm^3] of the wheel the features are taken out of."""
    return solid_volume(variant(hub=THICK_HUB))


@pytest.mark.parametrize(
    "feature",
    [
        cap_recess,
        bore_chamfer,
        inner_relief,
        back_pockets,
        drafted_face_pockets,
        wide_counterbore,
    ],
    ids=lambda f: f.__name__,
)
def test_volume_taken_out_of_the_hub(feature, thick_volume):
    """The CAD solid is lighter by the feature's volume from a closed form.

    0.1 % of the feature: the CAD kernel integrates the wheel to 1e-8 of its volume, the
    centroids of two roundings are approximate, as said beside them.
    """
    tables, expected = feature()
    tables["hub"] = {**THICK_HUB, **tables["hub"]}
    design = variant(**tables)
    assert find_faults(design) == []
    assert_allclose(thick_volume - solid_volume(design), expected, rtol=1e-3)


def seat_area(wheel):
    """Area of all seats of a meshed wheel [mm^2]."""
    faces = wheel.mesh.faces("bolt seat")
    return sample_faces(wheel.mesh.points, faces).total_area * wheel.cyclic.count


def test_area_of_cone_and_ball_seats():
    """Cone: pi (r1 + r2) slant; ball: spherical zone 2 pi R h (mensuration).

    The roundings end the cone at r2 = 13.5 - 3 tan(15) sin(30), the ball of 14 mm where
    it touches a circle of 5.4 mm beside the counterbore; 0.2 % for the mesh.
    """
    cone = build_wheel(variant())
    r1, r2 = 7.5, 13.5 - 3.0 * np.tan(np.pi / 12.0) * 0.5
    expected = 5.0 * np.pi * (r1 + r2) * (r2 - r1) / np.sin(np.pi / 6.0)
    assert_allclose(seat_area(cone), expected, rtol=2e-3)
    ball = build_wheel(variant(bolts={"seat": "ball"}))
    rounding = 1.5 / np.arccos(13.5 / 14.0)
    end = 14.0 * (13.5 - rounding) / (14.0 - rounding)
    zone = np.sqrt(14.0**2 - r1**2) - np.sqrt(14.0**2 - end**2)
    assert_allclose(seat_area(ball), 5.0 * 2.0 * np.pi * 14.0 * zone, rtol=2e-3)


@pytest.fixture(scope="module")
def full_hub():
    """A wheel with everything the hub can have, ball seats included."""
    design = variant(hub=ALL_HUB, bolts={"seat": "ball", "seat_mm": 26.0})
    assert find_faults(design) == []
    return build_wheel(design)


def test_a_full_hub_is_meshed_and_named(full_hub):
    """Every part of the hub is a named surface, with words, and no cell is folded."""
    named = set(full_hub.mesh.surfaces) - {"cut low", "cut high"}
    assert named <= set(WORDS)
    assert named >= {
        "attachment face",
        "bolt seat",
        "bore chamfer",
        "cap recess",
        "cap recess fillet",
        "pocket fillet",
        "pocket floor",
        "pocket side",
        "relief",
        "relief fillet",
        "relief side",
    }
    mesh = full_hub.mesh
    assert jacobian_ratios(mesh.points, mesh.cells).min() >= LEAST_JACOBIAN
    assert abs(full_hub.weight.solid_gap) < 1e-3


def test_the_relieved_attachment_face_is_a_plane_ring(full_hub):
    """Between its reliefs the face lies at the inset, less bolt holes and pockets.

    Ring 40 to 71 mm less five holes of 7.5 mm and five pocket mouths of 11 mm; round
    edges of six parabolas each enclose 0.5 % too little, 0.2 % of the ring.
    """
    mesh = full_hub.mesh
    at = mesh.points[mesh.nodes("attachment face")]
    assert_allclose(at[:, 2], full_hub.design.attachment, rtol=0, atol=1e-9)
    area = sample_faces(mesh.points, mesh.faces("attachment face")).total_area
    expected = np.pi * (71.0**2 - 40.0**2 - 5.0 * (7.5**2 + 11.0**2))
    assert_allclose(area * full_hub.cyclic.count, expected, rtol=3e-3)


def test_bolts_on_ball_seats_pull_straight(full_hub):
    """The clamp load of all bolts is axial, and its moment vanishes."""
    nodal = clamp_forces(full_hub, 30000.0)
    points, count = full_hub.mesh.points, full_hub.cyclic.count
    force, moment = whole_body_resultant(
        points, nodal.astype(complex), 0, count, np.zeros(3)
    )
    assert_allclose(force, [0.0, 0.0, -150000.0], rtol=0, atol=1e-4)
    assert_allclose(moment, 0.0, rtol=0, atol=1e-2)


def test_cornering_balances_on_a_full_hub(full_hub):
    """Reactions balance moment, shear and bolts to 1e-8."""
    body = make_body(full_hub.mesh, Material(70000.0, 0.33), full_hub.cyclic)
    case = cornering_case(full_hub, 3.0e6, clamp=30000.0)
    actual = respond(body, case.supports, case.loads)
    assert balance(body, case.supports, case.loads, actual) < 1e-8


def test_every_re_entrant_edge_of_the_hub_is_rounded():
    """Section and cutters turn into the metal by no sharp corner of over 10 degrees."""
    design = variant(
        hub={**ALL_HUB, "pocket_side": "face"},
        bolts={"seat_mm": 21.0, "counterbore_mm": 29.0, "seat": "ball"},
    )
    assert find_faults(design) == []
    shape = draw_wheel(design)
    for turn, before, after in sharp_turns(shape.profile.curves):
        assert turn > -np.deg2rad(10.0), (before, after)
    for cutter in shape.drawing.cutters:
        for turn, before, after in sharp_turns(cutter.curves):
            if "cutter" not in (before, after):
                sense = 1.0 if cutter.curves[0].name == "cutter" else -1.0
                assert sense * turn < np.deg2rad(10.0) or after == before


@pytest.mark.parametrize(
    ("table", "keys", "fault", "words"),
    [
        ("bolts", {"seat": "ball", "ball_radius_mm": 13.4}, "bolts.seat_mm", "ball of"),
        ("bolts", {"counterbore_mm": 28.0}, "bolts.counterbore_mm", "29 mm at least"),
        ("bolts", {"counterbore_mm": 42.0}, "hub.bore_mm", "counterbore_mm smaller"),
        (
            "bolts",
            {"seat_mm": 17.0, "seat": "ball", "counterbore_radius_mm": 6.0},
            "bolts.counterbore_radius_mm",
            "of the seat",
        ),
        ("hub", {"cap_mm": 68.0}, "hub.cap_mm", "between 68.6 mm"),
        ("hub", {"cap_mm": 82.0}, "hub.cap_mm", "give 68.6 to 80.0 mm"),
        (
            "hub",
            {"cap_mm": 76.0, "cap_depth_mm": 46.0},
            "hub.cap_depth_mm",
            "43.0 mm",
        ),
        ("hub", {"relief_inner_mm": 94.0}, "hub.relief_inner_mm", "bolt holes"),
        ("hub", {"relief_outer_mm": 149.0}, "hub.relief_outer_mm", "pad's edge"),
        (
            "hub",
            {"pocket_side": "back", "pocket_circle_mm": 130.0},
            "hub.pocket_circle_mm",
            "37.3 and 71.0",
        ),
        (
            "hub",
            {"pocket_side": "face", "pocket_mm": 40.0},
            "hub.pocket_mm",
            "between the bolts",
        ),
        (
            "hub",
            {"pocket_side": "back", "pocket_depth_mm": 44.0},
            "hub.pocket_depth_mm",
            "43.0 mm",
        ),
        (
            "hub",
            {"pocket_side": "back", "pocket_radius_mm": 14.0},
            "hub.pocket_radius_mm",
            "leave room for",
        ),
    ],
)
def test_what_has_no_room_in_the_hub_is_refused(table, keys, fault, words):
    """A fault names the key, the room there is, and what to do."""
    faults = {f.key: f for f in find_faults(variant(**{table: keys}))}
    assert words in str(faults[fault])
    assert faults[fault].remedy


def any_values(table):
    """Any value, mostly near its range, for some of a table's keys."""
    values = {}
    for key, field in table.model_fields.items():
        bounds = {type(m).__name__: m for m in field.metadata}
        if "Ge" in bounds and "Le" in bounds and key != "count":
            values[key] = st.floats(bounds["Ge"].ge, bounds["Le"].le)
    choices = {"pocket_side": ["none", "back", "face"], "seat": ["cone", "ball"]}
    for key, words in choices.items():
        if key in table.model_fields:
            values[key] = st.sampled_from(words)
    return st.fixed_dictionaries({}, optional=values)


def test_a_seat_that_its_roundings_swallow_is_a_fault():
    """Counterbore radii of 8 mm leave nothing of a seat of 17 mm round a hole of 15."""
    bolts = {"pitch_circle_mm": 90.0, "seat_mm": 17.0, "counterbore_radius_mm": 8.0}
    keys = [fault.key for fault in find_faults(variant(bolts=bolts))]
    assert "bolts.counterbore_radius_mm" in keys


@settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much],  # most values are refused
)
@given(any_values(Hub), any_values(Bolts))
def test_any_hub_is_drawn_or_refused(hub, bolts):
    """Any values in range give a list of faults or outlines that cross nowhere."""
    try:
        design: Design = variant(hub=hub, bolts=bolts)
    except ValidationError:
        return
    faults = find_faults(design)
    assert all(fault.remedy for fault in faults)
    assume(not faults)
    shape = draw_wheel(design)
    assert is_simple(shape.profile.curves)
    assert all(is_simple(cutter.curves) for cutter in shape.drawing.cutters)


def near(**ranges):
    """Values in narrow ranges, so that most draws have room."""
    return st.fixed_dictionaries({k: st.floats(*ends) for k, ends in ranges.items()})


@settings(max_examples=100, deadline=None)
@given(
    near(
        bore_mm=(56, 62),
        bore_chamfer_mm=(0.5, 3),
        cap_mm=(70, 78),
        cap_depth_mm=(5, 30),
        cap_radius_mm=(2, 4),
        relief_inner_mm=(76, 90),
        relief_outer_mm=(132, 142),
        relief_depth_mm=(1, 3),
        pocket_mm=(14, 24),
        pocket_depth_mm=(8, 30),
        pocket_radius_mm=(2, 5),
        pocket_draft_deg=(0, 8),
    ),
    st.sampled_from(["back", "face"]),
    near(seat_mm=(19, 27), ball_radius_mm=(11, 15), counterbore_radius_mm=(3, 4)),
    st.sampled_from(["cone", "ball"]),
)
def test_hubs_with_all_features_cross_nowhere(hub, side, bolts, seat):
    """Where nothing is refused, no outline crosses itself."""
    design = variant(hub={**hub, "pocket_side": side}, bolts={**bolts, "seat": seat})
    assume(not find_faults(design))
    shape = draw_wheel(design)
    assert is_simple(shape.profile.curves)
    assert all(is_simple(cutter.curves) for cutter in shape.drawing.cutters)
