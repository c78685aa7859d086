"""A solid from a STEP file: read, checked to be one, moved, cut to a sector, meshed.

Whether its sectors are equal is found before, by its shape; see ``symmetry``.
"""

from dataclasses import replace

import gmsh
import numpy as np

from spokecheck.errors import InputError, MeshError
from spokecheck.wheel.meshing.kernel.faces import edge_points, pair_cuts, tie_cuts
from spokecheck.wheel.meshing.kernel.readout import read_mesh
from spokecheck.wheel.meshing.kernel.size_bound import check_cells, estimate_cells
from spokecheck.wheel.meshing.kernel.size_fields import HXT, sphere_fields
from spokecheck.wheel.meshing.kernel.solid import Solid
from spokecheck.wheel.meshing.kernel.symmetry import find_symmetry
from spokecheck.wheel.meshing.kernel.task import (
    PlacedSolid,
    RawMesh,
    SolidTask,
    Symmetry,
    SymmetryTask,
)
from spokecheck.wheel.meshing.kernel.true_faces import true_faces
from spokecheck.wheel.shape.drawing import WHOLE, Drawing
from spokecheck.wheel.shape.surfaces import CUT_HIGH, CUT_LOW, cut_side

TRIED = 8
"""Directions of the cut tried within one sector; that of the least cut area is taken,
which runs through windows where it can."""


def mesh_solid(task: SolidTask, gigabytes: float = float("inf")) -> RawMesh:
    """Mesh the one solid of a STEP file, or one of its sectors.

    Raises
    ------
    InputError
        If the file cannot be read, does not hold one solid, or no sector is one body.
    MemoryLimitError
        If the mesh would need more memory than this process may take.
    """
    tag = _import(task)
    _move(task, tag)
    drawing = _sectored(task, 1, 0.0)
    names: dict[str, list[int]] = {}
    if task.sectors > 1:
        drawing, tag = _cut_sector(task, tag)
        names = _cut_faces(drawing)
        tie_cuts(drawing, names)
    volume = float(gmsh.model.occ.getMass(3, tag))
    cells = estimate_cells(volume, {}, task.largest, task.refinements)
    remedy = "check mesh.unit_mm, or mesh less fine"
    check_cells(cells, str(task.path), remedy, gigabytes)
    _generate(task, drawing)
    raw = read_mesh(drawing, names, Solid(volume, {WHOLE: [tag]}))
    return replace(raw, faces=true_faces())


def find_solid_symmetry(task: SymmetryTask) -> Symmetry:
    """Symmetry of the one solid of a STEP file about our axle.

    Raises
    ------
    InputError
        If the file cannot be read or does not hold one solid.
    """
    _move(task, _import(task))
    return find_symmetry(task.counts)


def _sectored(task: SolidTask, count: int, low: float) -> Drawing:
    """Drawing without content but its sectors, for the readout of the cuts."""
    return Drawing(
        name=task.path.name,
        section=(),
        windows=(),
        pockets=(),
        cutters=(),
        count=count,
        low_angle=low,
    )


def _import(task: PlacedSolid) -> int:
    """Tag of the one solid of the file, in mm by the unit that the file states."""
    gmsh.option.setString("Geometry.OCCTargetUnit", "MM")
    try:
        shapes = gmsh.model.occ.importShapes(str(task.path))
    except Exception as failure:  # gmsh raises plain Exception
        raise InputError(
            f"{task.path}: cannot be read as STEP ({failure}); export it again"
        ) from failure
    solids = [tag for dim, tag in shapes if dim == 3]
    if len(solids) != 1:
        raise InputError(
            f"{task.path}: holds {len(solids)} solids, one is needed; join the parts "
            "of the wheel to one solid, leave all else out, and write it as a solid, "
            "not as a surface"
        )
    return int(solids[0])


def _move(task: PlacedSolid, tag: int) -> None:
    """Put the solid into our frame; what stands there already stays untouched."""
    occ, angle = gmsh.model.occ, float(np.linalg.norm(task.turn))
    if any(task.centre):
        occ.translate([(3, tag)], *(-x for x in task.centre))
    if angle > 0.0:
        occ.rotate([(3, tag)], 0.0, 0.0, 0.0, *task.turn, angle)
    if task.unit != 1.0:
        occ.dilate([(3, tag)], 0.0, 0.0, 0.0, *(3 * [task.unit]))
    occ.synchronize()


def _cut_sector(task: SolidTask, tag: int) -> tuple[Drawing, int]:
    """Cut one sector out, where the cuts are smallest.

    Of those whose two cuts are alike, and that hold nothing to be avoided.
    """
    occ, span = gmsh.model.occ, 2.0 * np.pi / task.sectors
    cuts, refused = [], ""
    for low in _cut_angles(task):
        part = _sector(tag, low, span)
        if len(part) == 1:
            drawing = _sectored(task, task.sectors, low)
            faces = _cut_faces(drawing, part[0])
            area = sum(occ.getMass(2, face) for face in faces[CUT_LOW])
            cuts.append((area, part[0], drawing, faces))
    for _, part_tag, drawing, faces in sorted(cuts, key=lambda cut: cut[0]):
        try:
            pair_cuts(drawing, faces)
        except MeshError as failure:
            refused = f", or its cuts differ ({failure})"
            continue
        others = [(3, tag), *((3, cut[1]) for cut in cuts if cut[1] != part_tag)]
        occ.remove(others, recursive=True)
        occ.synchronize()
        return drawing, part_tag
    raise InputError(
        f"{task.path}: no sector of {360.0 / task.sectors:g} deg is one body{refused}; "
        "give mesh.sectors = 1"
    )


def _cut_angles(task: SolidTask) -> list[float]:
    """Angles [rad] at which a sector may begin, one for each direction tried."""
    span, found = 2.0 * np.pi / task.sectors, []
    for k in range(TRIED):
        lows = [span * (k / TRIED + n) for n in range(task.sectors)]
        clear = [low for low in lows if not _reaches(task, low, span)]
        found += clear[:1]
    return found


def _reaches(task: SolidTask, low: float, span: float) -> bool:
    """Whether a sector from an angle on reaches into what is to be avoided."""
    turn = 2.0 * np.pi
    return any(
        (start - low) % turn < span or (low - start) % turn < end - start
        for start, end in task.avoided
    )


def _sector(tag: int, low: float, span: float) -> list[int]:
    """Tags of what a wedge leaves of a solid."""
    occ = gmsh.model.occ
    x0, y0, z0, x1, y1, z1 = occ.getBoundingBox(3, tag)
    reach = 2.0 * max(abs(x) for x in (x0, y0, x1, y1))
    height = z1 - z0
    wedge = occ.addCylinder(
        0.0, 0.0, z0 - height, 0.0, 0.0, 3.0 * height, reach, angle=span
    )
    occ.rotate([(3, wedge)], 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, low)
    kept, _ = occ.intersect([(3, tag)], [(3, wedge)], removeObject=False)
    occ.synchronize()
    return [solid for dim, solid in kept if dim == 3]


def _cut_faces(drawing: Drawing, part: int | None = None) -> dict[str, list[int]]:
    """Faces on the two cuts, of one solid or of all there are."""
    names: dict[str, list[int]] = {CUT_LOW: [], CUT_HIGH: []}
    entities = gmsh.model.getEntities(2)
    if part is not None:
        entities = gmsh.model.getBoundary([(3, part)], oriented=False)
    for _, face in entities:
        side = cut_side(drawing, edge_points(face))
        if side is not None:
            names[side].append(face)
    return names


def _generate(task: SolidTask, drawing: Drawing) -> None:
    """Mesh by curvature, and finer in the refinement spheres."""
    option, field = gmsh.option.setNumber, gmsh.model.mesh.field
    option("Mesh.MeshSizeMax", task.largest)
    option("Mesh.MeshSizeMin", task.smallest)
    option("Mesh.MeshSizeFromCurvature", task.per_turn)
    option("Mesh.MeshSizeFromPoints", 0)
    option("Mesh.Algorithm3D", HXT)
    span = drawing.span
    turns = (0.0,) if drawing.count == 1 else (-span, 0.0, span)
    spheres = sphere_fields(task.refinements, turns, task.largest)
    if spheres:
        least = min(task.smallest, *(sphere.size for sphere in task.refinements))
        option("Mesh.MeshSizeMin", least)
        finest = field.add("Min")
        field.setNumbers(finest, "FieldsList", spheres)
        field.setAsBackgroundMesh(finest)
    gmsh.model.mesh.generate(3)
    gmsh.model.mesh.setOrder(2)
