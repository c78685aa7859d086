"""A disc with windows outside and holes inside whose numbers share no factor.

Small enough to follow: bricks on a grid in (radius, angle, height), of which those of
a window or a hole are left out.
"""

from dataclasses import replace
from math import gcd

import numpy as np

from spokecheck.fem.cyclic import cyclic_from_faces
from spokecheck.fem.joined import Joined, RingSector, join
from spokecheck.mesh.blocks import block
from spokecheck.mesh.record import Mesh, boundary_faces

HUB, RING, RIM, THICK = 30.0, 75.0, 160.0, 18.0
LAYERS = 3
"""Cells between hub and ring, and between ring and rim."""


def disc(windows: int, holes: int, first: int = 0) -> Joined:
    """A disc of ``windows`` outer and ``holes`` inner sectors."""
    strips = windows * holes // gcd(windows, holes)
    outer = sector(RING, RIM, windows, strips, 0, "i0")
    inner = sector(HUB, RING, holes, strips, first, "i1")
    return join(outer, inner, first)


def sector(
    low: float, high: float, count: int, strips: int, first: int, ring: str
) -> RingSector:
    """One sector between two radii; the ring lies on one of its sides."""
    pitch, each = 2.0 * np.pi / strips, strips // count

    def place(x):
        r = low + x[:, 0] * (high - low)
        angle = pitch * (first + each * x[:, 1])
        # a disc that is dished and of uneven depth couples all directions
        z = THICK * (x[:, 2] - 0.5) * (1.3 - r / 400.0) + (r - RING) ** 2 / 900.0
        return np.column_stack([r * np.cos(angle), r * np.sin(angle), z])

    other = {"i0": ("i1", "rim"), "i1": ("i0", "hub")}[ring]
    names = {ring: "cut ring", "j0": "cut low", "j1": "cut high", other[0]: other[1]}
    mesh = block(place, (LAYERS, 2 * each, 1), names)
    # of the middle ring there is none over a third of the sector: a window or a hole
    size = LAYERS * 2 * each
    i, j, _ = np.unravel_index(np.arange(size), (LAYERS, 2 * each, 1))
    share = (j + 0.5) / (2 * each)
    hollow = (i == 1) & (share > 0.25) & (share < 0.6)
    mesh = without(mesh, np.repeat(hollow, 6))
    cyclic = cyclic_from_faces(mesh, count, "cut low", "cut high")
    return RingSector(mesh, cyclic, by_strip(mesh, pitch, first, each))


def without(mesh: Mesh, gone) -> Mesh:
    """A mesh without some cells."""
    cells = mesh.cells[~gone]
    used, flat = np.unique(cells, return_inverse=True)
    number = np.full(mesh.n_points, -1)
    number[used] = np.arange(len(used))
    surfaces = {name: number[faces] for name, faces in mesh.surfaces.items()}
    cells = flat.reshape(-1, 10)
    hole = boundary_faces(cells)
    known = {tuple(sorted(f[:3])) for faces in surfaces.values() for f in faces}
    new = [f for f in hole if tuple(sorted(f[:3])) not in known]
    return replace(
        mesh,
        points=mesh.points[used],
        cells=cells,
        surfaces={**surfaces, "free": np.array(new)},
    )


def by_strip(mesh: Mesh, pitch: float, first: int, strips: int):
    """Points of the ring (n_strips, n_each), alike in all strips."""
    nodes = mesh.nodes("cut ring")
    x, y, z = mesh.points[nodes].T
    turn = (np.arctan2(y, x) - first * pitch + 1e-9) % (2.0 * np.pi) / pitch
    strip = np.floor(turn).astype(int)
    order = np.lexsort((z.round(6), (turn - strip).round(6), strip))
    inside = strip[order] < strips
    return nodes[order][inside].reshape(strips, -1)
