"""Ready-made parts: volumes of the true shapes, named surfaces, and refusals."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import MeshError
from spokecheck.fem.assembly import shape_gradients
from spokecheck.fem.cyclic import cyclic_from_faces
from spokecheck.fem.loads import sample_faces
from spokecheck.handbook.case import resolve
from spokecheck.handbook.catalogue import find_case
from spokecheck.handbook.consistency import lobed_sector
from spokecheck.handbook.spoked import spoked_frame
from spokecheck.mesh.notches import (
    Shoulder,
    growing,
    plate_with_hole,
    shoulder_bar,
    shoulder_shaft,
)
from spokecheck.mesh.parts import cavity_octant, ring_sector, round_bar
from spokecheck.mesh.quadrature import conical_rule
from spokecheck.mesh.record import boundary_faces
from spokecheck.mesh.ruled_blocks import arc, chain, line, panel, ruled_block


def volume(mesh):
    """Volume by a rule exact for curved second-order cells."""
    return shape_gradients(mesh.points, mesh.cells, conical_rule(3, 6))[1].sum()


def area(mesh, name):
    """Area of a named surface."""
    return sample_faces(mesh.points, mesh.faces(name)).total_area


STEP = Shoulder(20.0, 30.0, 5.0, 100.0, 100.0, 4, 4)
NOTCH = Shoulder(20.0, 30.0, 10.0, 0.0, 100.0, 4, 4)


def step_area(s):
    """Plane area of the upper half of a stepped bar or of half a notched one."""
    rest = (1.0 - np.pi / 4.0) * s.radius**2
    neck = s.narrow * s.shank + s.narrow * s.radius + rest
    return neck + s.wide * (s.body - s.radius)


SHAPES = [
    (ring_sector(50.0, 80.0, 7.0, (2, 6, 1)), np.pi / 4 * (80**2 - 50**2) * 7),
    (round_bar(9.0, 30.0, (2, 2, 2)), np.pi * 81.0 * 30.0),
    (cavity_octant(5.0, 9.0, (3, 2)), np.pi / 6.0 * (9.0**3 - 5.0**3)),
    (
        cavity_octant(1.0, 6.0, (3, 5), cube=True),
        6.0**3 - np.pi / 6.0,
    ),
    (plate_with_hole(10.0, 40.0, 90.0, 3.0, (3, 4, 1)), (3600 - 25 * np.pi) * 3),
    (shoulder_bar(STEP, 4.0), step_area(STEP) * 4.0),
    (shoulder_bar(NOTCH, 4.0), (30.0 * 100.0 - np.pi / 4.0 * 100.0) * 4.0),
]
IDS = ["ring", "bar", "sphere", "cube", "hole", "step", "notch"]


@pytest.mark.parametrize(("mesh", "exact"), SHAPES, ids=IDS)
def test_volume_is_that_of_the_true_shape(mesh, exact):
    """Mid-side points on the curves leave a volume error below two per mil."""
    assert_allclose(volume(mesh), exact, rtol=2e-3)


@pytest.mark.parametrize(("mesh", "exact"), SHAPES, ids=IDS)
def test_every_boundary_face_closes_the_body(mesh, exact):
    """The outward area vectors of the whole boundary cancel."""
    samples = sample_faces(mesh.points, boundary_faces(mesh.cells))
    total = samples.areas.sum(axis=(0, 1))
    assert_allclose(total, 0.0, atol=1e-9 * samples.total_area)


def test_shaft_is_the_revolved_step():
    """A quarter of the stepped shaft has the volume of the turned meridian."""
    s = Shoulder(15.0, 18.0, 3.0, 40.0, 40.0, 4, 4)
    h, r, c = 15.0, 3.0, 18.0
    # Fillet strip: integral of y^2 with y = c - sqrt(r^2 - x^2), x from 0 to r.
    strip = c**2 * r - c * np.pi * r**2 / 2.0 + 2.0 / 3.0 * r**3
    exact = np.pi / 4.0 * (h**2 * 40.0 + strip + c**2 * (40.0 - r))
    mesh = shoulder_shaft(s, 3)
    assert_allclose(volume(mesh), exact, rtol=1e-3)
    assert_allclose(area(mesh, "end"), np.pi / 4.0 * c**2, rtol=1e-3)
    assert_allclose(area(mesh, "start"), np.pi / 4.0 * h**2, rtol=1e-3)


def test_named_surfaces_of_a_plate_with_a_hole():
    """Hole, symmetry cuts and loaded end have their areas."""
    mesh = plate_with_hole(10.0, 40.0, 90.0, 3.0, (3, 4, 1))
    assert_allclose(area(mesh, "hole"), np.pi / 2.0 * 10.0 * 3.0, rtol=1e-4)
    assert_allclose(area(mesh, "right"), 120.0)
    assert_allclose(area(mesh, "x0"), 90.0)
    assert_allclose(area(mesh, "y0"), 240.0)


def test_fillet_points_lie_on_the_circle():
    """Every point of the fillet, mid-side ones too, has the fillet radius."""
    mesh = shoulder_bar(STEP, 4.0)
    x = mesh.points[mesh.nodes("fillet")]
    r = np.hypot(x[:, 0], x[:, 1] - 25.0)
    assert_allclose(r, 5.0, rtol=1e-12)


def test_cuts_of_a_lobed_sector_match():
    """Each point of the low cut, turned, is a point of the high cut."""
    sector = lobed_sector(5, 2)
    pairs = cyclic_from_faces(sector, 5, "low", "high").pairs
    angle = 2.0 * np.pi / 5.0
    c, s = np.cos(angle), np.sin(angle)
    R = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    assert_allclose(
        sector.points[pairs[:, 0]] @ R.T, sector.points[pairs[:, 1]], atol=1e-10
    )
    assert len(np.unique(pairs[:, 1])) == len(pairs) == len(sector.nodes("low"))


def test_frame_of_spokes_is_one_body():
    """The spoked frame hangs together and has the area of rim and spokes."""
    p = resolve(find_case("p37"))
    mesh = spoked_frame(p, 1)
    height = p.d / 12.0
    rim = np.pi / 2.0 * ((p.R + p.d / 2) ** 2 - (p.R - p.d / 2) ** 2)
    spokes = 2.5 * p.w * (p.R - p.d / 2.0 - p.hub)
    assert_allclose(volume(mesh) / height, rim + spokes, rtol=0.01)
    assert_allclose(area(mesh, "hub"), 2.5 * p.w * height, rtol=0.01)


def test_chain_puts_its_kinks_on_cell_borders():
    """A chain of two lines is straight on either side of its middle."""
    corner = chain([line((1.0, 0.0), (1.0, 1.0)), line((1.0, 1.0), (0.0, 1.0))])
    at = corner(np.array([0.0, 0.25, 0.5, 0.75, 1.0]))
    assert_allclose(at, [[1, 0], [1, 0.5], [1, 1], [0.5, 1], [0, 1]])


def test_ruled_block_between_arc_and_line():
    """A ruled block meets both its curves."""
    mesh = ruled_block(
        arc((0.0, 0.0), (2.0, 1.0), 0.0, 90.0),
        line((4.0, 0.0), (0.0, 4.0)),
        1.0,
        (2, 4, 1),
        {"i0": "in", "i1": "out"},
    )
    x = mesh.points[mesh.nodes("in")]
    assert_allclose((x[:, 0] / 2.0) ** 2 + x[:, 1] ** 2, 1.0, rtol=1e-12)
    y = mesh.points[mesh.nodes("out")]
    assert_allclose(y[:, 0] + y[:, 1], 4.0, rtol=1e-12)


def test_panel_is_a_rectangle():
    """A panel has its corners and its area."""
    mesh = panel((1.0, 2.0), (4.0, 3.0), 0.5, (3, 2, 1), {})
    assert_allclose(volume(mesh), 1.5)
    assert_allclose(mesh.points.min(axis=0), [1.0, 2.0, 0.0])


def test_growing_cells_start_as_asked_and_fill_the_length():
    """The first cell has the length asked for, and later ones do not shrink."""
    sizes = np.diff(100.0 * growing(100.0, 2.0, 6))
    assert_allclose(sizes[0], 2.0, rtol=1e-9)
    assert_allclose(sizes.sum(), 100.0)
    assert (np.diff(sizes) > 0.0).all()
    assert_allclose(np.diff(growing(10.0, 5.0, 4)), 0.25)


@pytest.mark.parametrize(
    ("build", "message"),
    [
        (lambda: ring_sector(5.0, 5.0, 1.0, (1, 1, 1)), "must exceed r_in = 5 mm"),
        (lambda: ring_sector(5.0, 6.0, -1.0, (1, 1, 1)), "height = -1 mm: must be pos"),
        (lambda: cavity_octant(3.0, 2.0, (1, 1)), "must exceed radius = 3 mm"),
        (lambda: round_bar(0.0, 2.0, (1, 1, 1)), "radius = 0 mm: must be positive"),
        (lambda: plate_with_hole(5, 5, 9, 1, (1, 1, 1)), "must rise in this order"),
        (
            lambda: shoulder_bar(Shoulder(20.0, 24.0, 5.0, 9.0, 90.0, 2, 2), 1.0),
            "must not exceed the step of 4 mm",
        ),
        (
            lambda: shoulder_bar(Shoulder(20.0, 30.0, 5.0, 9.0, 15.0, 2, 2), 1.0),
            "body length 15 mm: must be above",
        ),
    ],
)
def test_impossible_parts_are_refused(build, message):
    """Dimensions that do not fit are an error with value, limit and remedy."""
    with pytest.raises(MeshError, match=message):
        build()
