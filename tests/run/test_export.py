"""A wheel written in open formats: complete, named, whole or not there."""

import re
from pathlib import Path

import gmsh
import numpy as np
import pytest
from numpy.testing import assert_allclose
from typer.testing import CliRunner

from spokecheck.cli import app
from spokecheck.errors import InputError
from spokecheck.mesh.files import FORMATS, key, read_mesh_file, write_mesh
from spokecheck.mesh.record import Mesh, boundary_faces
from spokecheck.mesh.soundness import raised
from spokecheck.run.export import MSH, export_design, whole_mesh
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.tables.design import Design

ASPEN = Path("meshes/designs/aspen-cast-5.toml")
MESHES = (MSH, *FORMATS)


@pytest.fixture(scope="module")
def design():
    """The five-spoke example."""
    return read_design(ASPEN)


@pytest.fixture(scope="module")
def mesh(design):
    """Its whole mesh."""
    return whole_mesh(design)


@pytest.fixture(scope="module")
def folder(design, tmp_path_factory):
    """All formats of it."""
    folder = tmp_path_factory.mktemp("export")
    files = [folder / f"wheel{suffix}" for suffix in (".step", *MESHES)]
    assert export_design(design, files) == files
    assert sorted(path.name for path in folder.iterdir()) == sorted(
        file.name for file in files
    )
    return folder


def test_step_holds_the_whole_wheel(design, folder):
    """Opened again, the STEP file is one solid of N times the sector's volume.

    1e-6 is what the writer's and the reader's tolerances leave of the seams.
    """
    wheel = build_wheel(design)
    mesh = whole_mesh(design)
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        found = gmsh.model.occ.importShapes(str(folder / "wheel.step"))
        volume = gmsh.model.occ.getMass(*found[0])
    finally:
        gmsh.finalize()
    assert [dim for dim, _ in found] == [3]
    sector = wheel.weight.mass / wheel.alloy.density / wheel.cyclic.count
    solid = sector / (1.0 + wheel.weight.solid_gap)
    assert_allclose(volume, wheel.cyclic.count * solid, rtol=1e-6)
    assert mesh.n_cells == wheel.cyclic.count * wheel.mesh.n_cells


@pytest.mark.parametrize("suffix", MESHES)
def test_every_format_gives_the_mesh_back(mesh, folder, suffix):
    """Points to the digits written, and all second-order cells in our node order."""
    found = read_mesh_file(folder / f"wheel{suffix}")
    assert_allclose(found.points, mesh.points, atol=1e-9)
    assert np.array_equal(found.cells, mesh.cells)


@pytest.mark.parametrize("suffix", MESHES)
def test_named_surfaces_come_back(mesh, folder, suffix):
    """Formats that carry names give every surface back with its own triangles."""
    found = read_mesh_file(folder / f"wheel{suffix}")
    assert {key(name) for name in found.faces} == {key(name) for name in mesh.surfaces}
    for name, faces in mesh.surfaces.items():
        known = next(f for other, f in found.faces.items() if key(other) == key(name))
        assert np.array_equal(known, faces[:, :3])


@pytest.fixture(scope="module")
def two_zones(tmp_path_factory):
    """A wheel with a rim of its own alloy, and its files."""
    table = read_design(ASPEN).model_dump()
    table["material"]["rim_alloy"] = "a356-t6-flow-formed"
    divided = Design(**table)
    folder = tmp_path_factory.mktemp("zones")
    export_design(divided, [folder / f"wheel{suffix}" for suffix in MESHES])
    return build_wheel(divided), folder


@pytest.mark.parametrize("suffix", MESHES)
def test_the_boundary_of_two_zones_comes_back(suffix, two_zones):
    """A rim of its own alloy: zones and the surface between them keep their names,
    and that surface lies inside, between cells of the one and of the other.
    """
    wheel, folder = two_zones
    (name,) = wheel.mesh.interfaces
    path = folder / f"wheel{suffix}"
    found = read_mesh_file(path)
    zones, faces = (
        {key(word): rows for word, rows in some.items()}
        for some in (found.zones, found.faces)
    )
    count = wheel.cyclic.count
    assert {word: len(rows) for word, rows in zones.items()} == {
        zone: count * len(cells) for zone, cells in wheel.mesh.zones.items()
    }
    between = faces[key(name)]
    assert len(between) == count * len(wheel.mesh.interfaces[name])
    sides = (
        {tuple(f) for f in np.sort(boundary_faces(found.cells[rows])[:, :3], axis=1)}
        for rows in zones.values()
    )
    assert {tuple(f) for f in np.sort(between, axis=1)} == set.intersection(*sides)


@pytest.mark.parametrize("suffix", [".step", *MESHES])
def test_no_program_signs_a_file(folder, suffix):
    """No library's name stands in a file, but where STEP's header asks for the writer.

    ISO 10303-21, FILE_NAME: the fifth entry is the preprocessor. Binary data may spell
    anything, so only the first 2000 bytes of the other files count.
    """
    content = (folder / f"wheel{suffix}").read_bytes()
    text = content if suffix == ".step" else content[:2000]
    signed = re.findall(rb"(?i)open ?cascade[^']*|gmsh|meshio", text)
    if suffix == ".step":
        (writer,) = signed
        assert re.search(
            rb"FILE_NAME\('wheel','[\dT:+-]+',\(''\),\(''\),'"
            + re.escape(writer)
            + rb"','spokecheck',''\);",
            text,
        )
    else:
        assert signed == []


def test_unknown_suffixes_are_refused_before_any_work(tmp_path):
    """The message names the files and the suffixes there are; nothing is written."""
    files = [str(tmp_path / name) for name in ("a.step", "b.xyz", "c")]
    done = CliRunner().invoke(app, ["export", str(ASPEN), *files])
    assert done.exit_code == 2
    assert "b.xyz" in done.stderr
    assert ".vtu" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_failed_write_leaves_the_old_file(design, tmp_path, monkeypatch):
    """A kernel that fails costs the new file, not the one that is there."""
    target = tmp_path / "wheel.step"
    target.write_text("old")
    monkeypatch.setattr(
        "spokecheck.run.export.ask_kernel", lambda task, kind: "no kernel"
    )
    with pytest.raises(Exception, match="Aspen 5: no kernel"):
        export_design(design, [target])
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["wheel.step"]


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("none.vtu", None, "no such file"),
        ("noise.vtu", "not a mesh", "cannot be read as a mesh"),
        ("noise.msh", "not a mesh", "cannot be read as a mesh"),
        ("noise.txt", "not a mesh", "cannot be read as a mesh"),
        ("shell.off", "OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n", "shell"),
    ],
)
def test_what_is_no_mesh_is_told(tmp_path, capsys, name, text, said):
    """Missing files, noise and shells are input errors that name the file."""
    path = tmp_path / name
    if text is not None:
        path.write_text(text)
    with pytest.raises(InputError, match=f"{name}.*{said}"):
        read_mesh_file(path)
    assert capsys.readouterr() == ("", "")


def test_a_coordinate_of_no_wheel_is_refused(tmp_path):
    """Beyond 1e9 in whatever unit nothing can be reckoned with."""
    corners = np.vstack([np.zeros(3), np.eye(3)])
    points, cells = raised(1e200 * corners, np.array([[0, 1, 2, 3]]))
    path = write_mesh(tmp_path / "far.vtu", Mesh(points, cells))
    with pytest.raises(InputError, match="a coordinate is 1e\\+200, limit 1e\\+09"):
        read_mesh_file(path)
