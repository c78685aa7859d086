"""A wheel from elsewhere: identified by its boundary, or refused with the reason."""

from pathlib import Path

import meshio
import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import DesignError, InputError
from spokecheck.fem.whole import copied_round
from spokecheck.mesh.files import MeshFile, write_mesh
from spokecheck.mesh.record import TET_EDGES
from spokecheck.mesh.soundness import make_sound, raised
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.source import read_source
from spokecheck.wheel.tables.sidecar import MeshTable
from spokecheck.wheel.tables.surface_names import NAMEABLE

ASPEN = Path("meshes/designs/aspen-cast-5.toml")
SIDECAR = Path("meshes/elsewhere/aspen.step.toml").read_text(encoding="utf-8")
SURFACES = tuple(name for name in NAMEABLE if name != "bolt seat")


@pytest.fixture(scope="module")
def drawn():
    """The five-spoke example, drawn and meshed."""
    return build_wheel(read_design(ASPEN))


@pytest.fixture(scope="module")
def whole(drawn):
    """Its whole mesh."""
    return copied_round(drawn.mesh, drawn.cyclic).mesh


def identified(folder, points, cells, text=SIDECAR):
    """Wheel of a mesh without names, through files as a user would."""
    kind = {4: "tetra", 8: "hexahedron", 10: "tetra10"}[cells.shape[1]]
    file = folder / "wheel.vtu"
    meshio.write(file, meshio.Mesh(points, [(kind, cells)]))
    sidecar = folder / "wheel.vtu.toml"
    sidecar.write_text(text, encoding="utf-8")
    return read_source(sidecar).build(Fineness())


def areas(wheel):
    """Found area of each surface the tests need."""
    return {actual.name: actual.area for actual in wheel.origin.surfaces}


@pytest.fixture(scope="module")
def actual(whole, tmp_path_factory):
    """The same wheel, identified by shape alone."""
    return identified(tmp_path_factory.mktemp("actual"), whole.points, whole.cells)


def test_the_shape_alone_gives_the_drawn_surfaces(drawn, actual):
    """Every facet of a drawn seat, bead side and attachment face is found again.

    The heel's roundings and the well's corners have no sharp border, so a tenth of the
    flat parts' area is allowed; the attachment face is exact.
    """
    assert {one.name for one in actual.origin.surfaces} == set(SURFACES)
    message = areas(actual)
    for name in SURFACES[:-1]:
        names = [name] if name != "rim well" else [name, "rim well corner"]
        faces = drawn.mesh.faces(names)
        a, b, c = np.moveaxis(drawn.mesh.points[faces[:, :3]], 1, 0)
        area = 2.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()
        assert_allclose(message[name], area, rtol=1e-9 if name[0] == "a" else 0.1)


def test_the_boundary_is_named_completely(actual, whole):
    """The named surfaces are the whole boundary, each face once."""
    faces = np.concatenate(list(actual.mesh.surfaces.values()))
    reference = np.concatenate(list(whole.surfaces.values()))
    assert len(faces) == len(reference)
    assert len(np.unique(np.sort(faces[:, :3], axis=1), axis=0)) == len(faces)


def test_mass_and_landmarks_are_those_of_the_drawing(drawn, actual):
    """The same mesh weighs the same, and the disc lies where it was drawn."""
    assert_allclose(actual.weight.mass, drawn.weight.mass, rtol=1e-9)
    assert actual.landmarks.seat_radius == drawn.landmarks.seat_radius
    r, z = 140.0, 70.0
    assert_allclose(
        actual.landmarks.through(r, z), drawn.landmarks.through(r, z), atol=0.25
    )


def test_a_turned_shifted_mesh_in_metres_is_the_same_wheel(actual, whole, tmp_path):
    """Unit, centre and direction of the sidecar bring the mesh into our frame."""
    direction = np.array([2.0, -1.0, 0.5])
    table = MeshTable(
        unit_mm=1000.0, centre=(1.0, 2.0, 3.0), direction=tuple(direction)
    )
    text = SIDECAR.replace(
        "[mesh]\n",
        "[mesh]\nunit_mm = 1000\ncentre = [1, 2, 3]\ndirection = [2, -1, 0.5]\n",
    )
    moved = identified(tmp_path, table.from_frame(whole.points), whole.cells, text)
    assert_allclose(moved.mesh.points, actual.mesh.points, atol=1e-9)
    assert_allclose(
        list(areas(moved).values()), list(areas(actual).values()), rtol=1e-9
    )


def test_first_order_cells_are_raised(whole, tmp_path):
    """Four-node cells get mid-side points on their straight edges, and are a wheel."""
    used, cells = np.unique(whole.cells[:, :4], return_inverse=True)
    points = whole.points[used]
    wheel = identified(tmp_path, points, cells.reshape(-1, 4))
    assert wheel.mesh.cells.shape == whole.cells.shape
    mids, ends = wheel.mesh.cells[:, 4:], wheel.mesh.cells[:, TET_EDGES]
    middles = wheel.mesh.points[ends].mean(axis=2)
    assert_allclose(wheel.mesh.points[mids], middles, atol=1e-12)


def test_raised_cells_share_their_mid_side_points():
    """Two cells with a common face have 14 points, not 20."""
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 1]], float)
    more, cells = raised(points, np.array([[0, 1, 2, 3], [1, 2, 3, 4]]))
    assert len(more) == 5 + 9
    assert len(np.unique(cells)) == 14


def test_left_handed_cells_are_turned(whole):
    """Cells numbered the other way round give the same body."""
    wrong = whole.cells[:, [1, 0, 2, 3, 4, 6, 5, 8, 7, 9]]
    sound = make_sound(MeshFile(whole.points, wrong))
    assert np.array_equal(sound.mesh.cells, whole.cells)


def test_names_in_the_file_are_taken(drawn, whole, tmp_path):
    """A file with our names gives the very surfaces it was written with."""
    file = write_mesh(tmp_path / "wheel.vtk", whole)
    sidecar = tmp_path / "wheel.vtk.toml"
    sidecar.write_text(SIDECAR, encoding="utf-8")
    wheel = read_source(sidecar).build(Fineness())
    assert wheel.mesh.surfaces.keys() == whole.surfaces.keys()
    assert all("named" in one.how for one in wheel.origin.surfaces)
    for name, faces in whole.surfaces.items():
        assert len(wheel.mesh.surfaces[name]) == len(faces)
    assert wheel.origin.file == file.name
    assert len(wheel.origin.sha256) == 64


def test_bolt_seats_are_found_wherever_the_bolts_are(drawn, whole, tmp_path):
    """With a torque, the cones of all bolts are found, whatever their angle.

    Coarse facets of the rounding above a cone lean like it: a tenth is allowed.
    """
    text = SIDECAR.replace(
        "[duty]\n", "[duty]\nbolt_torque_nm = 120\nbolt_thread_mm = 14\n"
    )
    c, s = np.cos(0.3), np.sin(0.3)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    wheel = identified(tmp_path, whole.points @ turn.T, whole.cells, text)
    corners = whole.points[whole.surfaces["bolt seat"][:, :3]]
    a, b, c = np.moveaxis(corners, 1, 0)
    area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()
    assert_allclose(areas(wheel)["bolt seat"], area, rtol=0.1)


def test_a_rim_of_another_alloy_is_a_zone(actual, whole, tmp_path):
    """Without groups the rim's zone is cut off by radius, and both zones have mass."""
    text = SIDECAR.replace(
        "[material]\n", '[material]\nrim_alloy = "a356-t6-flow-formed"\n'
    )
    wheel = identified(tmp_path, whole.points, whole.cells, text)
    assert set(wheel.weight.zones) == {"disc", "rim"}
    assert_allclose(sum(wheel.weight.zones.values()), wheel.weight.mass, rtol=1e-12)
    assert 0.3 < wheel.weight.zones["rim"] / wheel.weight.mass < 0.7


SHIFT = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 10.0]])


def tilted(degrees):
    """Rotation about x."""
    a = np.deg2rad(degrees)
    c, s = np.cos(a), np.sin(a)
    return np.array([[1, 0, 0], [0, c, -s], [0, s, c]])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda p, c: (p / 1000.0, c), r"unit_mm.*0\.2485 mm.*unit_mm = 1000 \(m\)"),
        (lambda p, c: (p / 25.4, c), r"unit_mm = 25\.4 \(inch\)"),
        (lambda p, c: (p + SHIFT[0], c), r"mesh.centre.*1\.00 mm off.*\[1\.0, 0"),
        (lambda p, c: (p @ tilted(3.0).T, c), r"mesh.direction.*lies 3 deg off"),
        (lambda p, c: (p @ tilted(180.0).T, c), "attachment face.*turn it round"),
        (lambda p, c: (p + SHIFT[1], c), r"bead side = 0 mm2.*z = 52 mm"),
        (lambda p, c: (p, c[p[c[:, :4]].mean(axis=1)[:, 0] > 0.0]), "faults? in"),
        (lambda p, c: (p, np.vstack([c, c[:1]])), "cells overlap"),
        (
            lambda p, c: (np.vstack([p, p + 600.0]), np.vstack([c, c + len(p)])),
            "bodies = 2: are not joined",
        ),
        (
            lambda p, c: (
                np.vstack([p, p]),
                np.where((p[c[:, :4]].mean(axis=1)[:, :1] > 0), c, c + len(p)),
            ),
            "open along a crack.*merge",
        ),
    ],
    ids=[
        "metres",
        "inches",
        "off the axle",
        "tilted",
        "face inboard",
        "shifted",
        "half",
        "twice",
        "two",
        "cracked",
    ],
)
def test_what_is_wrong_is_reported_with_numbers(whole, tmp_path, change, said):
    """Each fault names the key, the value found, the limit and what to do."""
    points, cells = change(whole.points, whole.cells)
    with pytest.raises(DesignError, match=f"(?s){said}"):
        identified(tmp_path, points, cells)


def test_surfaces_found_by_shape_are_near_the_area_expected(actual):
    """All within a fifth but the seat that ends at a hump: 57 %.  No remark is made."""
    shares = {one.name: one.share for one in actual.origin.surfaces}
    assert_allclose(shares.pop("bead seat outboard"), 0.57, atol=0.03)
    assert_allclose(list(shares.values()), 1.0, atol=0.2)
    assert not any("identified by shape" in remark for remark in actual.remarks)
    assert all("% of that is taken" in one.how for one in actual.origin.surfaces)


def test_an_unexpected_area_is_remarked_on(actual, whole, tmp_path):
    """With a pad of 210 mm for 150, less than half of the area expected is found.

    By hand: pi (105^2 - 33.3^2 - 5 * 7.5^2) mm2 are expected.
    """
    text = SIDECAR.replace("pad_diameter_mm = 150", "pad_diameter_mm = 210")
    wheel = identified(tmp_path, whole.points, whole.cells, text)
    (remark,) = [one for one in wheel.remarks if "attachment" in one]
    expected = np.pi * (105.0**2 - 33.3**2 - 5 * 7.5**2)
    share = areas(actual)["attachment face"] / expected
    assert f"{share:.0%} of the {expected / 100.0:.1f} cm2 expected" in remark
    assert "50% to 150%" in remark


def test_a_missing_seat_is_reported_with_what_was_looked_for(whole, tmp_path):
    """For another rim width no seat is found: place, area and width are reported."""
    text = SIDECAR.replace('"8J x 18"', '"7J x 18"')
    said = r"(?s)bead seat inboard.*5-degree taper.*r = 231\.0 mm.*expected 17\.5 mm"
    with pytest.raises(DesignError, match=said) as failure:
        identified(tmp_path, whole.points, whole.cells, text)
    assert len(failure.value.faults) >= 4


@pytest.mark.parametrize("kind", [8], ids=["hexahedra"])
def test_other_cells_are_refused(whole, tmp_path, kind):
    """Hexahedra are an input error that asks for tetrahedra."""
    with pytest.raises(InputError, match=r"hexahedron.*tetrahedra alone"):
        identified(tmp_path, whole.points, whole.cells[:5, :kind])


def test_all_faults_of_a_sidecar_come_together(tmp_path):
    """Unknown keys, ranges, surfaces and a zero direction in one message."""
    path = tmp_path / "wheel.vtu.toml"
    text = SIDECAR.replace("rating_kg = 620", "rating_kg = 62")
    text = text.replace("bore_mm", "boer_mm")
    text = text.replace("[mesh]\n", "[mesh]\ndirection = [0, 0, 0]\n")
    path.write_text(text + '\n[surfaces]\n"bead seats" = "x"\n', encoding="utf-8")
    with pytest.raises(DesignError) as failure:
        read_source(path)
    keys = {fault.key for fault in failure.value.faults}
    assert {"hub.boer_mm", "duty.rating_kg", "mesh.direction", "surfaces"} <= keys


def test_a_group_that_is_not_there_is_reported(whole, tmp_path):
    """A surface named by a group the file lacks is a fault that lists its groups."""
    text = SIDECAR + '\n[surfaces]\n"rim well" = "basin"\n'
    with pytest.raises(DesignError, match="rim well = basin: no such group"):
        identified(tmp_path, whole.points, whole.cells, text)


def test_sectors_must_divide_bolts_and_spokes(tmp_path):
    """Sectors that bolts or spokes do not share are refused before any work."""
    path = tmp_path / "wheel.step.toml"
    path.write_text(SIDECAR.replace("[mesh]\n", "[mesh]\nsectors = 3\n"))
    with pytest.raises(DesignError, match=r"mesh.sectors = 3: does not divide bolts"):
        read_source(path)


@pytest.mark.slow
def test_only_a_mesh_with_bowed_edges_is_refined(actual, tmp_path, whole):
    """Cells of second order are halved, those with straight edges are not.

    Of whatever order the file calls them, and however few digits it has.
    """
    corners = np.unique(whole.cells[:, :4])
    flat = whole.points.copy()
    flat[whole.cells[:, 4:]] = whole.points[whole.cells[:, TET_EDGES]].mean(axis=2)
    assert np.array_equal(flat[corners], whole.points[corners])
    for points, cells, said in (
        (whole.points, whole.cells, ""),
        (flat, whole.cells, "roundings are polygons"),
        (flat.round(2), whole.cells, "roundings are polygons"),
        (whole.points, whole.cells[:, :4], "roundings are polygons"),
    ):
        identified(tmp_path, points, cells)
        source = read_source(tmp_path / "wheel.vtu.toml")
        assert said in source.fixed
        assert bool(said) == bool(source.fixed)
        assert source.brief.name == actual.design.name


def test_a_mesh_of_one_cell_twice_is_refused():
    """Every face of it belongs to two cells: there is no boundary to load."""
    corners = 100.0 * np.vstack([np.zeros(3), np.eye(3)])
    twice = np.array([[0, 1, 2, 3], [0, 1, 2, 3]])
    sound = make_sound(MeshFile(corners, twice))
    assert sound.mesh is None
    assert [fault.limit for fault in sound.faults] == [
        "have no boundary: every face belongs to two of them"
    ]
