"""Where a drawing has no sound mesh another one is taken, and the report says which."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from variants import variant

from spokecheck.errors import MeshError, TimeLimitError
from spokecheck.plane.curves import area_and_moment, outline_points
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing import sound_mesh
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.shape.estimate import estimate_volume
from spokecheck.wheel.shape.fallbacks import (
    AS_DRAWN,
    FAITHFUL,
    FALLBACKS,
    Fallback,
    changes,
    varied,
)
from spokecheck.wheel.shape.remarks import drawing_remarks
from spokecheck.wheel.shape.sector_cut import APART
from spokecheck.wheel.shape.wheel_shape import draw_wheel

POCKET = {"wall_mm": 8.0, "floor_mm": 10.0, "corner_mm": 7.0}
PLATE = {
    "pattern": "plate",
    "root_width_mm": None,
    "tip_width_mm": None,
    "plate": {
        "circle_mm": 290.0,
        "width_mm": 40.0,
        "window": "slotted",
        "length_mm": 60.0,
    },
}
COURSE = {
    "pattern": "course",
    "course": {
        "points_mm": [[80.0, 0.0], [140.0, 10.0], [200.0, 5.0]],
        "widths_mm": [40.0, 36.0, 34.0],
    },
}


def failing(passes, tried):
    """A mesher that fails until a fallback passes, and records its arguments."""

    def mesh(shape, fineness, refinements=(), trial=0):
        tried.append((shape.fallback, fineness.factor))
        if not passes(shape.fallback):
            raise MeshError(f"no mesh for fallback {len(tried)}")
        return mesh_shape(shape, fineness, refinements, trial=trial)

    return mesh


def test_a_design_sound_as_drawn_is_untouched():
    """The first fallback changes nothing: the same mesh bit for bit."""
    design = variant()
    assert varied(design, AS_DRAWN) is design
    wheel, plain = (
        build_wheel(design),
        build_wheel(design, fallbacks=FAITHFUL),
    )
    assert wheel.fallback == FALLBACKS[0] == AS_DRAWN
    assert (wheel.mesh.points == plain.mesh.points).all()
    assert not any("not be meshed soundly" in said for said in drawing_remarks(design))


def test_a_design_that_fails_first_passes_later_and_says_so(monkeypatch):
    """The first fallback that meshes is taken, and its changes are reported by key."""
    tried = []
    mesh = failing(lambda fallback: fallback.slim > 0.15, tried)
    monkeypatch.setattr(sound_mesh, "mesh_shape", mesh)
    design = variant()
    wheel = build_wheel(design)
    taken = next(fallback for fallback in FALLBACKS if fallback.slim > 0.15)
    assert wheel.fallback == taken
    # one with a dent is meshed twice
    in_turn = tuple(dict.fromkeys(fallback for fallback, _ in tried))
    assert in_turn == FALLBACKS[: FALLBACKS.index(taken) + 1]
    assert wheel.design is design
    said = drawing_remarks(design, wheel.fallback)[-1]
    assert "could not be meshed soundly at first" in said
    found = {d.key: d.drawn - d.asked for d in wheel.departures}
    for key, change in changes(design, taken).items():
        assert found[key] == pytest.approx(change)
    assert ("cut at another angle" in said) == (taken.cut > 0)


def test_a_finer_fallback_shortens_every_edge(monkeypatch):
    """Also where the fineness asked for lies below what edges are capped at."""
    tried = []
    mesh = failing(lambda fallback: fallback.finer > 1.0, tried)
    monkeypatch.setattr(sound_mesh, "mesh_shape", mesh)
    wheel = build_wheel(variant())
    assert tried[-1][1] == pytest.approx(1.15)
    assert Fineness(tried[-1][1]).largest < Fineness().largest
    assert any("% shorter" in s for s in drawing_remarks(wheel.design, wheel.fallback))


def test_the_reason_reported_is_that_of_the_drawing_asked_for(monkeypatch):
    """Where no fallback helps, the first failure is reported, and their number."""
    tried = []
    monkeypatch.setattr(
        sound_mesh, "mesh_shape", failing(lambda fallback: False, tried)
    )
    with pytest.raises(
        MeshError, match=rf"fallback 1 .nor did {len(FALLBACKS) - 1} other"
    ):
        build_wheel(variant())
    assert len(tried) == len(FALLBACKS)


def test_of_a_whole_wheel_few_drawings_are_tried(monkeypatch):
    """Each is five sectors' work: the search ends by count, not by the clock."""
    tried = []
    monkeypatch.setattr(
        sound_mesh, "mesh_shape", failing(lambda fallback: False, tried)
    )
    with pytest.raises(MeshError, match=r"^no mesh for fallback 1 .nor did 3 other"):
        build_wheel(variant(rim={"valve": "modelled"}))
    assert len(tried) == sound_mesh.MOST_WHEELS


def test_a_mesher_that_takes_too_long_ends_the_search(monkeypatch):
    """No other drawing is tried: which one is taken must not hang on the clock."""
    tried = []

    def late(shape, fineness, refinements, trial):
        tried.append(shape.fallback)
        raise TimeLimitError("took over 1 s")

    monkeypatch.setattr(sound_mesh, "mesh_shape", late)
    with pytest.raises(TimeLimitError, match="took over"):
        build_wheel(variant())
    assert len(tried) == 1


def test_a_whole_wheel_is_not_tried_with_another_cut(monkeypatch):
    """Fallbacks that differ in the cut alone are one where there is none."""
    tried = []
    monkeypatch.setattr(
        sound_mesh, "mesh_shape", failing(lambda fallback: False, tried)
    )
    with pytest.raises(MeshError):
        build_wheel(variant(rim={"valve": "modelled"}))
    assert Fallback(cut=1) in FALLBACKS
    assert Fallback(cut=1) not in [fallback for fallback, _ in tried]


@pytest.mark.parametrize("fallback", FALLBACKS[1:], ids=str)
def test_each_fallback_meshes_soundly(fallback):
    """An example has a sound mesh with every fallback, and loses no metal."""
    design = variant()
    wheel = build_wheel(design, fallbacks=[fallback])
    assert wheel.fallback == fallback
    assert wheel.proof is not None
    asked = estimate_volume(draw_wheel(design))
    drawn = estimate_volume(wheel.shape)
    assert drawn > asked if changes(design, fallback) else drawn == asked


@pytest.mark.parametrize(
    "spokes",
    [{}, {"pocket": POCKET}, PLATE, COURSE],
    ids=["bars", "pocket", "plate", "course"],
)
def test_windows_shrink_by_what_is_reported(spokes):
    """Every side of a window moves inward by the slim, every side of a pocket too.

    A slimmer outline's area is that of the old one less its length times the slim, to
    first order: Steiner's formula for parallel curves; corners keep their radius, and
    the rest is of second order.
    """
    design, slim = variant(spokes=spokes), 0.1
    before, after = (draw_wheel(design, Fallback(slim=s)).drawing for s in (0.0, slim))
    for kind in ("windows", "pockets"):
        for old, new in zip(getattr(before, kind), getattr(after, kind), strict=True):
            area, length = _area_and_length(old.curves)
            assert_allclose(
                area - _area_and_length(new.curves)[0], length * slim, rtol=0.08
            )


def test_a_valve_hole_shrinks_with_the_windows():
    """Its side moves inward by the slim, so its diameter by twice that; if modelled."""
    design = variant(rim={"valve": "modelled"})
    assert changes(design, Fallback(slim=0.1))["rim.valve_mm"] == pytest.approx(-0.2)
    assert "rim.valve_mm" not in changes(variant(), Fallback(slim=0.1))


def _area_and_length(curves):
    points = outline_points(curves, 64)
    sides = np.roll(points, -1, axis=0) - points
    return area_and_moment(curves)[0], np.linalg.norm(sides, axis=1).sum()


def test_other_cuts_lie_apart():
    """Cuts of rank 0, 1 and 2 differ by the least angle, all their images counted."""
    angles = [draw_wheel(variant(), Fallback(cut=k)).drawing for k in range(3)]
    span = angles[0].span
    for k in range(3):
        for j in range(k):
            off = abs(angles[k].low_angle - angles[j].low_angle) % span
            assert min(off, span - off) >= APART
