"""The home of gmsh: solid from the drawn shape, mesh from the solid.

The CAD kernel revolves the filleted section and cuts prisms and cutters out of it;
it never rounds an edge itself.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import gmsh
import numpy as np

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.mesh.record import Mesh, boundary_faces
from spokecheck.units import FloatArray, IntArray
from spokecheck.wheel.bolts import CLEARANCE
from spokecheck.wheel.curves import Curve, Line
from spokecheck.wheel.shape import WheelShape
from spokecheck.wheel.sizing import Fineness, Refinement, edge_lengths
from spokecheck.wheel.surfaces import CUT_HIGH, CUT_LOW, drawn_surfaces, name_face

GMSH_TO_TET10: IntArray = np.array([0, 1, 2, 3, 4, 5, 6, 7, 9, 8])
TET10, TRI6 = 11, 9
HXT = 10
"""gmsh's parallel Delaunay mesher; on wheels it leaves far fewer slivers than the
default one (least radius ratio 0.19 against 0.006 on a five-spoke sector)."""

Tag = tuple[int, int]


@dataclass(frozen=True)
class RawMesh:
    """What gmsh gives back: a mesh with named surfaces and the pairs of its cuts."""

    mesh: Mesh
    cyclic: Cyclic
    solid_volume: float


@contextmanager
def _session() -> Iterator[None]:
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("General.NumThreads", 1)
        yield
    finally:
        gmsh.finalize()


def mesh_shape(
    shape: WheelShape, fineness: Fineness, refinements: Sequence[Refinement] = ()
) -> RawMesh:
    """Mesh one sector of a wheel, or the whole wheel where N is 1.

    Parameters
    ----------
    shape : WheelShape
        Drawn wheel.
    fineness : Fineness
        How fine to mesh.
    refinements : sequence of Refinement
        Where to mesh finer still.

    Returns
    -------
    RawMesh
        Second-order tetrahedra with mid-side nodes on the true surface.

    Raises
    ------
    MeshError
        If the CAD kernel or the mesher fails.
    """
    try:
        with _session():
            volume = _build_solid(shape)
            names = _name_faces(shape)
            _tie_cuts(shape, names)
            sizes = edge_lengths(shape, fineness)
            parts = _surface_sizes(sizes, names, fineness)
            parts += _ball_sizes(shape, refinements, fineness)
            _generate(parts, fineness.largest)
            return _read_mesh(shape, names, volume)
    except MeshError:
        raise
    except Exception as failure:  # gmsh raises plain Exception
        d = shape.design
        raise MeshError(
            f"{d.name}: the mesher gave up ({failure}); {d.spokes.count} spokes, "
            f"windows {shape.window.inner:.1f} to {shape.window.outer:.1f} mm, corner "
            f"{d.spokes.window_corner_mm:g} mm, hub fillet {d.hub.fillet_mm:g} mm, rim "
            f"fillet {d.spokes.rim_fillet_mm:g} mm: vary one of these slightly"
        ) from failure


def _outline(curves: Sequence[Curve], place: "Placement") -> int:
    """Plane face bounded by a closed outline."""
    occ = gmsh.model.occ
    starts = [occ.addPoint(*place(curve.start)) for curve in curves]
    tags = []
    for k, curve in enumerate(curves):
        ends = starts[k], starts[(k + 1) % len(curves)]
        if isinstance(curve, Line):
            tags.append(occ.addLine(*ends))
        else:
            centre = occ.addPoint(*place(curve.centre))
            tags.append(occ.addCircleArc(ends[0], centre, ends[1]))
            occ.remove([(0, centre)])
    return int(occ.addPlaneSurface([occ.addCurveLoop(tags)]))


@dataclass(frozen=True)
class Placement:
    """From drawing plane to space: ``origin + u first + v second``."""

    origin: FloatArray
    first: FloatArray
    second: FloatArray

    def __call__(self, uv: tuple[float, float]) -> tuple[float, float, float]:
        """Place a point of the drawing plane."""
        x, y, z = self.origin + uv[0] * self.first + uv[1] * self.second
        return float(x), float(y), float(z)


def _build_solid(shape: WheelShape) -> float:
    """Build the solid in gmsh; return its volume [mm^3]."""
    occ = gmsh.model.occ
    low, span = shape.low_angle, 2.0 * np.pi / shape.count
    up = np.array([0.0, 0.0, 1.0])
    out = np.array([np.cos(low), np.sin(low), 0.0])
    section = _outline(shape.profile.curves, Placement(np.zeros(3), out, up))
    revolved = occ.revolve([(2, section)], 0, 0, 0, 0, 0, 1, span)
    body = [tag for tag in revolved if tag[0] == 3]
    tools = _window_tools(shape) + _bolt_tools(shape)
    solids, _ = occ.cut(body, tools)
    occ.synchronize()
    if len(solids) != 1:
        raise MeshError(
            f"{shape.design.name}: cutting windows and bolt holes left {len(solids)} "
            "bodies, one is needed; move the windows away from rim and hub"
        )
    _remove_sketches(solids)
    return float(occ.getMass(*solids[0]))


def _remove_sketches(solids: list[Tag]) -> None:
    """Remove drawing faces that a full revolution leaves behind."""
    kept = set(gmsh.model.getBoundary(solids, oriented=False))
    spare = [tag for tag in gmsh.model.getEntities(2) if tag not in kept]
    gmsh.model.occ.remove(spare, recursive=True)
    gmsh.model.occ.synchronize()


def _in_sector(shape: WheelShape, angle: float, half: float) -> bool:
    """Whether something that spans ``angle`` +/- ``half`` [rad] meets the sector."""
    span = 2.0 * np.pi / shape.count
    middle = shape.low_angle + span / 2.0
    off = (angle - middle + np.pi) % (2.0 * np.pi) - np.pi
    return shape.count == 1 or bool(abs(off) < span / 2.0 + half)


def _window_tools(shape: WheelShape) -> list[Tag]:
    low, high = shape.z_range
    tools = []
    for angle in shape.window.angles:
        if not _in_sector(shape, angle, np.pi / shape.design.spokes.count):
            continue
        place = Placement(
            np.array([0.0, 0.0, low - CLEARANCE]),
            np.array([np.cos(angle), np.sin(angle), 0.0]),
            np.array([-np.sin(angle), np.cos(angle), 0.0]),
        )
        face = _outline(shape.window.curves, place)
        height = high - low + 2.0 * CLEARANCE
        tools += gmsh.model.occ.extrude([(2, face)], 0, 0, height)
    return [tag for tag in tools if tag[0] == 3]


def _bolt_tools(shape: WheelShape) -> list[Tag]:
    hole, occ, tools = shape.bolt_hole, gmsh.model.occ, []
    for angle in hole.angles:
        half = np.arcsin(min(1.0, 1.2 * hole.reach / hole.circle))
        if not _in_sector(shape, angle, float(half)):
            continue
        radial = np.array([np.cos(angle), np.sin(angle), 0.0])
        axis = hole.circle * radial
        place = Placement(axis, radial, np.array([0.0, 0.0, 1.0]))
        face = _outline(hole.curves, place)
        tools += occ.revolve([(2, face)], *axis, 0, 0, 1, 2.0 * np.pi)
    return [tag for tag in tools if tag[0] == 3]


def _edge_points(face: int) -> FloatArray:
    """Points (n, 3) spread over the edges of a CAD face."""
    points = []
    for dim, tag in gmsh.model.getBoundary([(2, face)], oriented=False):
        (start,), (end,) = gmsh.model.getParametrizationBounds(dim, tag)
        t = np.linspace(start, end, 9)
        points.append(np.reshape(gmsh.model.getValue(dim, tag, t), (-1, 3)))
    return np.vstack(points)


def _name_faces(shape: WheelShape) -> dict[str, list[int]]:
    surfaces = drawn_surfaces(shape)
    names: dict[str, list[int]] = {}
    for _, face in gmsh.model.getEntities(2):
        name = name_face(shape, surfaces, _edge_points(face))
        names.setdefault(name, []).append(face)
    return names


def _tie_cuts(shape: WheelShape, names: dict[str, list[int]]) -> None:
    """Ask gmsh for equal meshes on the two cuts."""
    if shape.count == 1:
        return
    low, high = names.get(CUT_LOW, []), names.get(CUT_HIGH, [])
    R = rotation(2.0 * np.pi / shape.count)
    centre = {f: np.array(gmsh.model.occ.getCenterOfMass(2, f)) for f in low + high}
    order = []
    for face in high:
        gaps = [float(np.linalg.norm(R @ centre[f] - centre[face])) for f in low]
        if not gaps or min(gaps) > 1e-3:
            raise MeshError(
                f"{shape.design.name}: the two sector cuts differ; vary bolts.angle_deg"
            )
        order.append(low[int(np.argmin(gaps))])
    affine = np.eye(4)
    affine[:3, :3] = R
    gmsh.model.mesh.setPeriodic(2, high, order, affine.ravel().tolist())


def _surface_sizes(
    sizes: dict[str, float], names: dict[str, list[int]], fineness: Fineness
) -> list[int]:
    """Size fields of the named surfaces."""
    field, parts = gmsh.model.mesh.field, []
    for name, size in sizes.items():
        if name in names:
            part = field.add("Constant")
            field.setNumbers(part, "SurfacesList", names[name])
            field.setNumber(part, "VIn", size)
            field.setNumber(part, "VOut", fineness.largest)
            parts.append(part)
    return parts


def _ball_sizes(
    shape: WheelShape, refinements: Sequence[Refinement], fineness: Fineness
) -> list[int]:
    """Size fields of the refined balls, those of the neighbour sectors too."""
    field, parts = gmsh.model.mesh.field, []
    turns = (0,) if shape.count == 1 else (-1, 0, 1)
    for ball in refinements:
        for k in turns:
            centre = rotation(2.0 * np.pi * k / shape.count) @ np.array(ball.centre)
            part = field.add("Ball")
            for key, value in zip(
                ("XCenter", "YCenter", "ZCenter"), centre, strict=True
            ):
                field.setNumber(part, key, float(value))
            field.setNumber(part, "Radius", ball.radius)
            field.setNumber(part, "Thickness", ball.radius)
            field.setNumber(part, "VIn", ball.size)
            field.setNumber(part, "VOut", fineness.largest)
            parts.append(part)
    return parts


def _generate(parts: list[int], largest: float) -> None:
    """Mesh under the least of all size fields."""
    option, field = gmsh.option.setNumber, gmsh.model.mesh.field
    option("Mesh.MeshSizeMax", largest)
    option("Mesh.MeshSizeFromPoints", 0)
    option("Mesh.Algorithm3D", HXT)
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", parts)
    field.setAsBackgroundMesh(least)
    gmsh.model.mesh.generate(3)
    gmsh.model.mesh.setOrder(2)


def _read_mesh(
    shape: WheelShape, names: dict[str, list[int]], volume: float
) -> RawMesh:
    tags, xyz, _ = gmsh.model.mesh.getNodes()
    _, connectivity = gmsh.model.mesh.getElementsByType(TET10)
    number = np.full(int(tags.max()) + 1, -1)
    used = np.unique(connectivity.astype(np.int64))
    number[used] = np.arange(len(used))
    row = np.full(int(tags.max()) + 1, -1)
    row[tags.astype(np.int64)] = np.arange(len(tags))
    points = xyz.reshape(-1, 3)[row[used]]
    cells = number[connectivity.astype(np.int64)].reshape(-1, 10)[:, GMSH_TO_TET10]
    cells = _positive(points, cells)
    cyclic, points = _cut_pairs(shape, names, number, points)
    outer = boundary_faces(cells)
    surfaces = {
        name: _oriented(outer, number, faces) for name, faces in sorted(names.items())
    }
    return RawMesh(Mesh(points, cells, surfaces), cyclic, volume)


def _positive(points: FloatArray, cells: IntArray) -> IntArray:
    """Cells with their corners numbered so that the volume is positive."""
    edges = points[cells[:, 1:4]] - points[cells[:, :1]]
    if (np.linalg.det(edges) < 0.0).any():
        raise MeshError("gmsh numbered some cells left-handed; report this design")
    return cells


def _oriented(outer: IntArray, number: IntArray, faces: list[int]) -> IntArray:
    """TRI6 faces of CAD faces, taken from the cells' own boundary, so outward."""
    corners = []
    for face in faces:
        _, nodes = gmsh.model.mesh.getElementsByType(TRI6, face)
        corners.append(number[nodes.astype(np.int64)].reshape(-1, 6)[:, :3])
    wanted = np.sort(np.vstack(corners), axis=1)
    base = int(outer.max()) + 1
    weights = np.array([base * base, base, 1])
    keys = np.sort(outer[:, :3], axis=1) @ weights
    order = np.argsort(keys)
    at = order[np.searchsorted(keys[order], wanted @ weights)]
    return np.asarray(outer[np.sort(at)])


def _cut_pairs(
    shape: WheelShape, names: dict[str, list[int]], number: IntArray, points: FloatArray
) -> tuple[Cyclic, FloatArray]:
    """Point pairs of the two cuts; the high copy is put exactly onto the low one's."""
    if shape.count == 1:
        return Cyclic(), points
    pairs = []
    for face in names[CUT_HIGH]:
        _, here, there, _ = gmsh.model.mesh.getPeriodicNodes(2, face, True)
        pairs.append(
            np.column_stack(
                [number[there.astype(np.int64)], number[here.astype(np.int64)]]
            )
        )
    unique = np.unique(np.vstack(pairs), axis=0)
    cyclic = Cyclic(shape.count, unique)
    moved = points[unique[:, 0]] @ rotation(cyclic.alpha).T
    gap = float(np.abs(moved - points[unique[:, 1]]).max())
    if gap > 1e-6:
        raise MeshError(f"the meshes of the two sector cuts differ by {gap:.2g} mm")
    points = points.copy()
    points[unique[:, 1]] = moved
    return cyclic, points
