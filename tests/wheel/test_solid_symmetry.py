"""The symmetry of a solid from elsewhere, found by turning its shape onto itself.

Expected counts, angles and sizes are those the solids of ``solids`` are built with.
"""

import math

import gmsh
import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import DesignError
from spokecheck.fem.cyclic import Cyclic
from spokecheck.screen.hotspots import equal_images, images_at_spokes
from spokecheck.wheel.elsewhere.division import (
    KEY,
    MARGIN,
    counts_tried,
    divide,
    is_small,
)
from spokecheck.wheel.meshing.kernel.imported import _sector
from spokecheck.wheel.meshing.kernel.session import quiet_session, run
from spokecheck.wheel.meshing.kernel.solid_surface import SAME
from spokecheck.wheel.meshing.kernel.task import (
    Break,
    SolidTask,
    Symmetry,
    SymmetryTask,
)
from spokecheck.wheel.tables.sidecar import Sidecar
from tests.wheel.solids import HOLE, Z_HOLE, Barred, write_barred, write_revolved

ALONG_Z = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 1.0
"""Centre, turn and unit of a solid that lies in our frame."""

TURN, FIFTH = 0.3, 2.0 * math.pi / 5.0
VALVE = TURN + 0.5 * FIFTH
"""Between the first two bars."""

FOUND = 2.0e-5
"""A mirror plane is found within this [rad]: a tenth of what would take a point at the
rim off the surface."""


def found(path, *counts):
    """Symmetry of a file in our frame."""
    return run(SymmetryTask(path, *ALONG_Z, counts or (5,)))


def degrees_off(plane, expected, count):
    """Angle [rad] between planes of which a shape of so many sectors has more."""
    period = math.pi / count
    return abs((plane - expected + period / 2.0) % period - period / 2.0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Where the solids are written."""
    return tmp_path_factory.mktemp("solids")


@pytest.fixture(scope="module")
def bored(folder):
    """Five bars, with a valve hole through the rim."""
    return write_barred(folder / "bored.step", Barred(turn=TURN, valve=VALVE))


@pytest.fixture(scope="module")
def broken(bored):
    """What is found of it."""
    return found(bored)


def test_a_wrong_volume_of_the_whole_does_not_matter(folder):
    """Five equal wedges miss the kernel's volume of the whole; there are five sectors.

    The kernel integrates a revolved face that windows cut: here the whole is 1.2 % off,
    where two wedges agree within 0.003 %.  A thousandth is asked of one, a tenth of
    that of the other.
    """
    path = write_revolved(folder / "revolved.step")
    with quiet_session():
        ((_, tag),) = gmsh.model.occ.importShapes(str(path))
        gmsh.model.occ.synchronize()
        whole = gmsh.model.occ.getMass(3, tag)
        parts = [_sector(tag, FIFTH * (k + 0.3), FIFTH) for k in (0, 1)]
        wedges = [gmsh.model.occ.getMass(3, part) for (part,) in parts]
    assert_allclose(wedges[0], wedges[1], rtol=1e-4)
    assert abs(5.0 * wedges[0] / whole - 1.0) > 1e-3
    symmetry = found(path)
    assert (symmetry.sectors, symmetry.breaks) == (5, ())
    assert degrees_off(symmetry.mirror, 0.1, 5) < FOUND


@pytest.mark.parametrize(
    ("bars", "tried", "sectors"),
    [(5, (10, 5), 5), (6, (12, 6, 3, 2), 6), (6, (4, 2), 2)],
)
def test_the_largest_number_of_sectors_is_found(folder, bars, tried, sectors):
    """Of those tried, and a mirror plane through the first bar."""
    path = write_barred(folder / "plain.step", Barred(count=bars, turn=TURN))
    symmetry = found(path, *tried)
    assert symmetry.sectors == sectors
    assert degrees_off(symmetry.mirror, TURN, bars) < FOUND


def test_swept_bars_have_no_mirror(folder):
    """They lie off the axle, all to the same side."""
    path = write_barred(folder / "swept.step", Barred(swept=5.0))
    assert found(path) == Symmetry(5, None, 5, None)


def test_a_valve_hole_is_reported_with_its_place(broken):
    """It leaves one mirror plane, and five sectors but for a hole where it was cut.

    Places within a twentieth of a millimetre: the corners of the hole are sampled.
    """
    assert (broken.sectors, broken.nearly) == (1, 5)
    assert degrees_off(broken.mirror, VALVE, 1) < FOUND
    (hole,) = broken.breaks
    assert_allclose(hole.radius, 73.0, atol=0.05)
    assert_allclose(hole.radius * (hole.angle - VALVE), 0.0, atol=0.05)
    assert_allclose(hole.z, Z_HOLE, atol=0.1)
    assert_allclose(hole.across, HOLE + 0.027, atol=0.02)  # the wall's arch adds to it
    assert_allclose(hole.area, math.pi * HOLE * 4.0, rtol=0.01)
    assert hole.faces == 1


@pytest.mark.parametrize(("depth", "seen"), [(0.3, 0.3), (0.02, 0.02), (1.5, 1.0)])
def test_a_mark_is_reported_with_its_depth(folder, depth, seen):
    """A square of 6 mm sunk into a bar; depths are measured up to 1 mm.

    Its faces are the ground and, unless they are too low, four walls.
    """
    path = write_barred(folder / "mark.step", Barred(mark=depth))
    (mark,) = found(path).breaks
    assert_allclose([mark.radius, mark.angle, mark.across], [48.0, 0.0, 6.0], atol=1e-6)
    assert_allclose(mark.depth, seen, atol=1e-6)
    walls = 24.0 * depth if depth > 4.0 * SAME else 0.0
    assert_allclose(mark.area, 36.0 + walls, rtol=1e-6)


def test_what_is_shallower_than_the_tolerance_is_no_break(folder):
    """Half of it: the sectors count as equal."""
    path = write_barred(folder / "shallow.step", Barred(mark=0.5 * SAME))
    assert found(path).sectors == 5


def test_a_sector_is_cut_where_the_hole_is_not(bored, folder):
    """Meshed without the hole, five sectors are the wheel that was never bored.

    Flat facets on bent faces miss a thousandth of the volume.
    """
    avoided = ((VALVE - 0.05, VALVE + 0.05),)
    task = SolidTask(bored, *ALONG_Z, 5, 8.0, 3.0, 12.0, avoided=avoided)
    sector = run(task)
    plain = write_barred(folder / "never.step", Barred(turn=TURN))
    with quiet_session():
        ((_, tag),) = gmsh.model.occ.importShapes(str(plain))
        volume = gmsh.model.occ.getMass(3, tag)
    assert sector.cyclic.count == 5
    assert_allclose(5.0 * sector.solid_volume, volume, rtol=1e-6)
    angles = np.arctan2(*sector.mesh.points[:, 1::-1].T) - VALVE
    assert not (np.abs((angles + math.pi) % (2.0 * math.pi) - math.pi) < 0.04).any()


def sidecar(**mesh):
    """A sidecar of a five-spoke wheel that counts no spokes."""
    return Sidecar(
        name="test",
        mesh=mesh,
        rim={"size": "8J x 18", "inset_mm": 42.0},
        hub={"bore_mm": 66.6, "pad_diameter_mm": 150.0},
        bolts={"count": 5, "pitch_circle_mm": 112.0},
        duty={"rating_kg": 620.0, "tyre": "225/45R18"},
        material={"alloy": "a356-t6-low-pressure", "surface_rz_um": 50.0},
    )


def feature(radius=215.0, across=11.3, depth=1.0):
    """A break at 36 degrees."""
    return Break(radius, FIFTH / 2.0, 20.0, across, 0.03, depth, 180.0, 1)


def bored_wheel(*breaks):
    """A wheel of five sectors but for some breaks."""
    return Symmetry(1, FIFTH / 2.0, 5, 0.0, breaks or (feature(),))


def test_sectors_are_found_without_being_asked_for():
    """As many as there are; fewer, where the sidecar asks for them; none left out."""
    whole = Symmetry(5, 0.0, 5, 0.0)
    assert divide(whole, sidecar(), "x").sectors == 5
    assert divide(whole, sidecar(sectors=1), "x").sectors == 1
    assert divide(whole, sidecar(), "x").remarks == ()
    words = divide(whole, sidecar(), "x").words
    assert words == "one of 5 equal sectors meshed, mirrored at 0.0 deg by its shape"


def test_a_break_is_remarked_on_and_the_whole_is_meshed():
    """With radius, angle, height, size and the key that leaves it out."""
    division = divide(bored_wheel(), sidecar(), "x")
    assert (division.sectors, division.mirror) == (1, FIFTH / 2.0)
    (remark,) = division.remarks
    for words in ("5 equal", "r = 215.0 mm, 36.0 deg, z = 20.0 mm", "11.3 mm across"):
        assert words in remark
    assert "mesh.suppress_small_features = true leaves it out" in remark


def test_sectors_that_are_not_there_are_refused_with_the_place():
    """Asked for five, a bored wheel is refused, and the key is named."""
    said = r"(?s)mesh.sectors = 5: .*r = 215.0 mm.*suppress_small_features = true"
    with pytest.raises(DesignError, match=said):
        divide(bored_wheel(), sidecar(sectors=5), "x")
    with pytest.raises(DesignError, match=r"most of the solid does not lie on itself"):
        divide(Symmetry(1, None, 1, None), sidecar(sectors=5), "x")


def test_a_wrong_centre_is_found_before_anything_is_meshed(folder):
    """A wheel 2 mm off the axle has no sectors: the centre is refused, and given."""
    path = write_barred(folder / "off.step", Barred())
    symmetry = run(SymmetryTask(path, (2.0, 0.0, 0.0), (0.0, 0.0, 0.0), 1.0, (5, 1)))
    assert symmetry.nearly == 1
    brief = sidecar(centre=(2.0, 0.0, 0.0))
    said = r"mesh.centre.*2\.00 mm off the middle.*such as \[0\.0, 0\.0, 0\.0\]"
    with pytest.raises(DesignError, match=said):
        divide(symmetry, brief, "x")


def test_a_small_feature_is_left_out_on_request_alone():
    """One sector then stands for the wheel and keeps off the hole: a departure."""
    division = divide(bored_wheel(), sidecar(suppress_small_features=True), "x")
    assert (division.sectors, division.mirror) == (5, 0.0)
    ((low, high),) = division.avoided
    half = 0.03 + MARGIN / 215.0
    assert_allclose([low, high], [FIFTH / 2.0 - half, FIFTH / 2.0 + half])
    (left_out,) = division.left_out
    assert (left_out.key, left_out.asked, left_out.drawn) == (KEY, 11.3, 0.0)
    assert "r = 215.0 mm, 36.0 deg, z = 20.0 mm" in left_out.text
    assert division.remarks == ()


@pytest.mark.parametrize(
    ("one", "small"),
    [
        (feature(), True),
        (feature(across=26.0), False),
        (feature(radius=150.0), False),
        (feature(radius=150.0, depth=0.3, across=30.0), True),
        (feature(radius=150.0, depth=0.3, across=41.0), False),
        (feature(radius=70.0, depth=0.3, across=5.0), False),
    ],
    ids=["valve", "large", "in a spoke", "mark", "large mark", "on the hub"],
)
def test_only_small_features_can_be_left_out(one, small):
    """A hole in the rim up to 25 mm, a mark up to 40 mm and 0.5 mm deep off the hub."""
    brief = sidecar(suppress_small_features=True)
    assert is_small(one, brief) == small
    division = divide(bored_wheel(one), brief, "x")
    assert division.sectors == (5 if small else 1)
    assert small or "is not" in division.remarks[0]


def test_numbers_of_sectors_divide_bolts_and_counted_spokes():
    """Ten spokes on five bolts have five; spokes that are not counted do not matter."""
    brief = sidecar()
    assert counts_tried(brief) == (5, 1)
    counted = brief.model_copy(update={"spokes": type(brief.spokes)(count=7)})
    assert counts_tried(counted) == (1,)


def test_mirror_images_of_a_solid_are_one_place():
    """Ten places are equal: five turns of one, and five of its image at the plane.

    The image of an angle a at a plane p lies at 2 p - a.
    """
    brief = sidecar().with_symmetry(5, 0.3)
    point = np.array([150.0, 20.0, 60.0])
    own = math.atan2(20.0, 150.0)
    wheel = type("Wheel", (), {})()
    wheel.design, wheel.cyclic = brief, Cyclic(5, np.empty((0, 2), dtype=int))
    expected = [(a + FIFTH * k) % math.tau for a in (own, 0.6 - own) for k in range(5)]
    for images in (equal_images(wheel, point), images_at_spokes(brief, point)):
        angles = np.arctan2(images[:, 1], images[:, 0]) % math.tau
        assert_allclose(np.sort(angles), np.sort(expected), atol=1e-9)
