"""Mesh requirements: those of a whole mesh, and those at a hot spot.

A mesh is refused if a cell is folded anywhere, if a cell is worse than a stated shape,
or if its two cuts are no images of each other.
At a hot spot the edges over a quarter arc and the layers of cells through the wall are
measured, refined for and reported.

The measures look at the mesh alone, so they hold for a mesh from elsewhere too.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse as sp

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN, LEAST_SHAPE, MeshQuality
from spokecheck.mesh.record import TET_EDGES, Mesh
from spokecheck.mesh.shapes import tri_gradients
from spokecheck.units import FloatArray, IntArray
from spokecheck.wheel.shape.surfaces import CUT_HIGH, CUT_LOW

FLAT_CELL = 0.001
"""Radius ratio of the straight cell below which one on the surface is taken off."""

CUT_GAP = 1.0e-9
"""Largest distance [mm] of a point of the high cut from its image on the low one."""

FILLET_EDGES = 3.0
"""Second-order edges over the quarter arc of a rounding at a hot spot."""

WALL_LAYERS = 2
"""Layers of cells through the wall at a hot spot."""

MOST_LAYERS = 4
"""Layers are not counted beyond this."""

FLAT = np.deg2rad(3.0)
"""A face that turns by less is no part of a rounding."""


@dataclass(frozen=True)
class MeshProof:
    """Proof that a mesh meets the requirements.

    Attributes
    ----------
    least_jacobian : float
        Smallest Jacobian anywhere in a cell as a share of the cell's largest.
    least_shape : float
        Smallest of the cells' shapes.
    cut_gap : float
        Largest distance [mm] of the high cut from the turned low one; 0 without cuts.
    """

    least_jacobian: float
    least_shape: float
    cut_gap: float


@dataclass(frozen=True)
class LocalMesh:
    """The mesh at one point of the surface.

    Attributes
    ----------
    edges_per_quarter : float or None
        Edges over a quarter arc, by the widest face that meets there; None on a flat.
    wall : float or None
        Thickness of metal [mm] straight below; None if the way leads through a cut.
    layers : int or None
        Fewest edges to the far side of the wall, ``MOST_LAYERS`` at most.
    dent : float
        How far [mm] the surface had to be moved beside the point.
    normal : tuple of float
        Outward, mean of the faces that meet there; zero if it is not known.
    """

    edges_per_quarter: float | None
    wall: float | None
    layers: int | None
    dent: float = 0.0
    normal: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def short(self) -> tuple[str, ...]:
        """Requirements that the mesh misses here, in words."""
        shortfalls = []
        edges, layers = self.edges_per_quarter, self.layers
        if edges is not None and edges < FILLET_EDGES:
            down = np.floor(10.0 * edges) / 10.0
            shortfalls.append(
                f"{down:.1f} edges on a quarter arc, {FILLET_EDGES:g} required"
            )
        if layers is not None and layers < WALL_LAYERS:
            shortfalls.append(
                f"{layers} layer through the wall, {WALL_LAYERS} required"
            )
        if self.dent > 0.0:
            shortfalls.append(
                f"surface dented by {self.dent:.1f} mm beside it, which may be the "
                "cause; mesh finer"
            )
        return tuple(shortfalls)


def check_mesh(mesh: Mesh, cyclic: Cyclic, quality: MeshQuality) -> MeshProof:
    """Check a finished mesh.

    Parameters
    ----------
    mesh : Mesh
        Without folded cells.
    cyclic : Cyclic
        Its symmetry.
    quality : MeshQuality
        Its shape, and what was done for it.

    Returns
    -------
    MeshProof

    Raises
    ------
    MeshError
        If a requirement is missed; the message names it with value and limit.
    """
    ratios = jacobian_ratios(mesh.points, mesh.cells)
    jacobian = min(quality.least_jacobian, float(ratios.min(initial=1.0)))
    if jacobian < LEAST_JACOBIAN:
        raise MeshError(
            f"a cell is folded: its Jacobian may fall to {jacobian:.3g} of "
            f"its largest (limit {LEAST_JACOBIAN:g}); mesh finer"
        )
    if quality.least_shape < LEAST_SHAPE:
        raise MeshError(
            f"a cell has the shape {quality.least_shape:.3g} (1 is regular, limit "
            f"{LEAST_SHAPE:g}): a sliver; vary a fillet or the fineness slightly"
        )
    gap = 0.0
    if len(cyclic.pairs):
        low, high = mesh.points[cyclic.pairs.T]
        gap = float(np.abs(low @ rotation(cyclic.alpha).T - high).max())
    if gap > CUT_GAP:
        raise MeshError(
            f"the sector cuts differ by {gap:.3g} mm (limit {CUT_GAP:g} mm); mesh with "
            "another fineness"
        )
    return MeshProof(jacobian, quality.least_shape, gap)


@dataclass(frozen=True)
class Gauge:
    """Measures the mesh at points of its surface.

    Attributes
    ----------
    mesh : Mesh
        All its boundary must be named.
    """

    mesh: Mesh

    def at(self, node: int) -> LocalMesh:
        """Measure the mesh at one point of the surface, by its number in the mesh."""
        touching = self._outer[(self._outer == node).any(axis=1)]
        normal = self._normal(touching)
        wall, across = self._opposite(node, touching, normal)
        layers = None if across is None else self._layers(node, touching, across)
        quarter = edges_per_quarter(self.mesh.points, touching)
        x, y, z = normal.tolist()
        return LocalMesh(quarter, wall, layers, normal=(x, y, z))

    @cached_property
    def _outer(self) -> IntArray:
        return self.mesh.faces(
            [name for name in self.mesh.surfaces if name not in (CUT_LOW, CUT_HIGH)]
        )

    @cached_property
    def _boundary(self) -> tuple[IntArray, FloatArray]:
        """Corners of all faces, cuts last, and their positions."""
        cuts = [name for name in (CUT_LOW, CUT_HIGH) if name in self.mesh.surfaces]
        parts = [self._outer, *(self.mesh.surfaces[name] for name in cuts)]
        corners = np.concatenate(parts)[:, :3]
        return corners, self.mesh.points[corners]

    @cached_property
    def _links(self) -> sp.csr_array:
        """Which corner points share an edge."""
        ends = self.mesh.cells[:, TET_EDGES].reshape(-1, 2)
        ends = np.vstack([ends, ends[:, ::-1]])
        shape = (self.mesh.n_points, self.mesh.n_points)
        return sp.csr_array((np.ones(len(ends), dtype=bool), tuple(ends.T)), shape)

    def _normal(self, touching: IntArray) -> FloatArray:
        """Mean outward normal of some faces."""
        a, b, c = np.moveaxis(self.mesh.points[touching[:, :3]], 1, 0)
        normals = np.cross(b - a, c - a)
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        mean = normals.sum(axis=0)
        return np.asarray(mean / np.linalg.norm(mean))

    def _opposite(
        self, node: int, touching: IntArray, normal: FloatArray
    ) -> tuple[float | None, IntArray | None]:
        """Thickness of the wall below a point, and the corners of the face beyond."""
        points, (corners, triangles) = self.mesh.points, self._boundary
        reach = ray_hits(points[node], -normal, triangles)
        own = np.isin(corners, touching[:, :3]).all(axis=1)
        reach[own | (reach < 1e-6)] = np.inf
        first = int(reach.argmin())
        if not np.isfinite(reach[first]) or first >= len(self._outer):
            return None, None
        return float(reach[first]), corners[first]

    def _layers(self, node: int, touching: IntArray, across: IntArray) -> int:
        """Fewest edges from a point to one of the corners across."""
        rows = touching == node
        corner = bool(rows[:, :3].any())
        front = np.zeros(self.mesh.n_points, dtype=bool)
        front[node if corner else _edge_ends(touching, rows)] = True
        for count in range(1, MOST_LAYERS):
            front |= np.asarray(self._links @ front)
            if front[across].any():
                return count
        return MOST_LAYERS


def _edge_ends(touching: IntArray, rows: IntArray) -> IntArray:
    """Ends of the edge a mid-side point lies on."""
    face, local = (int(k[0]) for k in np.nonzero(rows))
    return touching[face, [local - 3, (local - 2) % 3]]


def edges_per_quarter(points: FloatArray, faces: IntArray) -> float | None:
    """Edges over a quarter arc, from how far the widest face turns.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    faces : ndarray (n_faces, 6)
        TRI6 faces.

    Returns
    -------
    float or None
        None if all faces are as good as flat.

    Notes
    -----
    A second-order edge over an arc of angle t has end tangents that turn by
    ``2 atan(2 tan(t / 4))``; the normals at the corners are turned back to t.
    A face that was straightened looks flat and is not counted.
    """
    # tangents along both local axes at the three corners, then the normals there
    at_corners = tri_gradients(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    along = np.einsum("qai,fak->fqik", at_corners, points[faces])
    normal = np.cross(along[:, :, 0], along[:, :, 1])
    normal /= np.linalg.norm(normal, axis=2, keepdims=True)
    # chord between two unit normals that enclose the angle 2 half
    apart = np.linalg.norm(normal - np.roll(normal, 1, axis=1), axis=2).max()
    half = np.arcsin(min(1.0, apart / 2.0))
    angle = 4.0 * np.arctan(np.tan(half) / 2.0)
    return float(np.pi / 2.0 / angle) if angle > FLAT else None


def ray_hits(start: FloatArray, along: FloatArray, corners: FloatArray) -> FloatArray:
    """Distance [mm] along a ray to each of triangles (n, 3, 3); infinite if missed.

    References
    ----------
    Moller, Trumbore, Fast, minimum storage ray-triangle intersection, J. Graphics
    Tools 2 (1997) 21-28 (from memory).
    """
    # solve start + t along = a + u e + v f by Cramer's rule
    a = corners[:, 0]
    e, f = corners[:, 1] - a, corners[:, 2] - a
    h = np.cross(along, f)
    det = (e * h).sum(axis=1)
    safe = np.where(np.abs(det) > 1e-12, det, np.inf)
    s = start - a
    u = (s * h).sum(axis=1) / safe
    q = np.cross(s, e)
    v = (q @ along) / safe
    t = (f * q).sum(axis=1) / safe
    hit = (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9) & (np.abs(det) > 1e-12)
    return np.where(hit, t, np.inf)
