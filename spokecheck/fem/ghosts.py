"""Images of cells beyond the cuts of a body, which complete the patches of recovery.

Cuts of a sector go on as the sector turned by its angle, planes of symmetry as the body
mirrored, with the opposite stress where they are planes of antisymmetry.
Where two planes meet at a right angle the mirrored image is mirrored once more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from spokecheck.fem.cyclic import Cyclic, rotation
from spokecheck.mesh.quadrature import TET_4
from spokecheck.mesh.shapes import tet_values
from spokecheck.units import BoolArray, FloatArray, IntArray

SQUARE = 1e-6
"""Cosine below which two planes are at a right angle."""


@dataclass(frozen=True)
class MirrorPlane:
    """A plane face on whose other side the body goes on as its mirror image.

    Attributes
    ----------
    points : ndarray (n_points_on_it,)
        Points of the mesh on the face.
    normal : ndarray (3,)
        Unit normal.
    offset : float
        ``normal . x`` on the plane [mm].
    sign : int
        1 if stress is mirrored too, -1 if it is mirrored to its opposite.
    """

    points: IntArray = field(repr=False)
    normal: FloatArray
    offset: float
    sign: int


@dataclass(frozen=True)
class Ghosts:
    """Images of some cells.

    Attributes
    ----------
    cells : ndarray (n_ghosts,)
        Of what cells.
    turn : ndarray (3, 3)
        Rotation or reflection that makes the image.
    sense : int
        Number of sectors it is turned by, for the phase of an order.
    sign : int
        Of its stress.
    """

    cells: IntArray
    turn: FloatArray
    sense: int = 0
    sign: int = 1


@dataclass(frozen=True)
class _Image:
    """Ghosts with their corners, sample positions, and the planes they come from."""

    ghosts: Ghosts
    corners: IntArray
    samples: FloatArray
    normals: tuple[FloatArray, ...] = ()


def patch_cells(
    points: FloatArray,
    cells: IntArray,
    cyclic: Cyclic,
    mirrors: Sequence[MirrorPlane] = (),
) -> tuple[IntArray, FloatArray, tuple[Ghosts, ...]]:
    """Corner points and sample positions of all cells, ghosts included.

    Parameters
    ----------
    points : ndarray (n_points, 3)
        Coordinates [mm].
    cells : ndarray (n_cells, 10)
        TET10 connectivity.
    cyclic : Cyclic
        Symmetry of a sector.
    mirrors : sequence of MirrorPlane, optional

    Returns
    -------
    corners : ndarray (n_cells + n_ghosts, 4)
        A ghost's corners on the cut it completes are the body's own points; the others
        get numbers beyond them.
    samples : ndarray (n_cells + n_ghosts, 4, 3)
        Points of the four-point rule [mm].
    ghosts : tuple of Ghosts
        Two layers deep, so that widened patches at a cut are whole.
    """
    samples = np.einsum("qa,eai->eqi", tet_values(TET_4.points), points[cells])
    own = _Image(Ghosts(np.arange(len(cells)), np.eye(3)), cells[:, :4], samples)
    images = [own, *_turned(own, len(points), cyclic)]
    for mirror in mirrors:
        # numbers of an image's points come in blocks, in the order of the body's own
        block = 1 + int(max(image.corners.max() for image in images)) // len(points)
        on_plane = np.zeros(len(points), dtype=bool)
        on_plane[mirror.points] = True
        square = [image for image in images if _at_right_angles(image, mirror)]
        images += [_mirrored(image, mirror, on_plane, block) for image in square]
    ghosts = tuple(image.ghosts for image in images[1:])
    corners = np.vstack([image.corners for image in images])
    return corners, np.vstack([image.samples for image in images]), ghosts


def _turned(own: _Image, n_points: int, cyclic: Cyclic) -> list[_Image]:
    """Cells at the high cut before the low one, and at the low cut behind the high."""
    if not len(cyclic.pairs):
        return []
    images = []
    for here, there, sense in ((0, 1, -1), (1, 0, 1)):
        # points of the far cut are the near cut's own; all others get new numbers
        number = np.arange(n_points) + n_points * (here + 1)
        number[cyclic.pairs[:, there]] = cyclic.pairs[:, here]
        near = np.isin(own.corners, cyclic.pairs[:, there]).any(axis=1)
        ghost = np.flatnonzero(np.isin(own.corners, own.corners[near]).any(axis=1))
        turn = rotation(sense * cyclic.alpha)
        images.append(
            _Image(
                Ghosts(ghost, turn, sense),
                number[own.corners[ghost]],
                own.samples[ghost] @ turn.T,
                (np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])),
            )
        )
    return images


def _at_right_angles(image: _Image, mirror: MirrorPlane) -> bool:
    """Whether an image goes on beyond one more plane."""
    return all(abs(normal @ mirror.normal) < SQUARE for normal in image.normals)


def _mirrored(
    image: _Image, mirror: MirrorPlane, on_plane: BoolArray, block: int
) -> _Image:
    """The cells of an image near a plane, mirrored at it."""
    n, n_points = mirror.normal, len(on_plane)
    M = np.eye(3) - 2.0 * np.outer(n, n)
    near = on_plane[image.corners % n_points].any(axis=1)
    near = np.isin(image.corners, image.corners[near]).any(axis=1)
    corners = image.corners[near]
    ghosts = image.ghosts
    return _Image(
        Ghosts(
            ghosts.cells[near],
            M @ ghosts.turn,
            ghosts.sense,
            ghosts.sign * mirror.sign,
        ),
        np.where(on_plane[corners % n_points], corners, corners + block * n_points),
        image.samples[near] @ M.T + 2.0 * mirror.offset * n,
        (*image.normals, n),
    )
