"""Tight roundings of the rim are meshed in rows, and the first sound trial is taken."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest
from variants import variant

from spokecheck.errors import MeshError
from spokecheck.mesh.quality import MeshQuality
from spokecheck.plane.curves import Arc
from spokecheck.wheel.meshing.kernel.task import RawMesh, Refinement
from spokecheck.wheel.meshing.kernel.trials import TRIALS
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.meshing.sound_mesh import mesh_soundly
from spokecheck.wheel.meshing.sound_trial import WELL_SHAPED, sound_trial
from spokecheck.wheel.shape.surfaces import meridian
from spokecheck.wheel.shape.wheel_shape import draw_wheel

EDGE = "flange edge outboard"


def corners_across(mesh):
    """Different places (r, z) of the corners of a flange's rounded edges."""
    corners = np.unique(mesh.surfaces[EDGE][:, :3])
    return {tuple(p) for p in meridian(mesh.points[corners]).round(4)}


@pytest.mark.parametrize("radius", [1.5, 2.0])
def test_a_rounded_flange_is_meshed_in_rows(radius):
    """No corner lies within an arc, no cell folds, and nothing is dented."""
    design = variant(rim={"edge_radius_mm": radius})
    made = mesh_soundly(design, Fineness())
    arcs = [c for c in made.shape.profile.curves if c.name == EDGE]
    ends = {tuple(np.round(p, 4)) for c in arcs for p in (c.start, c.end)}
    assert all(isinstance(c, Arc) for c in arcs)
    assert corners_across(made.mesh) == ends
    assert made.quality.straightened == 0
    assert not made.quality.dents


def test_a_refinement_on_a_rounding_is_followed():
    """Where shorter edges than a rounding's width are asked for it is left to them."""
    shape = draw_wheel(variant(rim={"edge_radius_mm": 2.0}))
    arc = next(c for c in shape.profile.curves if c.name == EDGE)
    at = (float(arc.start[0]), 0.0, float(arc.start[1]))
    coarse, fine = (
        mesh_shape(shape, Fineness(), [Refinement(at, size, 6.0)]).mesh
        for size in (5.0, 0.8)
    )
    assert len(corners_across(coarse)) == 4
    assert len(corners_across(fine)) > 20


@dataclass(frozen=True)
class Made:
    """A mesh with nothing but its quality."""

    quality: MeshQuality


QUALITY = MeshQuality(0.1, 0.1, 0, 0.0, 0)


def run(shapes):
    """The shape taken of those that trials give, None for unsound, and trials made."""
    made = []

    def mesh(trial):
        if trial >= len(shapes):
            raise MeshError("the kernel fails")
        made.append(trial)
        return RawMesh(SimpleNamespace(n_cells=10), None, 1.0, trial=trial)

    def sound(raw):
        shape = shapes[raw.trial]
        if shape is None:
            raise MeshError(f"trial {raw.trial} is unsound")
        return Made(replace(QUALITY, least_shape=shape))

    return sound_trial(mesh, sound).quality.least_shape, made


def test_the_first_sound_and_well_shaped_trial_is_taken():
    """Later ones are not made."""
    assert run([None, 0.5, 0.9]) == (0.5, [0, 1])
    assert run([WELL_SHAPED, 0.9]) == (WELL_SHAPED, [0])


def test_of_badly_shaped_trials_the_best_is_taken():
    """All are made, however the last one ends."""
    assert run([0.004, 0.008, 0.006]) == (0.008, [0, 1, 2])
    five = [0.004, None, 0.005, None, None]
    assert run(five) == (0.005, list(range(len(TRIALS))))


def test_without_a_sound_trial_the_first_reason_is_given():
    """That of the trial before the kernel fails, or the kernel's."""
    with pytest.raises(MeshError, match="trial 0 is unsound"):
        run([None, None])
    with pytest.raises(MeshError, match="the kernel fails"):
        run([])
