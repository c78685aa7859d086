"""Disc and rim as zones of their own, parted by a surface that no cell straddles."""

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.steady import centrifugal_forces
from spokecheck.fatigue.alloys import read_alloys
from spokecheck.mesh.quality import bulk
from spokecheck.mesh.record import TET_FACES, boundary_faces
from spokecheck.plane.curves import area_and_moment, distance_to
from spokecheck.screen.hotspots import in_rim, outer_surface
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.shape.profile import draw_profile
from spokecheck.wheel.shape.surfaces import meridian
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.shape.zones import divide_section, zone_notes
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.surface_names import RIM_SURFACES

FIVE = Path("meshes/designs/aspen-cast-5.toml")
TWO_PIECE = {"construction": "two-piece", "joint_radius_mm": 175.0}
UNLIKE = {"alloy": "6061-t6-forged", "rim_alloy": "a356-t6-flow-formed"}


def varied(rim=None, **material) -> Design:
    """Invented variant of the five-spoke example."""
    message = read_design(FIVE).model_dump()
    message["rim"] |= rim or {}
    message["material"] |= material
    return Design(**message)


DIVIDED = {
    "flow-formed": varied(rim_alloy="a356-t6-flow-formed"),
    "two-piece": varied(TWO_PIECE),
    "stepped": varied({**TWO_PIECE, "joint_leg_mm": 12.0}, **UNLIKE),
}


@pytest.fixture(scope="module", params=list(DIVIDED))
def wheel(request):
    """A wheel of two zones."""
    return build_wheel(DIVIDED[request.param])


def _keys(faces):
    return {tuple(face) for face in np.sort(faces[:, :3], axis=1)}


def test_every_cell_lies_in_exactly_one_zone(wheel):
    """Disc and rim together are the wheel, and neither is empty."""
    zones = wheel.mesh.zones
    assert set(zones) == {"disc", "rim"}
    assert min(len(zone) for zone in zones.values()) > 100
    together = np.sort(np.concatenate(list(zones.values())))
    assert np.array_equal(together, np.arange(wheel.mesh.n_cells))


def test_the_interface_is_all_that_the_zones_share(wheel):
    """Faces of a disc cell and a rim cell are the interface, and only they are."""
    mesh, ((_, faces),) = wheel.mesh, wheel.mesh.interfaces.items()
    disc, rim = (
        _keys(boundary_faces(mesh.cells[mesh.zones[zone]])) for zone in ("disc", "rim")
    )
    assert _keys(faces) == disc & rim
    assert not _keys(faces) & _keys(boundary_faces(mesh.cells))
    ring = mesh.cells[mesh.zones["disc"]][:, TET_FACES].reshape(-1, 6)
    assert {tuple(face) for face in faces} <= {tuple(face) for face in ring}


def test_the_interface_lies_on_the_drawn_line(wheel):
    """Its points project onto the line of the section, to 1e-5 mm at the corners."""
    divide = wheel.shape.drawing.divide
    corners = np.unique(wheel.mesh.interfaces[divide.name][:, :3])
    at = meridian(wheel.mesh.points[corners])
    gaps = np.min([distance_to(curve, at) for curve in divide.curves], axis=0)
    assert gaps.max() < 1e-5


def test_the_line_is_a_chain_between_two_corners_of_the_outline(wheel):
    """It starts where the rim's part of the outline starts and ends where that ends."""
    divide, section = wheel.shape.drawing.divide, wheel.shape.drawing.section
    assert divide.curves[0].start == section[divide.first].start
    assert divide.curves[-1].end == section[divide.last].start
    for one, other in pairwise(divide.curves):
        assert one.end == other.start


def test_sections_of_the_zones_make_up_the_whole_section(wheel):
    """Areas of disc and rim add up (Green's theorem on the two closed outlines)."""
    divide, section = wheel.shape.drawing.divide, wheel.shape.drawing.section
    back = tuple(replace(c, start=c.end, end=c.start) for c in reversed(divide.curves))
    rim, _ = area_and_moment((*section[divide.first : divide.last], *back))
    disc, _ = area_and_moment(
        (*section[divide.last :], *section[: divide.first], *divide.curves)
    )
    whole, _ = area_and_moment(section)
    assert rim > 0.0
    assert disc > 0.0
    assert_allclose(rim + disc, whole, rtol=1e-12)


def test_named_surfaces_stay_the_closed_boundary(wheel):
    """The interface is no part of them: they still cover the boundary once."""
    outer = boundary_faces(wheel.mesh.cells)
    named = np.vstack(list(wheel.mesh.surfaces.values()))
    assert len(named) == len(outer)
    assert _keys(named) == _keys(outer)
    assert abs(wheel.weight.solid_gap) < 1e-3


def test_each_zone_weighs_its_own_density(wheel):
    """Mass and inertia are sums over zones of volume times the alloy's density."""
    mesh, count = wheel.mesh, wheel.cyclic.count
    total = np.zeros((3, 3))
    for zone, members in mesh.zones.items():
        part = bulk(
            replace(mesh, cells=mesh.cells[members]), wheel.alloy_of(zone).density
        )
        assert_allclose(wheel.weight.zones[zone], part.mass * count, rtol=1e-12)
        total += part.inertia * count
    assert_allclose(sum(wheel.weight.zones.values()), wheel.weight.mass, rtol=1e-12)
    assert_allclose(wheel.weight.polar, total[2, 2], rtol=1e-12)


def test_centrifugal_force_of_each_zone_is_its_mass_times_radius(wheel):
    """Radial nodal forces sum to spin^2 times the first radial moment of mass, by zone.

    Closed form of the load: f = rho w^2 r; the sum over a sector is that of the bulk's
    first moment, here along x after the sector's own centre of mass.
    """
    spin, mesh = 100.0, wheel.mesh
    forces = centrifugal_forces(wheel, spin).sum(axis=0)
    expected = np.zeros(3)
    for zone, members in mesh.zones.items():
        part = bulk(
            replace(mesh, cells=mesh.cells[members]), wheel.alloy_of(zone).density
        )
        expected += part.mass * part.centre * np.array([1.0, 1.0, 0.0]) * spin**2
    assert_allclose(forces, expected, rtol=1e-9, atol=1e-9 * np.abs(expected).max())


def test_alloy_follows_the_cell_not_the_surface(wheel):
    """Surface points of rim cells alone count to the rim, those on the line do not."""
    surface = outer_surface(wheel)
    rim = in_rim(wheel, surface)
    cells, zones = wheel.mesh.cells, wheel.mesh.zones
    disc_points = np.unique(cells[zones["disc"]])
    assert not np.isin(surface.nodes[rim], disc_points).any()
    assert np.isin(surface.nodes[~rim], disc_points).all()


def test_flow_formed_zones_agree_with_the_rims_surfaces():
    """The line leaves the outline where the rim's surfaces begin."""
    wheel = build_wheel(DIVIDED["flow-formed"])
    surface = outer_surface(wheel)
    assert np.array_equal(in_rim(wheel, surface), surface.on(RIM_SURFACES))


def test_a_wheel_of_one_metal_is_one_zone():
    """No line is drawn where the rim's alloy is that of the disc."""
    for design in (varied(), varied(rim_alloy=varied().material.alloy)):
        assert draw_wheel(design).drawing.divide is None
    wheel = build_wheel(varied())
    assert list(wheel.mesh.zones) == ["wheel"]
    assert not wheel.mesh.interfaces
    assert_allclose(wheel.weight.zones["wheel"], wheel.weight.mass, rtol=1e-12)


@pytest.mark.parametrize(
    ("rim", "word"),
    [
        ({"construction": "two-piece"}, "needs the radius"),
        ({"joint_radius_mm": 170.0}, "belong to two-piece"),
        ({**TWO_PIECE, "joint_radius_mm": 290.0}, "misses the straight"),
        ({**TWO_PIECE, "joint_leg_mm": 40.0}, "as deep as the spokes"),
        ({**TWO_PIECE, "joint_radius_mm": 87.0}, "misses|grazes"),
    ],
)
def test_a_joint_without_a_place_is_a_fault_of_the_design(rim, word):
    """Each wrong joint is refused before meshing, with a way out."""
    faults = find_faults(varied(rim))
    assert len(faults) == 1
    assert faults[0].key.startswith("rim.")
    assert faults[0].remedy
    assert re.search(word, faults[0].limit)


def test_a_two_piece_wheel_says_what_is_not_modelled():
    """The report's note names bolts and weld; a one-piece wheel has none."""
    (note,) = zone_notes(DIVIDED["two-piece"])
    assert "bolts or weld" in note
    assert "bonded" in note
    assert zone_notes(DIVIDED["flow-formed"]) == ()


def test_unlike_alloys_are_too_alike_for_a_singular_joint():
    """No pair of alloys has a Dundurs parameter above 0.05.

    At the free edge of a bonded joint of right angles, stress is singular to an order
    that grows with the square of the contrast (Bogy, J. Appl. Mech. 38 (1971) 377-386,
    from memory); below 0.05 it is under 0.005 and no mesh would show it, so no rule
    leaves the joint's edge out.  An alloy that breaks this asks for such a rule.
    """
    moduli = [alloy.youngs_modulus for alloy in read_alloys().values()]
    low, high = min(moduli), max(moduli)
    assert (high - low) / (high + low) < 0.05


def test_the_outline_of_a_joint_keeps_its_shape():
    """Corners added for the joint change neither area nor moment of the section."""
    design = DIVIDED["two-piece"]
    plain = draw_profile(design)
    split, divide = divide_section(design, plain)
    assert divide is not None
    assert len(split.curves) == len(plain.curves) + 2
    assert_allclose(
        area_and_moment(split.curves), area_and_moment(plain.curves), rtol=1e-12
    )
