"""Points of halved cells lie on the surfaces that were drawn."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.fem.cyclic import rotation
from spokecheck.mesh.sound_halving import halve_soundly
from spokecheck.plane.curves import Arc, Line
from spokecheck.screen.local_refinement import on_true_surfaces
from spokecheck.wheel.shape.surfaces import drawn_surfaces
from spokecheck.wheel.shape.true_surface import RevolvedFace, TrueSurfaces


@pytest.fixture(scope="module")
def halved(small_screening):
    """A coarse wheel, all its cells at fillets halved, placed and not."""
    wheel = small_screening.wheel
    mesh, cyclic = wheel.mesh, wheel.cyclic
    fillets = [name for name in mesh.surfaces if "fillet" in name or "corner" in name]
    at = np.zeros(mesh.n_points, dtype=bool)
    at[mesh.nodes(fillets)] = True
    marked = at[mesh.cells[:, :4]].sum(axis=1) >= 3
    placed = halve_soundly(
        mesh,
        marked,
        cyclic.pairs,
        lambda step: on_true_surfaces(wheel.true_surfaces, cyclic, mesh, step),
    )
    return wheel, fillets, placed.step, halve_soundly(mesh, marked, cyclic.pairs).step


def gaps(wheel, mesh, name, nodes):
    """Distance [mm] of points from the nearest drawn surface of a name."""
    drawn = [s for s in drawn_surfaces(wheel.shape.drawing) if s.name == name]
    return np.min([surface.distances(mesh.points[nodes]) for surface in drawn], axis=0)


def test_new_points_of_fillets_lie_on_the_drawn_arcs(halved):
    """To a micrometre, where parts of parabolas are off by up to 20.

    Where that would spoil a part its points stay: less than 2 % of them.
    """
    wheel, fillets, placed, plain = halved
    new = wheel.mesh.n_points
    off, before = [], []
    for name in fillets:
        nodes = placed.mesh.nodes(name)
        off.append(gaps(wheel, placed.mesh, name, nodes[nodes >= new]))
        before.append(gaps(wheel, plain.mesh, name, nodes[nodes >= new]))
    off, before = np.concatenate(off), np.concatenate(before)
    assert len(off) > 500
    assert before.max() > 0.02
    assert (off < 1e-3).mean() > 0.98
    assert off.max() <= before.max()


def test_points_of_both_cuts_stay_images(halved):
    """Turned by a sector, one cut is the other to rounding; the low one stays flat."""
    wheel, _, placed, _ = halved
    points, pairs = placed.mesh.points, placed.pairs
    turned = points[pairs[:, 0]] @ rotation(wheel.cyclic.alpha).T
    assert_allclose(points[pairs[:, 1]], turned, atol=1e-9)
    angle = wheel.shape.drawing.low_angle
    across = points[pairs[:, 0]] @ [-np.sin(angle), np.cos(angle), 0.0]
    assert np.abs(across).max() < 1e-6


def test_points_inside_and_of_plane_faces_stay(halved):
    """Nothing moves but on the outer surface, and there by less than 0.05 mm."""
    _, _, placed, plain = halved
    moved = np.linalg.norm(placed.mesh.points - plain.mesh.points, axis=1)
    outer = np.zeros(len(moved), dtype=bool)
    outer[placed.mesh.nodes(list(placed.mesh.surfaces))] = True
    assert moved[~outer].max() == 0.0
    assert 0.005 < moved.max() < 0.05


def test_a_point_far_off_stays():
    """A surface that is further away than an eighth of an edge is not its own."""
    face = RevolvedFace(
        np.zeros(3),
        np.array([0.0, 0.0, 1.0]),
        Line((10.0, 0.0), (10.0, 1.0), ""),
        np.array([[-20.0] * 3, [20.0] * 3]),
    )
    true = TrueSurfaces(others=(face,))
    points = np.array([[10.1, 0.0, 0.0], [11.0, 0.0, 0.0]])
    moved = true.onto(points, {"any": np.arange(2)}, np.full(2, 2.0))
    assert_allclose(moved, [[10.0, 0.0, 0.0], [11.0, 0.0, 0.0]], atol=1e-6)


@pytest.mark.parametrize("angle", [0.0, 0.4])
def test_a_torus_about_any_axis_is_met(angle):
    """Points off a tilted torus come to its tube, to the square of their gap."""
    axis = np.array([np.sin(angle), 0.0, np.cos(angle)])
    foot = np.array([3.0, -2.0, 5.0])
    tube = Arc((45.0, 0.0), (40.0, 5.0), (40.0, 0.0), "")
    face = RevolvedFace(foot, axis, tube, np.array([[-99.0] * 3, [99.0] * 3]))
    across = np.linalg.svd(axis[None])[2][1:]
    turns, rolls = np.meshgrid(np.linspace(0.0, 6.0, 9), np.linspace(0.1, 1.4, 7))
    out = np.cos(turns)[..., None] * across[0] + np.sin(turns)[..., None] * across[1]
    rho = 40.0 + 5.02 * np.cos(rolls)
    height = 5.02 * np.sin(rolls)
    points = (foot + rho[..., None] * out + height[..., None] * axis).reshape(-1, 3)
    assert_allclose(face.gaps(points), 0.02, atol=1e-9)
    true = TrueSurfaces(others=(face,))
    every = {"any": np.arange(len(points))}
    moved = true.onto(points, every, np.full(len(points), 2.0))
    assert np.abs(face.gaps(moved)).max() < 1e-7


def test_a_wheel_without_known_faces_has_no_true_surfaces(small_screening):
    """A mesh from elsewhere is halved as it is."""
    assert replace(small_screening.wheel, shape=None).true_surfaces is None
