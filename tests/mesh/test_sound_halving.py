"""A bad cell stays whole with those about it; all others are halved."""

from dataclasses import replace

import numpy as np
import pytest

from spokecheck.mesh import sound_halving
from spokecheck.mesh.blocks import block
from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.mesh.sound_halving import halve_soundly
from spokecheck.mesh.subdivide import subdivide

NONE = np.empty((0, 2), dtype=np.int64)
SIDES = {side: side for side in ("i0", "i1", "j0", "j1", "k0", "k1")}


@pytest.fixture
def cube():
    """A cube of 6 x 6 x 6 blocks, one cell in its middle folded."""
    mesh = block(lambda x: x, (6, 6, 6), SIDES)
    middles = mesh.points[mesh.cells[:, :4]].mean(axis=1)
    cell = int(np.linalg.norm(middles - 0.5, axis=1).argmin())
    points = mesh.points.copy()
    points[mesh.cells[cell, 4]] += [0.05, 0.09, 0.02]
    return replace(mesh, points=points), cell


def test_a_sound_mesh_is_halved_as_it_is_asked():
    """Nothing stays whole, and the parts are those of plain halving."""
    mesh = block(lambda x: x, (3, 3, 3), SIDES)
    marked = np.arange(mesh.n_cells) % 7 == 0
    found, plain = halve_soundly(mesh, marked, NONE), subdivide(mesh, marked, NONE)
    assert not found.whole.any()
    assert not found.unsound
    assert np.array_equal(found.step.mesh.cells, plain.mesh.cells)


def test_one_bad_cell_costs_its_neighbourhood_only(cube):
    """The folded cells stay, far cells are halved, and the reason names the place."""
    mesh, cell = cube
    folded = jacobian_ratios(mesh.points, mesh.cells) < LEAST_JACOBIAN
    assert folded[cell]
    found = halve_soundly(mesh, np.ones(mesh.n_cells, dtype=bool), NONE)
    parts = np.bincount(found.step.parent, minlength=mesh.n_cells)
    assert (parts[folded] == 1).all()
    assert found.whole[folded].all()
    middles = mesh.points[mesh.cells[:, :4]].mean(axis=1)
    gaps = np.linalg.norm(middles[:, None] - middles[folded], axis=2).min(axis=1)
    assert (parts[gaps > 3.0 / 6.0] == 8).all()
    assert (parts == 8).mean() > 0.5
    part = found.unsound[0]
    assert np.linalg.norm(part.place - middles[cell]) < 0.2
    assert "parts that are not sound: Jacobian" in part.reason
    halved = found.step.mesh.cells[found.step.halved]
    assert jacobian_ratios(found.step.mesh.points, halved).min() >= LEAST_JACOBIAN


def test_flat_parts_are_refused_too(monkeypatch):
    """With a limit that no part keeps all cells stay whole, and it ends."""
    monkeypatch.setattr(sound_halving, "LEAST_SHAPE", 1.1)
    mesh = block(lambda x: x, (2, 2, 2), SIDES)
    found = halve_soundly(mesh, np.arange(mesh.n_cells) == 3, NONE)
    assert not found.step.halved.any()
    assert found.whole[3]
    assert "shape" in found.unsound[0].reason


def test_edges_that_are_kept_are_not_halved():
    """One side of a block keeps its edges, and cells two layers away are halved."""
    mesh = block(lambda x: x, (6, 3, 3), SIDES)
    kept = np.unique(mesh.faces("i0")[:, 3:])
    found = halve_soundly(mesh, np.ones(mesh.n_cells, dtype=bool), NONE, kept=kept)
    side = found.step.mesh.faces("i0")
    assert len(side) == len(mesh.faces("i0"))
    assert np.isin(kept, side[:, 3:]).all()
    parts = np.bincount(found.step.parent, minlength=mesh.n_cells)
    middles = mesh.points[mesh.cells[:, :4]].mean(axis=1)
    assert (parts[middles[:, 0] > 0.5] == 8).all()
    assert {part.reason for part in found.unsound} == {sound_halving.KEPT}
