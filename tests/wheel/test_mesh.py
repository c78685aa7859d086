"""The meshed wheel: closed, named, true to the drawn surface, the same every time."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import cumulative_trapezoid
from shapely import LineString, Polygon

from spokecheck.fem.cyclic import rotation
from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN, bulk
from spokecheck.mesh.record import boundary_faces
from spokecheck.plane.curves import area_and_moment, distance_to, outline_points
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.surfaces import meridian, surface_names
from spokecheck.wheel.shape.wheel_shape import draw_wheel

FIVE = Path("meshes/designs/aspen-cast-5.toml")
SEVEN = Path("meshes/designs/cedar-flow-formed-7.toml")
TEN = Path("meshes/designs/birch-forged-10.toml")
NAMED = {
    "attachment face",
    "bolt seat",
    "bead seat inboard",
    "bead seat outboard",
    "flange inboard",
    "flange outboard",
    "spoke face",
    "spoke back",
    "spoke side",
    "window corner, hub",
    "window corner, rim",
    "rim inner",
    "rim well",
    "centre bore",
}


@pytest.fixture(scope="module", params=[FIVE, SEVEN, TEN], ids=lambda p: p.stem)
def wheel(request):
    """Each kind of symmetry."""
    return build_wheel(read_design(request.param))


def test_symmetry_is_what_spokes_and_bolts_share(wheel):
    """N is the greatest common divisor of spokes and bolts."""
    expected = {5: 5, 7: 1, 10: 5}[wheel.design.spokes.count]
    assert wheel.cyclic.count == expected
    assert (len(wheel.cyclic.pairs) > 0) == (expected > 1)


def test_no_cell_is_folded(wheel):
    """The Jacobian is positive at corners, mid-sides and integration points."""
    assert jacobian_ratios(wheel.mesh.points, wheel.mesh.cells).min() >= LEAST_JACOBIAN
    assert wheel.quality.least_shape > 0.05


def test_no_cell_dents_the_surface(wheel):
    """None had to be straightened, which had dented it by 0.4 to 0.8 mm.

    0.06 mm is what new diagonals of peeled cells leave beside the true surface.
    """
    assert wheel.quality.straightened == 0
    assert wheel.quality.deviation < 0.06


def test_named_surfaces_cover_the_whole_boundary_once(wheel):
    """Every boundary face has exactly one name, and the parts of a wheel are there."""
    outer = np.sort(boundary_faces(wheel.mesh.cells)[:, :3], axis=1)
    named = np.sort(np.vstack(list(wheel.mesh.surfaces.values()))[:, :3], axis=1)
    assert len(named) == len(outer)
    assert len(np.unique(np.vstack([outer, named]), axis=0)) == len(outer)
    assert set(wheel.mesh.surfaces) >= NAMED


def test_bead_seats_run_true(wheel):
    """Bead-seat nodes lie within 0.01 mm of the true circle (common practice)."""
    for seat, runout in wheel.runout.items():
        assert runout < 0.01
        at = meridian(wheel.mesh.points[wheel.mesh.nodes(seat)])
        lines = [c for c in wheel.shape.profile.curves if c.name == seat]
        gaps = np.min([distance_to(line, at) for line in lines], axis=0)
        assert gaps.max() < 0.01


def test_the_two_cuts_are_images_of_each_other(wheel):
    """Turned by one sector, the low cut is the high cut to 1e-9 mm."""
    low, high = wheel.cyclic.pairs.T
    moved = wheel.mesh.points[low] @ rotation(wheel.cyclic.alpha).T
    assert_allclose(moved, wheel.mesh.points[high], rtol=0, atol=1e-9)
    if wheel.cyclic.count > 1:
        nodes = wheel.mesh.nodes
        assert set(low) == set(nodes("cut low"))
        assert set(high) == set(nodes("cut high"))


def test_mesh_volume_is_the_solid_volume(wheel):
    """Curved cells fill the CAD solid to 0.1 %."""
    assert abs(wheel.weight.solid_gap) < 1e-3


def below_outline(curves, moments, radii):
    """Integral over a plan outline of a height h(r), from its moments int h r dr.

    Green's theorem in polar form: the closed integral of that moment over the angle.
    """
    corners = outline_points(curves, 128)
    share = np.linspace(0.0, 1.0, 65)[:-1, None]
    x, y = np.vstack(
        [
            (1.0 - share) * p + share * q
            for p, q in zip(corners, np.roll(corners, -1, 0), strict=True)
        ]
    ).T
    turn = np.angle((np.roll(x, -1) + 1j * np.roll(y, -1)) / (x + 1j * y))
    here = np.interp(np.hypot(x, y), radii, moments)
    return float((here + np.roll(here, -1)) @ turn / 2.0)


def test_the_solid_is_the_revolved_section_less_its_windows():
    """Section by the second theorem of Pappus, windows by its height at each radius.

    Bolt holes are left uncut; arcs of 128 chords leave 2e-5 of the windows.
    """
    shape = draw_wheel(read_design(FIVE))
    _, moment = area_and_moment(shape.profile.curves)
    section = Polygon(outline_points(shape.profile.curves, 256))
    radii = np.linspace(20.0, 220.0, 4001)
    height = np.array(
        [section.intersection(LineString([(r, -300), (r, 300)])).length for r in radii]
    )
    moments = cumulative_trapezoid(height * radii, radii, initial=0.0)
    (window,) = shape.windows
    removed = len(window.angles) * abs(below_outline(window.curves, moments, radii))
    uncut = replace(shape, drawing=replace(shape.drawing, cutters=()))
    whole = mesh_shape(uncut, Fineness()).solid_volume * shape.count
    assert removed > 0.2 * whole
    assert_allclose(2.0 * np.pi * abs(moment) - whole, removed, rtol=1e-4)


def test_mass_properties_of_a_plain_ring():
    """A meshed wheel's inertia has the polar moment above its transverse one, and all
    follow the density.
    """
    wheel = build_wheel(read_design(FIVE))
    twice = bulk(wheel.mesh, 2.0 * wheel.alloy.density)
    assert_allclose(
        twice.mass * wheel.cyclic.count, 2.0 * wheel.weight.mass, rtol=1e-12
    )
    assert wheel.weight.polar > wheel.weight.transverse > 0.5 * wheel.weight.polar


def test_the_same_design_gives_the_same_mesh():
    """Two runs agree to the last bit."""
    design = read_design(FIVE)
    one, two = (build_wheel(design).mesh for _ in range(2))
    assert np.array_equal(one.points, two.points)
    assert np.array_equal(one.cells, two.cells)


def test_a_face_off_every_drawn_surface_is_an_error():
    """A face that lies nowhere is refused rather than guessed."""
    shape = draw_wheel(read_design(FIVE))
    with pytest.raises(Exception, match="off every drawn surface"):
        surface_names(shape.drawing, [np.array([[10.0, 10.0, 10.0]])])
