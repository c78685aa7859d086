"""Size fields: the edge length asked for at each place."""

from collections.abc import Sequence

import gmsh
import numpy as np

from spokecheck.fem.cyclic import rotation
from spokecheck.wheel.meshing.kernel.task import MeshTask, Refinement

HXT = 10
"""gmsh's parallel Delaunay mesher; on wheels it leaves far fewer slivers than the
default one (least radius ratio 0.19 against 0.006 on a five-spoke sector)."""


def surface_sizes(task: MeshTask, names: dict[str, list[int]]) -> list[int]:
    """Size fields of the named surfaces."""
    field, parts = gmsh.model.mesh.field, []
    for name, size in task.sizes.items():
        if name in names:
            part = field.add("Constant")
            field.setNumbers(part, "SurfacesList", names[name])
            field.setNumber(part, "VIn", size)
            field.setNumber(part, "VOut", task.largest)
            parts.append(part)
    return parts


def sphere_sizes(task: MeshTask) -> list[int]:
    """Size fields of the refinement spheres, those of the neighbour sectors too."""
    return sphere_fields(task.refinements, task.turns, task.largest)


def sphere_fields(
    spheres: Sequence[Refinement], turns: Sequence[float], largest: float
) -> list[int]:
    """Size fields of refinement spheres, each with copies turned about z [rad]."""
    field, parts = gmsh.model.mesh.field, []
    for sphere in spheres:
        for angle in turns:
            centre = rotation(angle) @ np.array(sphere.centre)
            part = field.add("Ball")
            for key, value in zip(
                ("XCenter", "YCenter", "ZCenter"), centre, strict=True
            ):
                field.setNumber(part, key, float(value))
            field.setNumber(part, "Radius", sphere.radius)
            field.setNumber(part, "Thickness", sphere.radius)
            field.setNumber(part, "VIn", sphere.size)
            field.setNumber(part, "VOut", largest)
            parts.append(part)
    return parts


def generate(parts: list[int], largest: float) -> None:
    """Mesh under the least of all size fields."""
    option, field = gmsh.option.setNumber, gmsh.model.mesh.field
    option("Mesh.MeshSizeMax", largest)
    option("Mesh.MeshSizeFromPoints", 0)
    option("Mesh.Algorithm3D", HXT)
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", parts)
    field.setAsBackgroundMesh(least)
    gmsh.model.mesh.generate(3)
