"""Meshes with named groups, brought in from files and kept in them."""

from dataclasses import replace

import gmsh
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import spokecheck as sc
from spokecheck.mesh.record import face_keys


def two_boxes(path, order):
    """A bar of two boxes of 5 mm side end to end, its faces and halves named."""
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        occ = gmsh.model.occ
        boxes = [(3, occ.addBox(x, 0, 0, 5, 5, 5)) for x in (0, 5)]
        occ.fragment(boxes[:1], boxes[1:])
        occ.synchronize()
        halves = sorted(
            gmsh.model.getEntities(3), key=lambda e: occ.getCenterOfMass(*e)[0]
        )
        for (_, tag), name in zip(halves, ("soft", "hard"), strict=True):
            gmsh.model.addPhysicalGroup(3, [tag], name=name)
        names = {0.0: "left end", 5.0: "joint", 10.0: "right end"}
        for dim, tag in gmsh.model.getEntities(2):
            x = occ.getCenterOfMass(dim, tag)[0]
            for place, name in names.items():
                if abs(x - place) < 1e-6:
                    gmsh.model.addPhysicalGroup(2, [tag], name=name)
        sides = [
            tag
            for dim, tag in gmsh.model.getEntities(2)
            if abs(occ.getCenterOfMass(dim, tag)[1]) < 1e-6
        ]
        gmsh.model.addPhysicalGroup(2, sides, name="front")
        gmsh.option.setNumber("Mesh.MeshSizeMax", 3.0)
        gmsh.model.mesh.generate(3)
        gmsh.model.mesh.setOrder(order)
        gmsh.write(str(path))
    finally:
        gmsh.finalize()
    return path


@pytest.mark.parametrize("order", [1, 2])
def test_physical_groups_become_surfaces_zones_and_interfaces(tmp_path, order):
    """Names, areas, and which side: a bar of two metals in series, by Hooke's law."""
    mesh = sc.read_mesh(two_boxes(tmp_path / "bar.msh", order))
    assert set(mesh.surfaces) == {"left end", "right end", "front"}
    assert set(mesh.interfaces) == {"joint"}
    assert set(mesh.zones) == {"soft", "hard"}
    assert_allclose(mesh.points[mesh.nodes("joint"), 0], 5.0)
    assert mesh.points[mesh.cells[mesh.zones["soft"]], 0].max() == pytest.approx(5.0)
    metal = sc.Material(E=70000.0, nu=0.0)
    held = [
        sc.symmetry(mesh, "left end"),
        sc.fix(sc.near((0, 0, 0)), "yz"),
        sc.fix(sc.near((0, 5, 0)), "z"),
    ]
    pull = [sc.traction("right end", (7.0, 0.0, 0.0))]
    s = sc.solve_static(mesh, metal, held, pull, {"soft": sc.Material(E=7e3, nu=0.0)})
    assert_allclose(s.stress[:, 0], 7.0, rtol=1e-9)
    stretch = 5.0 * (7.0 / 7e3 + 7.0 / 7e4)
    assert_allclose(s.mean_displacement("right end")[0], stretch, rtol=1e-9)


def test_the_unit_of_the_file_counts(tmp_path):
    """A file in metres comes in as millimetres."""
    mesh = sc.read_mesh(two_boxes(tmp_path / "bar.msh", 2), unit_mm=1000.0)
    assert_allclose(np.ptp(mesh.points, axis=0), [10e3, 5e3, 5e3])
    with pytest.raises(sc.InputError, match="unit_mm = 0 mm: must be positive"):
        sc.read_mesh(tmp_path / "bar.msh", unit_mm=0.0)


def test_a_group_on_both_sides_is_told_apart(tmp_path):
    """Of a group on the boundary and inside, what is inside has a name of its own."""
    mesh = sc.read_mesh(two_boxes(tmp_path / "bar.msh", 2))
    both = np.concatenate([mesh.surfaces["front"], mesh.interfaces["joint"]])
    path = sc.write_vtu(tmp_path / "b.vtu", replace(mesh, surfaces={"b": both}))
    back = sc.read_mesh(path)
    assert len(back.surfaces["b"]) == len(mesh.surfaces["front"])
    assert len(back.interfaces["b inside"]) == len(mesh.interfaces["joint"])


def test_vtu_keeps_all_names(tmp_path):
    """Surfaces, interfaces, zones and fields come back as they were written."""
    mesh = sc.read_mesh(two_boxes(tmp_path / "bar.msh", 2))
    heat = mesh.points[:, 0] ** 2
    path = sc.write_vtu(tmp_path / "bar.vtu", mesh, {"heat": heat})
    back, fields = sc.read_vtu(path)
    assert_allclose(fields["heat"], heat)
    assert_array_equal(back.cells, mesh.cells)
    assert set(back.named) == set(mesh.named)
    for name, faces in mesh.named.items():
        keys = (face_keys(some, mesh.n_points) for some in (faces, back.named[name]))
        assert_array_equal(*map(np.sort, keys))
        assert_array_equal(np.unique(back.named[name]), np.unique(faces))
    assert {n: list(rows) for n, rows in back.zones.items()} == {
        n: list(rows) for n, rows in mesh.zones.items()
    }


def test_faces_that_come_back_look_outward(tmp_path):
    """A pressure on a surface read from a file pushes into the body."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (2, 1, 1))
    back, _ = sc.read_vtu(sc.write_vtu(tmp_path / "bar.vtu", bar))
    push = sc.pressure("tip", 3.0).nodal(back).sum(axis=0)
    assert_allclose(push, [-24.0, 0.0, 0.0], atol=1e-9)


def test_faults_of_the_body_come_together(tmp_path):
    """Two bars that do not touch are no body."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (2, 1, 1))
    far = bar.points + np.array([30.0, 0.0, 0.0])
    cells = np.vstack([bar.cells, bar.cells + bar.n_points])
    path = sc.write_vtu(
        tmp_path / "two.vtu", sc.Mesh(np.vstack([bar.points, far]), cells)
    )
    with pytest.raises(sc.InputFileError, match=r"1 fault in the mesh\n.*bodies = 2"):
        sc.read_mesh(path)


def test_another_suffix_is_refused(tmp_path):
    """``write_vtu`` writes VTU only."""
    bar = sc.beam_block(10.0, 4.0, 2.0, (2, 1, 1))
    with pytest.raises(sc.InputError, match=r"must end in \.vtu"):
        sc.write_vtu(tmp_path / "bar.vtk", bar)
