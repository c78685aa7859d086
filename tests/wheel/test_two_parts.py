"""Wheels whose spokes and bolts share no symmetry: parted, meshed, joined, solved."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from test_full_wheel import assert_sound
from variants import variant

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.radial import Steady, radial_case
from spokecheck.errors import MeshError
from spokecheck.fem.body import balance, respond
from spokecheck.fem.cyclic import rotation
from spokecheck.mesh.quality import bulk
from spokecheck.plane.curves import outline_points
from spokecheck.screen.copied_stress import copied_stress
from spokecheck.screen.loaded import wheel_body
from spokecheck.screen.outer_stress import outer_stress
from spokecheck.screen.part_refinement import refine_parts
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing import sound_mesh
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.ring import LEAST_ROOM, Ring, find_ring
from spokecheck.wheel.shape.sector_cut import CLEARANCE, cut_room
from spokecheck.wheel.shape.two_parts import part_drawing
from spokecheck.wheel.shape.way import JOINED, ONE_SECTOR, WHOLE, choose_way
from spokecheck.wheel.shape.wheel_shape import draw_wheel

DESIGNS = [
    Path(f"{name}.toml")
    for name in (
        "meshes/designs/cedar-flow-formed-7",
        "meshes/designs/dogwood-weak-5",
        "meshes/gallery/plate",
        "meshes/gallery/twin",
        "tests/designs/lias-7-on-5",
        "tests/designs/basalt-8-on-4",
    )
]
"""Level hubs and stepped ones, windows with draft, a pattern of pairs, no room."""
LIAS = Path("tests/designs/lias-7-on-5.toml")
CEDAR = "cedar-flow-formed-7"
SAME = 1e-9
"""Two direct solvers in double precision; the condition number is about 1e7."""


@pytest.fixture(scope="module")
def lias():
    """Seven spokes on five bolts, of one alloy."""
    return build_wheel(read_design(LIAS))


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_a_ring_keeps_its_distance(path):
    """No hole lies within 2.5 mm inside the ring, no window within 2.5 mm outside.

    Counted anew: holes and windows here are points of their own outlines.
    """
    drawing = draw_wheel(read_design(path)).drawing
    ring = find_ring(drawing)
    if isinstance(ring, float):
        assert ring < LEAST_ROOM
        return
    (r0, z0), (r1, z1) = ring.back.at, ring.face.at
    low, high = drawing.z_range
    slant = np.hypot(r1 - r0, z1 - z0) / (z1 - z0)
    for hole in drawing.cutters:
        rho, h = outline_points(hole.curves, 32).T
        r, z = hole.foot[0] + rho, hole.foot[1] + h
        assert hole.tilt == 0.0
        between = (z > z0) & (z < z1)
        across = (r0 + (r1 - r0) * (z - z0) / (z1 - z0) - r) / slant
        assert across[between].min() > LEAST_ROOM - 0.1
    for window in drawing.windows:
        z = np.linspace(max(z0, low), min(z1, high), 50)
        r = window.inner - np.array([window.growth(height) for height in z])
        across = (r - (r0 + (r1 - r0) * (z - z0) / (z1 - z0))) / slant
        assert across.min() > LEAST_ROOM - 0.1


def test_the_way_follows_from_the_two_numbers():
    """Five on five is one sector, seven on five two parts, a valve hole whole."""
    plain = draw_wheel(variant())
    assert choose_way(plain).name == ONE_SECTOR
    seven = draw_wheel(variant(CEDAR))
    way = choose_way(seven)
    assert way.name == JOINED
    assert "7 repeats of the spokes on 5 bolts share no symmetry" in way.reason
    assert choose_way(draw_wheel(variant(CEDAR), whole=True)).name == WHOLE
    valve = draw_wheel(variant(CEDAR, rim={"valve": "modelled"}))
    assert choose_way(valve).name == WHOLE
    six = choose_way(draw_wheel(variant(CEDAR, **SIX_ON_FOUR)))
    assert six.name == JOINED
    assert "share only 2 equal sectors" in six.reason


def test_without_room_the_wheel_is_whole_and_says_so():
    """Windows that begin beside the counterbores leave no ring."""
    shape = draw_wheel(variant(CEDAR, spokes={"root_radius_mm": 74.0}))
    way = choose_way(shape)
    assert way.name == WHOLE
    assert way.ring is None
    assert "mm of room (2.5 mm needed)" in way.reason


SIX_ON_FOUR = {
    "bolts": {"count": 4, "pitch_circle_mm": 108},
    "spokes": {"count": 6},
}


@pytest.mark.parametrize("rank", [0, 1, 2])
def test_both_cuts_are_clear_and_stand_on_the_strips(rank):
    """The inner cut is a whole number of strips from the outer one, both 3 mm clear."""
    shape = draw_wheel(variant(CEDAR))
    ring = find_ring(shape.drawing)
    assert isinstance(ring, Ring)
    parts = part_drawing(shape.drawing, ring, 7, 5, 16.0, rank)
    pitch = 2.0 * np.pi / 35.0
    apart = (parts.inner.low_angle - parts.outer.low_angle) / pitch
    assert_allclose(apart, parts.first, atol=1e-12)
    for drawing, strips in ((parts.outer, 5), (parts.inner, 7)):
        assert drawing.ring.strips == strips
        assert cut_room(drawing.low_angle, drawing) >= CLEARANCE


def test_the_joined_mesh_is_sound_and_whole(lias):
    """All faces are named once; copies of one strip lie on all others."""
    assert lias.way.name == JOINED
    assert lias.cyclic.count == 1
    assert_sound(lias)
    joined = lias.joined
    outer, inner = joined.parts
    parts = 7.0 * bulk(outer.sector.mesh, 1.0).volume
    parts += 5.0 * bulk(inner.sector.mesh, 1.0).volume
    assert_allclose(bulk(lias.mesh, 1.0).volume, parts, rtol=1e-12)
    assert lias.mesh.n_cells == 7 * outer.sector.mesh.n_cells + (
        5 * inner.sector.mesh.n_cells
    )
    strip = lias.mesh.points[outer.number[0][outer.sector.ring[0]]]
    for k in range(35):
        copy, own = divmod(k, 5)
        points = lias.mesh.points[outer.number[copy][outer.sector.ring[own]]]
        turned = strip @ rotation(2.0 * np.pi * k / 35.0).T
        assert_allclose(points, turned, rtol=0, atol=1e-11)


def test_a_place_becomes_finer_in_all_copies_and_the_wheel_stays_joined(lias):
    """Spheres on two spokes at like places are one on the sector; the ring stays."""
    joined, elastic = lias.joined, wheel_body(lias).elastic
    corners = lias.mesh.nodes("window corner, rim")
    at = lias.mesh.points[corners[0]]
    spheres = [
        Refinement(tuple(map(float, rotation(k * 2.0 * np.pi / 7.0) @ at)), 4.0, 25.0)
        for k in (0, 3)
    ]
    refined = refine_parts(lias, joined, elastic, spheres)
    finer = refined.wheel
    assert_sound(finer)
    outer, inner = finer.joined.parts
    before = [part.sector.mesh.n_cells for part in joined.parts]
    assert outer.sector.mesh.n_cells > before[0] + 20
    assert inner.sector.mesh.n_cells == before[1]
    assert finer.mesh.n_cells == 7 * outer.sector.mesh.n_cells + 5 * before[1]
    assert_array_equal(outer.sector.ring, joined.parts[0].sector.ring)
    assert finer.proof is not None


def test_a_place_at_the_ring_is_left_to_the_whole_wheel(lias):
    """Cells at the ring stay as they are, so a place there has no finer parts."""
    joined, elastic = lias.joined, wheel_body(lias).elastic
    outer = joined.parts[0].sector
    at = outer.mesh.points[outer.ring[2, 0]]
    spheres = [Refinement(tuple(map(float, at)), 2.0, 15.0)]
    assert refine_parts(lias, joined, elastic, spheres) is None


def test_parts_that_cannot_be_meshed_leave_the_whole(monkeypatch):
    """Where all drawings of two parts fail the wheel is meshed whole, and says why."""
    asked = []

    def failing(shape, fineness, refinements, drawing=None, trial=0):
        asked.append(drawing)
        raise MeshError("no mesh of two parts" if drawing else "no mesh at all")

    monkeypatch.setattr(sound_mesh, "mesh_shape", failing)
    with pytest.raises(MeshError, match="no mesh at all"):
        build_wheel(variant(CEDAR))
    assert [drawing is not None for drawing in asked[:4]] == [True, True, True, False]


def cases(wheel):
    """Both tests, with inflation, spin and bolts."""
    yield cornering_case(wheel, 3.0e6, clamp=30000.0)
    yield radial_case(wheel, 16000.0, steady=Steady(0.45, 80.0, 30000.0))


@pytest.mark.slow
def test_stress_of_the_copies_is_that_of_the_joined_mesh(lias):
    """Surface stress sector by sector, pressed seats and held faces included.

    Of any displacement: the weights are compared, not a solution. 10 s with the mesh.
    """
    elastic, (_, every) = wheel_body(lias).elastic, cases(lias)
    case = replace(every, loads=every.loads[:4], tractions=every.tractions[:4])
    rng = np.random.default_rng(7)
    shape = len(case.loads), lias.mesh.n_points, 3
    u = rng.normal(size=shape) + 1j * rng.normal(size=shape)
    nodes, whole = outer_stress(lias.mesh, lias.cyclic, elastic, case, 1e-4 * u)
    same, ours = copied_stress(lias.joined, elastic, case, 1e-4 * u)
    assert_array_equal(same, nodes)
    assert_allclose(ours, whole, rtol=0, atol=1e-11 * np.abs(whole).max())
    pressed = (len(one) > 0 for one in case.tractions)
    assert any(pressed)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("base", "tables"),
    [
        (CEDAR, {}),
        (CEDAR, SIX_ON_FOUR),
        ("aspen-cast-5", {"bolts": {"count": 4}}),
    ],
    ids=["7 on 5, two alloys", "6 on 4", "5 on 4"],
)
def test_a_joined_wheel_moves_as_the_whole_does(base, tables):
    """Both tests on the same mesh, joined and by a factor of the whole; 1 CPU minute.

    With steady loads, spin and bolts; the first wheel has a rim of another alloy.
    """
    design = variant(base, **tables)
    assert find_faults(design) == []
    wheel = build_wheel(design)
    assert wheel.way.name == JOINED
    assert_sound(wheel)
    joined, whole = wheel_body(wheel), wheel_body(replace(wheel, joined=None))
    for case in cases(wheel):
        ours = respond(joined, case.supports, case.loads)
        theirs = respond(whole, case.supports, case.loads)
        u, v = ours.displacements.u, theirs.displacements.u
        assert_allclose(u, v, rtol=0, atol=SAME * np.abs(v).max())
        assert balance(joined, case.supports, case.loads, ours) < 1e-8
