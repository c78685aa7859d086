"""Name the solid's faces, and tie the two cuts together."""

import gmsh
import numpy as np

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import rotation
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Drawing
from spokecheck.wheel.shape.surfaces import CUT_HIGH, CUT_LOW, surface_names


def edge_points(face: int) -> FloatArray:
    """Points (n, 3) spread over the edges of a CAD face."""
    points = []
    for dim, tag in gmsh.model.getBoundary([(2, face)], oriented=False):
        (start,), (end,) = gmsh.model.getParametrizationBounds(dim, tag)
        t = np.linspace(start, end, 9)
        points.append(np.reshape(gmsh.model.getValue(dim, tag, t), (-1, 3)))
    return np.vstack(points)


def name_faces(drawing: Drawing) -> dict[str, list[int]]:
    """CAD faces by the name of the surface they were drawn as."""
    faces = [face for _, face in gmsh.model.getEntities(2)]
    names: dict[str, list[int]] = {}
    found = surface_names(drawing, [edge_points(face) for face in faces])
    for name, face in zip(found, faces, strict=True):
        names.setdefault(name, []).append(face)
    return names


def tie_cuts(drawing: Drawing, names: dict[str, list[int]]) -> None:
    """Ask gmsh for equal meshes on the two cuts."""
    if drawing.count == 1:
        return
    high, order = pair_cuts(drawing, names)
    affine = np.eye(4)
    affine[:3, :3] = rotation(drawing.span)
    gmsh.model.mesh.setPeriodic(2, high, order, affine.ravel().tolist())


def pair_cuts(
    drawing: Drawing, names: dict[str, list[int]]
) -> tuple[list[int], list[int]]:
    """Faces of the high cut, and for each the face of the low one that equals it.

    Raises
    ------
    MeshError
        If the two cuts differ.
    """
    low, high = names.get(CUT_LOW, []), names.get(CUT_HIGH, [])
    if len(low) != len(high):
        # such as where the kernel cuts half a hole on one side only
        raise MeshError(
            f"the two sector cuts have {len(low)} and {len(high)} faces; vary "
            "bolts.angle_deg"
        )
    R = rotation(drawing.span)
    centre = {f: np.array(gmsh.model.occ.getCenterOfMass(2, f)) for f in low + high}
    order = []
    for face in high:
        gaps = [float(np.linalg.norm(R @ centre[f] - centre[face])) for f in low]
        if not gaps or min(gaps) > 1e-3:
            raise MeshError("the two sector cuts differ; vary bolts.angle_deg")
        order.append(low[int(np.argmin(gaps))])
    return high, order
