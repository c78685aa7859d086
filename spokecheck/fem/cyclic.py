"""One sector of a body with N equal ones: what its two cuts know of each other.

A load that turns about z is a sum of orders m, and in order m the field repeats from
sector to sector up to a phase: with alpha = 2 pi / N and R the rotation by alpha,
``u(R x) = exp(i m alpha) R u(x)``.
N = 1 is a whole body: no cuts, and the condition is void.

References
----------
Thomas, Dynamics of rotationally periodic structures, Int. J. Numer. Methods Eng. 14
(1979) 81-102 (from memory).
"""

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.spatial import cKDTree

from spokecheck.errors import ModelError
from spokecheck.mesh.record import Mesh
from spokecheck.units import ComplexArray, FloatArray, IntArray

IMAGE = 1e-6
"""Points are images of each other within this share of the body's size."""


def _no_pairs() -> IntArray:
    return np.empty((0, 2), dtype=np.int64)


@dataclass(frozen=True)
class Cyclic:
    """Rotational symmetry about the z axis.

    Attributes
    ----------
    count : int
        Number N of equal sectors; 1 for a whole body.
    pairs : ndarray (n_pairs, 2)
        Points on the low cut and their images, turned by +2 pi / N, on the high cut.
    """

    count: int = 1
    pairs: IntArray = field(default_factory=_no_pairs)

    @property
    def alpha(self) -> float:
        """Angle of one sector [rad]."""
        return 2.0 * np.pi / self.count

    def phase_class(self, order: int) -> tuple[int, bool]:
        """Residue of an order modulo N, folded to 0..N/2.

        Returns
        -------
        residue : int
            Orders with the same residue share one stiffness matrix.
        conjugate : bool
            True if the order needs the complex conjugate of that matrix.
        """
        residue = order % self.count
        if 2 * residue > self.count:
            return self.count - residue, True
        return residue, False


def cyclic_from_faces(mesh: Mesh, count: int, low: str, high: str) -> Cyclic:
    """Symmetry of a sector, its point pairs found from its two cuts.

    Parameters
    ----------
    mesh : Mesh
        One of ``count`` equal sectors about the z axis.
    count : int
        Number of sectors, 2 or more.
    low, high : str
        Surfaces: turned by 2 pi / count about z, the first is the second.

    Returns
    -------
    Cyclic

    Raises
    ------
    ModelError
        If the points of the cuts are no images of each other, or lie on the axis.
    """
    if count < 2:
        raise ModelError(f"count = {count}: must be 2 or more equal sectors")
    low_nodes, high_nodes = mesh.nodes(low), mesh.nodes(high)
    points, size = mesh.points, float(np.ptp(mesh.points, axis=0).max())
    on_axis = np.hypot(*points[low_nodes, :2].T) <= IMAGE * size
    if on_axis.any():
        raise ModelError(
            f"{int(on_axis.sum())} points of the cut {low} lie on the axis, where all "
            "sectors meet; bore the body there, or solve it as a whole"
        )
    images = points[low_nodes] @ rotation(2.0 * np.pi / count).T
    gap, match = cKDTree(points[high_nodes]).query(images)
    if len(low_nodes) != len(high_nodes) or gap.max() > IMAGE * size:
        raise ModelError(
            f"cuts {low} ({len(low_nodes)} points) and {high} ({len(high_nodes)}): "
            f"turned by 360 / {count} deg about z, points of the first lie up to "
            f"{gap.max():.3g} mm from those of the second; mesh both alike, or name "
            "them the other way round"
        )
    return Cyclic(count, np.column_stack([low_nodes, high_nodes[match]]))


def rotation(angle: float) -> FloatArray:
    """Rotation matrix (3, 3) about z by ``angle`` [rad]."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def reflection(plane: float) -> FloatArray:
    """Mirror matrix (3, 3) at the plane through z at angle ``plane`` [rad]."""
    return rotation(2.0 * plane) @ np.diag([1.0, -1.0, 1.0])


def stress_rotation(R: FloatArray) -> FloatArray:
    """Matrix (6, 6) that turns a Voigt stress vector as R s R^T turns the tensor."""
    first = np.array([0, 1, 2, 0, 1, 2])
    second = np.array([0, 1, 2, 1, 2, 0])
    T = np.zeros((6, 6))
    for column, (k, m) in enumerate(zip(first, second, strict=True)):
        unit = np.zeros((3, 3))
        unit[k, m] = unit[m, k] = 1.0
        turned = R @ unit @ R.T
        T[:, column] = turned[first, second]
    return T


def sum_across_cuts(stress: ComplexArray, orders: IntArray, cyclic: Cyclic) -> None:
    """Give points on both cuts the sum of what either has, in place.

    Parameters
    ----------
    stress : ndarray (n_orders, n_points, 6)
        What the cells or faces of the sector add to each point's stress.
    orders : ndarray (n_orders,)
        Fourier orders.
    cyclic : Cyclic
        Its pairs number the points of ``stress``.
    """
    low, high = cyclic.pairs.T
    T = stress_rotation(rotation(cyclic.alpha))
    back = stress_rotation(rotation(-cyclic.alpha))
    phase = np.exp(1j * orders * cyclic.alpha)[:, None, None]
    both = stress[:, low] + phase.conj() * (stress[:, high] @ back.T)
    stress[:, low] = both
    stress[:, high] = phase * (both @ T.T)


def numbered_within(cyclic: Cyclic, points: IntArray, n_points: int) -> Cyclic:
    """The same symmetry, of some sorted points (n,) of a mesh alone."""
    number = np.full(n_points, -1)
    number[points] = np.arange(len(points))
    pairs = number[cyclic.pairs]
    return replace(cyclic, pairs=pairs[(pairs >= 0).all(axis=1)])


def turning_motions(order: int, count: int) -> list[tuple[str, ComplexArray]]:
    """Rigid motions that a body of N sectors can make in one order.

    Parameters
    ----------
    order : int
        Fourier order m.
    count : int
        Number N of sectors.

    Returns
    -------
    list of (str, ndarray (2, 3))
        Name, and the two complex vectors of the motion: translation d and rotation w,
        ``u(x) = d + w x (x - centre)``.
        A vector (1, i, 0) turns with order +1, (1, -i, 0) with -1, (0, 0, 1) with 0.
    """
    vectors = {0: ("axial", [0, 0, 1]), 1: ("lateral", [1, 1j, 0])}
    vectors[-1] = ("counter-lateral", [1, -1j, 0])
    motions = []
    for turn, (name, vector) in vectors.items():
        if (order - turn) % count == 0:
            v, zero = np.array(vector, dtype=complex), np.zeros(3, dtype=complex)
            motions.append((f"{name} shift", np.stack([v, zero])))
            motions.append((f"{name} rotation", np.stack([zero, v])))
    return motions


def rigid_field(
    points: FloatArray, motion: ComplexArray, centre: FloatArray
) -> ComplexArray:
    """Displacement (n_points, 3) of one rigid motion (2, 3) about ``centre``."""
    return np.asarray(motion[0] + np.cross(motion[1], points - centre))
