"""Each clause of the mesh contract refuses, or measures, a mesh made to break it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.jacobian_bounds import cell_shapes, jacobian_ratios
from spokecheck.mesh.parts import beam_block, ring_sector
from spokecheck.mesh.quality import LEAST_JACOBIAN, LEAST_SHAPE, MeshQuality
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing.mesh_check import (
    CUT_GAP,
    MOST_LAYERS,
    Gauge,
    LocalMesh,
    check_mesh,
    edges_per_quarter,
    ray_hits,
)
from spokecheck.wheel.reading.read import read_design

FIVE = Path("meshes/designs/aspen-cast-5.toml")
THREE = np.pi / 3.0


def quality(mesh) -> MeshQuality:
    """What straightening would say of a mesh it left alone."""
    return MeshQuality(
        float(jacobian_ratios(mesh.points, mesh.cells).min()),
        float(cell_shapes(mesh.points, mesh.cells).min()),
        0,
        0.0,
    )


def moved_point(mesh, node, by):
    """The same mesh with one point moved [mm]."""
    points = mesh.points.copy()
    points[node] += by
    return replace(mesh, points=points)


@pytest.fixture(scope="module")
def sector():
    """A sixth of a ring with the pairs of its cuts, a sound mesh."""
    mesh = ring_sector(20.0, 30.0, 10.0, (3, 6, 3), THREE)
    start, end = mesh.nodes("start"), mesh.nodes("end")
    c, s = np.cos(THREE), np.sin(THREE)
    turned = mesh.points[start] @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    far = np.linalg.norm(turned[:, None] - mesh.points[end], axis=2)
    pairs = np.column_stack([start, end[far.argmin(axis=1)]])
    points = mesh.points.copy()
    points[pairs[:, 1]] = turned
    return replace(mesh, points=points), Cyclic(6, pairs)


def test_a_sound_mesh_keeps_the_contract(sector):
    """A structured ring passes, and what was found is reported."""
    mesh, cyclic = sector
    kept = check_mesh(mesh, cyclic, quality(mesh))
    assert 0.05 < kept.least_jacobian <= 1.0
    assert kept.least_shape > 0.1
    assert kept.cut_gap <= CUT_GAP


def test_a_cell_folded_between_the_usual_points_is_refused(sector):
    """A mid-side point pushed inward folds a cell, whatever was measured before."""
    mesh, cyclic = sector
    inside = np.setdiff1d(mesh.cells[:, 4:], mesh.nodes(list(mesh.surfaces)))[0]
    bad = moved_point(mesh, inside, np.array([0.0, 0.0, 2.5]))
    with pytest.raises(MeshError, match="folded"):
        check_mesh(bad, cyclic, quality(mesh))


def test_a_sliver_is_refused():
    """A cell pressed flat falls below the stated shape."""
    mesh = beam_block(2.0, 1.0, 1.0, (2, 1, 1))
    flat = replace(mesh, points=mesh.points * np.array([1.0, 1.0, 1e-4]))
    assert quality(flat).least_shape < LEAST_SHAPE
    with pytest.raises(MeshError, match="sliver"):
        check_mesh(flat, Cyclic(), quality(flat))


@pytest.mark.parametrize("share", [0.5, 2.0])
def test_cuts_must_be_images_to_the_limit(sector, share):
    """Half the limit passes, twice the limit does not."""
    mesh, cyclic = sector
    off = moved_point(mesh, cyclic.pairs[3, 1], np.array([0.0, 0.0, share * CUT_GAP]))
    if share < 1.0:
        assert check_mesh(off, cyclic, quality(off)).cut_gap > 0.0
        return
    with pytest.raises(MeshError, match="cuts differ by 2e-09 mm"):
        check_mesh(off, cyclic, quality(off))


@pytest.mark.parametrize("n", [1, 2, 3, 5])
def test_edges_of_a_quarter_arc_are_counted(n):
    """A quarter ring of n cells has n edges over its arc, inside and out.

    1 %: mid-side points of the structured ring lie on the circle, and the correction
    from a parabola's end tangents to the arc is exact for that.
    """
    mesh = ring_sector(20.0, 30.0, 10.0, (2, n, 2), np.pi / 2.0)
    for side in ("inner", "outer"):
        actual = edges_per_quarter(mesh.points, mesh.surfaces[side])
        assert_allclose(actual, n, rtol=0.01)


def test_a_figure_just_below_the_required_one_is_not_rounded_up_to_it():
    """2.96 edges where 3 are required read 2.9, not 3.0."""
    (message,) = LocalMesh(2.96, 10.0, 2).short
    assert message == "2.9 edges on a quarter arc, 3 required"


def test_a_flat_has_no_quarter_arc():
    """Plane faces are no rounding."""
    mesh = beam_block(2.0, 1.0, 1.0, (2, 2, 2))
    assert (
        edges_per_quarter(mesh.points, np.vstack(list(mesh.surfaces.values()))) is None
    )


@pytest.mark.parametrize("n", [1, 2, 3])
def test_layers_through_a_wall_are_counted(n):
    """A ring of n cells through its wall has n layers there and its thickness."""
    mesh = ring_sector(20.0, 26.0, 40.0, (n, 6, 6), np.pi / 2.0)
    inner = mesh.nodes("inner")
    middle = np.array([20.0 * np.cos(np.pi / 4), 20.0 * np.sin(np.pi / 4), 20.0])
    node = int(inner[np.linalg.norm(mesh.points[inner] - middle, axis=1).argmin()])
    local = Gauge(mesh).at(node)
    assert local.layers == n
    assert_allclose(local.wall, 6.0, rtol=0.02)


def test_layers_are_counted_up_to_a_limit():
    """A body of many cells has the most that is reported."""
    mesh = beam_block(1.0, 1.0, 12.0, (1, 1, 12))
    top = mesh.points[:, 2].argmax()
    assert Gauge(mesh).at(int(top)).layers <= MOST_LAYERS


def test_a_way_through_a_cut_is_no_wall():
    """Where the metal goes on behind a sector cut, no thickness is reported."""
    mesh = ring_sector(20.0, 30.0, 10.0, (2, 4, 2), np.pi / 2.0)
    cuts = {"start": "cut low", "end": "cut high", "outer": "cut high"}
    named = {cuts.get(k, k): v for k, v in mesh.surfaces.items() if k != "end"}
    named["cut high"] = np.vstack([mesh.surfaces["end"], mesh.surfaces["outer"]])
    inner = mesh.nodes("inner")
    middle = int(inner[len(inner) // 2])
    local = Gauge(replace(mesh, surfaces=named)).at(middle)
    assert local.wall is None
    assert local.layers is None


def test_a_ray_hits_the_triangle_it_points_at():
    """Distance to a triangle across the axis; a miss is infinite."""
    corners = np.array([[[0, 0, 2], [1, 0, 2], [0, 1, 2]]], dtype=float)
    up = np.array([0.0, 0.0, 1.0])
    assert_allclose(ray_hits(np.array([0.2, 0.2, 0.0]), up, corners), [2.0])
    assert np.isinf(ray_hits(np.array([0.9, 0.9, 0.0]), up, corners))


def test_what_falls_short_is_reported_with_the_limit():
    """At the limits nothing is short; just below them both clauses are named."""
    assert LocalMesh(3.0, 8.0, 2).short == ()
    assert LocalMesh(None, None, None).short == ()
    message = LocalMesh(2.9, 8.0, 1).short
    assert len(message) == 2
    assert "2.9 edges" in message[0]
    assert "1 layer" in message[1]


def test_a_built_wheel_carries_its_proof():
    """Every wheel that is built has been checked."""
    kept = build_wheel(read_design(FIVE)).proof
    assert kept is not None
    assert kept.least_jacobian >= LEAST_JACOBIAN
    assert kept.least_shape >= LEAST_SHAPE
    assert kept.cut_gap <= CUT_GAP
