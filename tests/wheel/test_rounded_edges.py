"""Rounded edges of the windows, on face and back."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import least_squares
from variants import solid_volume, variant

from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.plane.curves import Arc, angle_between, sense_of
from spokecheck.plane.joints import length_of
from spokecheck.report.sheet.design_sheet import lay_out
from spokecheck.report.sheet.drawn_facts import drawn_facts
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.shape.edge_strips import SUNK, strip_volume
from spokecheck.wheel.shape.estimate import estimate_volume
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

FLAT = {"root_face_mm": 46.0, "tip_face_mm": 46.0}
"""A face square to the axle."""


def spandrel(radius):
    """Area [mm^2] between the edge and an arc sunk by ``SUNK`` = s both ways.

    Also the distance of its centroid from the edge, that of an arc not sunk,
    R (10 - 3 pi) / (12 - 3 pi).  The arc crosses both sides at the angle a with
    cos a = (R - s) / R; a square of R - s less a sector and two triangles is left.
    """
    side = radius - SUNK
    a = np.arccos(side / radius)
    area = side**2 - radius**2 * (np.pi / 4.0 - a) - side * radius * np.sin(a)
    return area, radius * (10.0 - 3.0 * np.pi) / (12.0 - 3.0 * np.pi)


def rounded_off(window, radius):
    """Metal [mm^3] that a rounding takes round a window on a flat face (Pappus)."""
    area, off = spandrel(radius)
    total = 0.0
    for curve in window.curves:
        length = length_of(curve)
        if isinstance(curve, Arc):
            a, b = (np.subtract(p, curve.centre) for p in (curve.start, curve.end))
            length += sense_of(curve) * off * abs(angle_between(a, b))
        total += area * length
    return total


@pytest.mark.parametrize(
    "radius",
    [
        2.0,
        pytest.param(1.0, marks=pytest.mark.slow),
        pytest.param(4.0, marks=pytest.mark.slow),
    ],
)
def test_volume_of_rounded_edges_on_a_flat_face(radius):
    """A ring of a corner less a quarter disc, carried round each window (Pappus).

    0.5 %: the centroid is that of an arc not sunk.
    """
    sharp, rounded = (
        variant(spokes=FLAT),
        variant(spokes=FLAT | {"face_edge_mm": radius}),
    )
    (window,) = draw_wheel(sharp).windows
    taken = solid_volume(sharp) - solid_volume(rounded)
    assert_allclose(taken, 5.0 * rounded_off(window, radius), rtol=5e-3)


def test_the_estimate_knows_rounded_edges():
    """Within 10 % of Pappus for what 2 mm take, which is 0.1 % of the wheel's mass."""
    shape = draw_wheel(variant(spokes=FLAT | {"face_edge_mm": 2.0}))
    taken = sum(strip_volume(strip) for strip in shape.drawing.edges)
    assert_allclose(taken, rounded_off(shape.windows[0], 2.0), rtol=0.15)
    assert taken > rounded_off(shape.windows[0], 2.0)


@pytest.mark.parametrize("key", ["face_edge_mm", "back_edge_mm"])
def test_mass_falls_with_the_radius(key):
    """From sharp to 4 mm in steps of 0.5."""
    radii = [None, *np.arange(1.0, 4.01, 0.5)]
    values = [None, *(float(r) for r in radii[1:])]
    volumes = [
        estimate_volume(draw_wheel(variant(spokes={"rim_gap_mm": 5.0, key: value})))
        for value in values
    ]
    assert (np.diff(volumes) < 0.0).all()


@pytest.fixture(scope="module")
def rounded():
    """A drafted wheel whose windows are rounded on face and back, meshed."""
    keys = {"face_edge_mm": 2.5, "back_edge_mm": 2.0, "draft_deg": 2.0}
    design = variant(spokes=keys | {"rim_gap_mm": 5.0})
    assert find_faults(design) == []
    return build_wheel(design)


@pytest.mark.slow  # 15 s for all on this wheel
def test_a_wheel_with_rounded_edges_is_meshed_as_drawn(rounded):
    """All cells are upright, and the mesh has the volume of the solid."""
    mesh = rounded.mesh
    assert rounded.shape.fallback.slim == 0.0
    assert jacobian_ratios(mesh.points, mesh.cells).min() >= LEAST_JACOBIAN
    assert abs(rounded.weight.solid_gap) < 1e-3


@pytest.mark.slow
@pytest.mark.parametrize(
    ("side", "radius", "name"),
    [(1, 2.5, "spoke edge, face"), (-1, 2.0, "spoke edge, back")],
)
def test_points_of_the_mesh_lie_on_the_arc(rounded, side, radius, name):
    """Where a spoke's side is straight, a circle through them has the radius.

    Measured from the mesh: points of the rounding seen along the middle of the side,
    over which the centre moves in a line.
    """
    mesh, window = rounded.mesh, rounded.shape.windows[0]
    (line,) = [c for c in window.curves if c.name == "spoke side" and c.start[1] < 60]
    start, end = np.array(line.start), np.array(line.end)
    along = (end - start) / np.linalg.norm(end - start)
    points = mesh.points[np.unique(mesh.surfaces[name])]
    off = points[:, :2] - start
    share = off @ along / np.linalg.norm(end - start)
    across = off @ [along[1], -along[0]]
    near = (share > 0.3) & (share < 0.7) & (np.abs(across) < 8.0)
    x, z, t = across[near], side * points[near, 2], share[near]

    def off_the_circle(fit):
        a, b, rise, drift, size = fit
        return np.hypot(x - a - drift * t, z - b - rise * t) - size

    fit = least_squares(off_the_circle, [x.max(), z.min(), 0.0, 0.0, radius])
    assert near.sum() > 12
    assert np.abs(fit.fun).max() < 0.02
    assert fit.x[-1] == pytest.approx(radius, rel=0.02)


@pytest.mark.slow
def test_an_edge_is_no_notch(rounded):
    """Face, rounding and side meet within 12 degrees: the arc is sunk by 0.02 mm.

    cos a = (R - s) / R gives 8.1 degrees for 2 mm; cells of a finite size the rest.
    """
    mesh = rounded.mesh
    normals = {}
    for name in ("spoke face", "spoke edge, face"):
        faces = mesh.surfaces[name]
        p = mesh.points[faces[:, :3]]
        n = np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])
        normals[name] = n / np.linalg.norm(n, axis=1)[:, None]
    assert (normals["spoke face"][:, 2] > 0.95).all()
    assert (normals["spoke edge, face"][:, 2] > -0.1).all()


@pytest.mark.parametrize(
    ("keys", "key", "words"),
    [
        (
            {"back_edge_mm": 2.0, "rim_gap_mm": 1.0, "draft_deg": 2.0},
            "back_edge_mm",
            "degrees, from 40 to 130 can be rounded",
        ),
        (
            {"face_edge_mm": 4.0, "root_radius_mm": 77.5},
            "face_edge_mm",
            "raise spokes.root_radius_mm by",
        ),
        (
            {
                "back_edge_mm": 4.0,
                "rim_gap_mm": 8.0,
                "pocket": {"wall_mm": 5.0, "floor_mm": 12.0},
            },
            "back_edge_mm",
            "beside a back pocket it needs walls of 6.",
        ),
        (
            {"face_edge_mm": 4.0, "tip_width_mm": 9.0, "root_width_mm": 9.0},
            "face_edge_mm",
            "leaves less than 2 mm between two of them",
        ),
    ],
)
def test_edges_without_room_are_refused(keys, key, words):
    """A fault names the key, the limit, and what to do."""
    raw = variant().model_dump()
    raw["spokes"] |= keys
    raw["bolts"]["seat_mm"] = 34.0
    faults = {f.key: f for f in find_faults(Design.model_validate(raw))}
    assert words in str(faults[f"spokes.{key}"])


def test_rounded_edges_are_called_out_on_the_sheet():
    """Both radii stand at an edge of the face view, and among the notes."""
    keys = {"face_edge_mm": 2.5, "back_edge_mm": 1.5, "rim_gap_mm": 5.0}
    shape = draw_wheel(variant(spokes=keys))
    sheet = lay_out(shape, drawn_facts(shape, "edges"))
    texts = " ".join(words.text for words in sheet.words)
    assert "edge: face R2.5, back R1.5" in texts
    assert "edges of the windows: face R2.5" in texts.lower() or "R1.5" in texts
