"""Stress at surface nodes read three ways: ``python -m tests.bench.surface_stress``.

Prints the relative error of von Mises stress at nodes of notches, root mean square and
mean in per cent, by edges on a quarter of an arc: patch recovery, the plain mean of the
cells at a node, and the stress of the surface's own faces.
Reference: the same notch on a mesh several times finer, or the closed form.
"""

import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import gmsh
import numpy as np

from spokecheck.fem.actions import pressure, traction
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.elasticity import Material
from spokecheck.fem.error import plain_stress, surface_errors
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_static
from spokecheck.fem.stress import von_mises
from spokecheck.fem.supports import fix
from spokecheck.fem.surface_stress import surface_stress, tractions_of
from spokecheck.mesh.blocks import geometric
from spokecheck.mesh.files import read_mesh_file
from spokecheck.mesh.notches import (
    Shoulder,
    plate_with_hole,
    shoulder_bar,
    shoulder_shaft,
)
from spokecheck.mesh.parts import cavity_octant
from spokecheck.mesh.record import Mesh, boundary_faces

ALUMINIUM = Material(E=70000.0, nu=0.33)
STEADY = np.zeros(1, dtype=np.int64)
NARROW, WIDE, RADIUS, SHANK, BODY = 20.0, 30.0, 8.0, 60.0, 60.0


@dataclass(frozen=True)
class Reading:
    """Von Mises stress [MPa] at the same nodes, read in different ways."""

    recovered: np.ndarray
    plain: np.ndarray
    surface: np.ndarray
    estimate: np.ndarray


def read(solution: Solution, outer: list[str], wanted: np.ndarray, p: float = 0.0):
    """Readings at some points of a mesh, on surfaces pressed by ``p`` [MPa]."""
    part, mesh = solution.body, solution.mesh
    found = surface_stress(
        mesh.points, mesh.cells, mesh.faces(outer), part.elastic.lame
    )
    u = solution.u[None].astype(complex)
    everywhere = np.arange(len(found.faces))
    loads = tractions_of(mesh.points, found, [[(everywhere, lambda x, n: -p * n)]])
    stress = found.at_nodes(u, STEADY, loads)
    plain = plain_stress(mesh, part.elastic.lame, u, found.nodes, (Cyclic(), STEADY))
    at = np.searchsorted(found.nodes, wanted)
    return Reading(
        von_mises(solution.recovered_stress[wanted]),
        von_mises(plain[0, at].real),
        von_mises(stress[0, at].real),
        surface_errors(found.faces, stress, plain, at),
    )


def free_shaft(edges: int) -> Mesh:
    """Quarter of the shoulder shaft on a free mesh."""
    gmsh.initialize()
    gmsh.option.setNumber("General.Terminal", 0)
    occ = gmsh.model.occ
    places = [
        (0.0, -SHANK),
        (NARROW, -SHANK),
        (NARROW, 0.0),
        (NARROW + RADIUS, RADIUS),
        (WIDE, RADIUS),
        (WIDE, BODY),
        (0.0, BODY),
    ]
    corners = [occ.addPoint(r, 0.0, z) for r, z in places]
    centre = occ.addPoint(NARROW + RADIUS, 0.0, 0.0)
    sides = [
        occ.addCircleArc(a, centre, b) if k == 2 else occ.addLine(a, b)
        for k, (a, b) in enumerate(zip(corners, np.roll(corners, -1), strict=True))
    ]
    face = occ.addPlaneSurface([occ.addCurveLoop(sides)])
    occ.revolve([(2, face)], 0, 0, 0, 0, 0, 1, np.pi / 2)
    occ.synchronize()
    gmsh.model.addPhysicalGroup(3, [t for _, t in gmsh.model.getEntities(3)])
    fine = 0.5 * np.pi * RADIUS / edges
    field = gmsh.model.mesh.field
    at = field.add("MathEval")
    far = f"Abs(Sqrt((Sqrt(x^2+y^2)-{NARROW + RADIUS})^2+z^2)-{RADIUS})"
    field.setString(at, "F", f"Min({fine}+0.4*{far},12)")
    field.setAsBackgroundMesh(at)
    for name in ("FromPoints", "FromCurvature", "ExtendFromBoundary"):
        gmsh.option.setNumber(f"Mesh.MeshSize{name}", 0)
    gmsh.option.setNumber("Mesh.Algorithm3D", 10)
    gmsh.model.mesh.generate(3)
    gmsh.model.mesh.setOrder(2)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shaft.msh"
        gmsh.write(str(path))
        gmsh.finalize()
        raw = read_mesh_file(path)
    return named(Mesh(raw.points, raw.cells))


def named(mesh: Mesh) -> Mesh:
    """The shaft's surfaces by where they lie."""
    faces = boundary_faces(mesh.cells)
    x = mesh.points[faces]
    rest = np.ones(len(faces), dtype=bool)
    surfaces = {}
    ring = np.hypot(np.hypot(x[..., 0], x[..., 1]) - NARROW - RADIUS, x[..., 2])
    for name, there in {
        "x0": np.abs(x[..., 0]) < 1e-6,
        "y0": np.abs(x[..., 1]) < 1e-6,
        "start": np.abs(x[..., 2] + SHANK) < 1e-6,
        "end": np.abs(x[..., 2] - BODY) < 1e-6,
        "fillet": np.abs(ring - RADIUS) < 1e-6,
    }.items():
        mine = there.all(axis=1) & rest
        surfaces[name] = faces[mine]
        rest &= ~mine
    return Mesh(mesh.points, mesh.cells, {**surfaces, "skin": faces[rest]})


def solve_shaft(mesh: Mesh, twisted: bool) -> Solution:
    """Quarter shaft in tension of 100 MPa, or in torsion of 100 MPa at the skin."""

    def twist(x: np.ndarray) -> np.ndarray:
        return 100.0 / NARROW * np.column_stack([-x[:, 1], x[:, 0], 0.0 * x[:, 2]])

    if twisted:
        supports = [fix("x0", "yz"), fix("y0", "xz"), fix("end", "xy")]
        return solve_static(mesh, ALUMINIUM, supports, [traction("start", twist)])
    supports = [fix("x0", "x"), fix("y0", "y"), fix("end", "z")]
    load = [traction("start", (0.0, 0.0, -100.0))]
    return solve_static(mesh, ALUMINIUM, supports, load)


def angle(x: np.ndarray) -> np.ndarray:
    """Position on the shaft's fillet [deg], from the narrow end."""
    out = NARROW + RADIUS - np.hypot(x[:, 0], x[:, 1])
    return np.rad2deg(np.arctan2(x[:, 2], out))


def shaft_reference(twisted: bool) -> Callable[[np.ndarray], np.ndarray]:
    """Von Mises stress [MPa] on the fillet by position, from a mesh of 16 edges."""
    s = Shoulder(NARROW, WIDE, RADIUS, SHANK, BODY, 8, 8)
    mesh = shoulder_shaft(s, 3)
    solution = solve_shaft(mesh, twisted)
    nodes = mesh.nodes("fillet")
    outer = ["fillet", *(k for k in mesh.surfaces if k == "skin")]
    value = read(solution, outer, nodes).surface
    at = np.round(angle(mesh.points[nodes]), 3)
    places, which = np.unique(at, return_inverse=True)
    mean = np.bincount(which, value) / np.bincount(which)

    def reference(x: np.ndarray) -> np.ndarray:
        return np.interp(angle(x), places, mean)

    return reference


def shafts(twisted: bool) -> Iterator[tuple[int, Reading, np.ndarray]]:
    reference = shaft_reference(twisted)
    for edges in (2, 3, 4, 6, 8):
        mesh = free_shaft(edges)
        nodes = mesh.nodes("fillet")
        found = read(solve_shaft(mesh, twisted), ["fillet", "skin"], nodes)
        yield edges, found, reference(mesh.points[nodes])


def spheres() -> Iterator[tuple[int, Reading, np.ndarray]]:
    """Thick sphere under pressure inside, cells by edges a quarter arc: Lamé."""
    a, b, p = 50.0, 100.0, 60.0
    exact = 1.5 * p * b**3 / (b**3 - a**3)
    for side in (1, 2, 4):
        mesh = cavity_octant(a, b, (side, geometric(2 * side, 2.0)))
        supports = [fix("x0", "x"), fix("y0", "y"), fix("z0", "z")]
        found = solve_static(mesh, ALUMINIUM, supports, [pressure("cavity", p)])
        nodes = mesh.nodes("cavity")
        yield 2 * side, read(found, ["cavity"], nodes, p), np.full(len(nodes), exact)


def bars() -> Iterator[tuple[int, Reading, np.ndarray]]:
    """Shoulder bar of one layer in tension, against a mesh of 24 edges."""

    def solved(eighth: int) -> tuple[Mesh, Solution]:
        s = Shoulder(20.0, 30.0, 5.0, 60.0, 60.0, eighth, eighth)
        mesh = shoulder_bar(s, 2.5)
        supports = [
            fix("end", "x"),
            fix("axis", "y"),
            fix("bottom", "z"),
            fix("top", "z"),
        ]
        load = [traction("start", (-100.0, 0.0, 0.0))]
        return mesh, solve_static(mesh, ALUMINIUM, supports, load)

    def place(x: np.ndarray) -> np.ndarray:
        return np.arctan2(x[:, 0], 25.0 - x[:, 1])

    yield from against_finer(solved, place, "fillet", (2, 4), 12)


def holes() -> Iterator[tuple[int, Reading, np.ndarray]]:
    """Hole in a strip of one layer in tension, against a mesh of 32 edges."""

    def solved(eighth: int) -> tuple[Mesh, Solution]:
        mesh = plate_with_hole(10.0, 40.0, 80.0, 5.0, (eighth, 2 * eighth, 1))
        supports = [fix("x0", "x"), fix("y0", "y"), fix("bottom", "z"), fix("top", "z")]
        load = [traction("right", (100.0, 0.0, 0.0))]
        return mesh, solve_static(mesh, ALUMINIUM, supports, load)

    def place(x: np.ndarray) -> np.ndarray:
        return np.arctan2(x[:, 0], x[:, 1])

    yield from against_finer(solved, place, "hole", (2, 4), 16)


def against_finer(solved, place, name, coarse, fine):
    """Readings on coarse meshes of a plane notch beside those on a fine one."""
    mesh, solution = solved(fine)
    nodes = mesh.nodes(name)
    value = read(solution, [name], nodes).surface
    at, which = np.unique(np.round(place(mesh.points[nodes]), 6), return_inverse=True)
    mean = np.bincount(which, value) / np.bincount(which)
    for eighth in coarse:
        mesh, solution = solved(eighth)
        nodes = mesh.nodes(name)
        exact = np.interp(place(mesh.points[nodes]), at, mean)
        yield 2 * eighth, read(solution, [name], nodes), exact


BEDS = {
    "shaft, tension": lambda: shafts(False),
    "shaft, torsion": lambda: shafts(True),
    "shoulder bar": bars,
    "hole": holes,
    "pressed sphere": spheres,
}


def main() -> None:
    """Print the table, and how often the estimate covers the error."""
    print("| bed | edges | recovered | plain | surface | peak rec. | peak surface |")
    print("|---|---|---|---|---|---|---|")
    ratios = []
    for bed, readings in BEDS.items():
        for edges, r, exact in readings():
            hot = exact > 0.5 * exact.max()
            row = [bed, str(edges)]
            for value in (r.recovered, r.plain, r.surface):
                e = 100.0 * (value[hot] / exact[hot] - 1.0)
                row.append(f"{np.sqrt((e**2).mean()):.1f} ({e.mean():+.1f})")
            for value in (r.recovered, r.surface):
                row.append(f"{100.0 * (value.max() / exact.max() - 1.0):+.1f}")
            print("|", " | ".join(row), "|")
            true = np.abs(r.surface[hot] / exact[hot] - 1.0)
            ratios.append(true / np.maximum(r.estimate[hot], 1e-12))
    all_ratios = np.concatenate(ratios)
    print("\ntrue error over estimate, 50, 90, 95, 99, 100 % of the nodes:")
    print(np.round(np.percentile(all_ratios, [50, 90, 95, 99, 100]), 2).tolist())


if __name__ == "__main__":
    main()
