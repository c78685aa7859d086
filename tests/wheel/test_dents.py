"""A mesh that had to be dented is made again, finer about the dents, or says so."""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from random_designs import random_design

from spokecheck.errors import MeshError
from spokecheck.mesh.quality import DEEP, Dent, MeshQuality
from spokecheck.screen.local_mesh import SpotGauge
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing import dents
from spokecheck.wheel.meshing.dents import (
    REACH,
    SHARES,
    least_dented,
    surface_remarks,
)
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.mesh_check import LocalMesh
from spokecheck.wheel.tables.design import Design


@dataclass
class Cells:
    """How large a mesh is."""

    n_cells: int = 1000


@dataclass
class Mesh:
    """What a build gives."""

    quality: MeshQuality
    mesh: Cells = field(default_factory=Cells)


def builder(*depths):
    """Build that leaves one dent of each depth in turn, 0 for none, and its calls."""
    given, calls = iter(depths), []

    def build(refinements):
        calls.append(tuple(refinements))
        depth = next(given)
        if depth is None:
            raise MeshError("no mesh")
        place = (100.0 * len(calls), 0.0, 0.0)
        actual = (Dent(place, depth, 8.0),) if depth > DEEP else ()
        return Mesh(MeshQuality(0.2, 0.2, len(actual), depth, dents=actual))

    return build, calls


def test_a_mesh_without_dents_is_made_once():
    """Nothing is tried for the sake of dents there are none of."""
    build, calls = builder(0.05)
    assert least_dented(build).quality.deviation == 0.05
    assert calls == [()]


def test_edges_about_a_dent_are_halved():
    """The second mesh has a refinement there."""
    build, calls = builder(0.5, 0.02)
    assert least_dented(build).quality.deviation == 0.02
    extra = Refinement((100.0, 0.0, 0.0), SHARES[0] * 8.0, REACH * 8.0)
    assert calls == [(), (extra,)]


@pytest.mark.parametrize(
    ("depths", "best"),
    [((0.5, 0.7, 0.6), 0.5), ((0.5, 0.3, None), 0.3), ((0.5, None, 0.4), 0.4)],
)
def test_the_least_dented_mesh_counts(depths, best):
    """Whatever becomes of the later ones, and no more than two are tried."""
    build, calls = builder(*depths)
    assert least_dented(build).quality.deviation == best
    assert len(calls) == len(depths) == 1 + len(SHARES)


def test_a_large_mesh_is_not_made_again(monkeypatch):
    """Its dents are reported instead; what is large is a count, not a time."""
    monkeypatch.setattr(dents, "MOST_CELLS", 999)
    build, calls = builder(0.5)
    assert least_dented(build).quality.dents
    assert len(calls) == 1


def test_a_first_mesh_that_fails_is_an_error():
    """There is nothing to fall back on."""
    build, _ = builder(None)
    with pytest.raises(MeshError, match="no mesh"):
        least_dented(build)


def test_a_hot_spot_beside_a_dent_says_so(small_screening):
    """Told where the mesh falls short; a spot further away is not touched."""
    spots = small_screening.findings.hot_spots
    dent = Dent(tuple(np.add(spots[0].position_mm, [3.0, 0.0, 0.0])), 0.4, 6.0)
    wheel = small_screening.wheel
    dented = replace(wheel, quality=replace(wheel.quality, dents=(dent,)))
    gauge = SpotGauge(dented)
    told = {s.node: gauge.at(s.node).short for s in spots}
    by_dent = {node for node, short in told.items() if "dented by 0.4 mm" in str(short)}
    close = {
        s.node
        for s in spots
        if np.linalg.norm(np.subtract(s.position_mm, dent.place)) < 6.0
    }
    assert by_dent == close
    assert by_dent
    assert LocalMesh(None, None, None).short == ()


def test_a_design_that_was_dented_is_not_any_more():
    """A strip between a counterbore and the edge of the hub front, dented by 0.3 mm."""
    wheel = build_wheel(Design.model_validate(random_design(750)))
    assert wheel.quality.deviation < DEEP
    assert not wheel.quality.dents


def test_a_moved_surface_is_remarked():
    """By how much and where; a tenth of a millimetre and less is not worth a word."""
    assert surface_remarks(MeshQuality(0.2, 0.2, 3, DEEP)) == ()
    dents = tuple(Dent((10.0 * k, 0.0, 5.0), 0.4 * k, 8.0) for k in (1, 3, 2))
    (said,) = surface_remarks(MeshQuality(0.2, 0.2, 3, 1.2, dents=dents))
    assert "up to 1.2 mm off the drawn one" in said
    assert "at 3 places, most at (30, 0, 5) mm" in said
    (said,) = surface_remarks(MeshQuality(0.2, 0.2, 0, 0.13, peeled=2))
    assert "taken off" in said


def test_every_report_of_a_dented_wheel_says_so(small_screening):
    """Among the remarks on the drawing."""
    wheel = small_screening.wheel
    dents = (Dent((1.0, 2.0, 3.0), 0.4, 6.0),)
    quality = replace(wheel.quality, deviation=0.4, dents=dents)
    dented = replace(wheel, quality=quality)
    assert dented.remarks[:-1] == wheel.remarks
    assert "0.4 mm off" in dented.remarks[-1]
