"""The ring of a part: its face in equal strips, each with the same triangles.

Both parts get the same corners, edges and diagonals, so that their meshes conform on
the ring however one is turned against the other.
"""

import gmsh
import numpy as np

from spokecheck.errors import MeshError
from spokecheck.fem.joined import RING
from spokecheck.wheel.shape.drawing import Drawing

Tag = tuple[int, int]


def cut_into_strips(
    drawing: Drawing, solids: list[Tag]
) -> tuple[list[Tag], list[list[Tag]]]:
    """Solids whose ring is parted by lines, and what each of them has become."""
    grid = drawing.ring
    if grid is None or grid.strips == 1:
        return solids, [[solid] for solid in solids]
    occ, lines = gmsh.model.occ, list[Tag]()
    for strip in range(1, grid.strips):
        angle = drawing.low_angle + strip * drawing.span / grid.strips
        ends = [
            occ.addPoint(r * np.cos(angle), r * np.sin(angle), z)
            for r, z in (grid.back, grid.face)
        ]
        lines.append((1, occ.addLine(*ends)))
    fragments, came_from = occ.fragment(solids, lines)
    occ.synchronize()
    kept = [tag for tag in fragments if tag[0] == 3]
    if len(kept) != len(solids):
        raise MeshError(
            f"the ring's strips left {len(kept)} bodies, {len(solids)} needed"
        )
    parts = came_from[: len(solids)]
    return kept, [[tag for tag in part if tag[0] == 3] for part in parts]


def grid_ring(drawing: Drawing, names: dict[str, list[int]]) -> None:
    """Ask gmsh for the same triangles on every strip.

    Raises
    ------
    MeshError
        If the ring's face is not what was drawn.
    """
    grid = drawing.ring
    if grid is None:
        return
    mesh, faces = gmsh.model.mesh, names.get(RING, [])
    if len(faces) != grid.strips:
        raise MeshError(f"the ring has {len(faces)} strips, {grid.strips} drawn")
    for face in faces:
        curves = gmsh.model.getBoundary([(2, face)], oriented=False)
        ends = {
            tag: [point for _, point in gmsh.model.getBoundary([(1, tag)])]
            for _, tag in curves
        }
        places = {
            point: _place(drawing, point) for pair in ends.values() for point in pair
        }
        if len(curves) != 4 or len(places) != 4:
            raise MeshError(f"a strip of the ring has {len(curves)} sides, 4 needed")
        for tag, (a, b) in ends.items():
            across = abs(places[a][0] - places[b][0]) < 1e-6
            mesh.setTransfiniteCurve(tag, 1 + (grid.along if across else grid.around))
        # from the back at the low border round by its high one to the face
        in_turn = sorted(places, key=lambda point: places[point][0])
        low, high = in_turn[:2], in_turn[2:]
        back = [min(pair, key=lambda p: places[p][1]) for pair in (low, high)]
        front = [max(pair, key=lambda p: places[p][1]) for pair in (low, high)]
        corners = [back[0], back[1], front[1], front[0]]
        mesh.setTransfiniteSurface(face, "Left", corners)


def _place(drawing: Drawing, point: int) -> tuple[float, float]:
    """Angle from the low cut [rad] and height [mm] of a point of the model."""
    x, y, z = gmsh.model.getValue(0, point, [])
    angle = float(np.arctan2(y, x)) - drawing.low_angle
    return (angle + 1e-6) % (2.0 * np.pi) - 1e-6, float(z)
