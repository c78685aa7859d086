"""Ready-made parts: beams, bars, rings, spheres and plates with named surfaces.

Every part is a block or a few joined blocks; for another shape, map a block oneself.
"""

import numpy as np

from spokecheck.errors import MeshError
from spokecheck.mesh.blocks import Division, Map, block, join, turned_copies
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray


def check_positive(**lengths: float) -> None:
    """Raise a MeshError that lists the lengths which are not positive."""
    bad = {name: value for name, value in lengths.items() if not value > 0.0}
    if bad:
        shown = ", ".join(f"{name} = {value:g} mm" for name, value in bad.items())
        raise MeshError(f"{shown}: must be positive; give lengths in mm")


def beam_block(
    length: float,
    width: float,
    height: float,
    cells: tuple[Division, Division, Division],
) -> Mesh:
    """Straight bar from the origin: length along x, width along y, height along z.

    Parameters
    ----------
    length, width, height : float
        Dimensions [mm].
    cells : tuple of three int or sequence of float
        Cells along x, y, z: numbers, or borders as fractions between 0 and 1.

    Returns
    -------
    Mesh
        Surfaces root (x = 0), tip, front (y = 0), back, bottom (z = 0), top.

    Examples
    --------
    >>> sorted(beam_block(200.0, 20.0, 10.0, (10, 2, 2)).surfaces)
    ['back', 'bottom', 'front', 'root', 'tip', 'top']
    """
    check_positive(length=length, width=width, height=height)
    size = np.array([length, width, height])
    sides = ("root", "tip", "front", "back", "bottom", "top")
    return block(lambda x: x * size, cells, named(*sides))


def named(*sides: str) -> dict[str, str]:
    """Names of the sides i0, i1, j0, j1, k0, k1 in order; an empty one gets none."""
    keys = ("i0", "i1", "j0", "j1", "k0", "k1")
    return {key: name for key, name in zip(keys, sides, strict=True) if name}


def round_bar(radius: float, length: float, cells: tuple[int, int, Division]) -> Mesh:
    """Solid round bar from the origin along z.

    Parameters
    ----------
    radius, length : float
        Dimensions [mm].
    cells : tuple
        Cells on an eighth of the circumference, cells between the square core and the
        surface, cells along the bar (a number, or borders as fractions).

    Returns
    -------
    Mesh
        Surfaces root (z = 0), tip and skin.
    """
    check_positive(radius=radius, length=length)
    quarter = round_quarter(radius, length, cells)
    return turned_copies(quarter, 4, np.pi / 2.0)


def round_quarter(
    radius: float, length: float, cells: tuple[int, int, Division]
) -> Mesh:
    """Quarter of a ``round_bar``, with surfaces x0 and y0 on the symmetry planes.

    The core is a square whose sides bulge, so that no cell has a flat corner.
    """
    eighth, ring, along = cells
    core, bulge = 0.5 * radius, 0.6 * radius / np.sqrt(2.0)
    square = np.array([[0.0, 0.0], [core, 0.0], [bulge, bulge], [0.0, core]])

    def inner(x: FloatArray) -> FloatArray:
        a, b = x[:, :1], x[:, 1:2]
        flat = (1 - a) * ((1 - b) * square[0] + b * square[3])
        flat = flat + a * ((1 - b) * square[1] + b * square[2])
        return np.column_stack([flat, length * x[:, 2]])

    def outer(low: FloatArray, high: FloatArray, start: float, end: float) -> Map:
        def shell(x: FloatArray) -> FloatArray:
            a, b = x[:, :1], x[:, 1:2]
            angle = start + b * (end - start)
            arc = radius * np.hstack([np.cos(angle), np.sin(angle)])
            flat = (1 - a) * ((1 - b) * low + b * high) + a * arc
            return np.column_stack([flat, length * x[:, 2]])

        return shell

    first = outer(square[1], square[2], 0.0, np.pi / 4.0)
    second = outer(square[3], square[2], np.pi / 2.0, np.pi / 4.0)
    shell = (ring, eighth, along)
    return join(
        [
            block(
                inner, (eighth, eighth, along), named("x0", "", "y0", "", "root", "tip")
            ),
            block(first, shell, named("", "skin", "y0", "", "root", "tip")),
            block(second, shell, named("", "skin", "x0", "", "root", "tip")),
        ]
    )


def ring_sector(
    r_in: float,
    r_out: float,
    height: float,
    cells: tuple[Division, Division, Division],
    angle: float = np.pi / 2.0,
) -> Mesh:
    """Sector of a ring about z, from the x axis and from z = 0.

    Parameters
    ----------
    r_in, r_out, height : float
        Dimensions [mm].
    cells : tuple
        Cells along radius, angle, height.
    angle : float
        Angle of the sector [rad]; with 2 pi it closes on itself.

    Returns
    -------
    Mesh
        Surfaces inner, outer, start, end, bottom, top.

    Raises
    ------
    MeshError
        If the radii are not rising, or a dimension is not positive.
    """
    check_positive(r_in=r_in, r_out=r_out, height=height)
    if not r_out > r_in:
        raise MeshError(
            f"r_out = {r_out:g} mm: must exceed r_in = {r_in:g} mm; swap them"
        )

    def sector(x: FloatArray) -> FloatArray:
        r, a = r_in + x[:, 0] * (r_out - r_in), angle * x[:, 1]
        return np.column_stack([r * np.cos(a), r * np.sin(a), height * x[:, 2]])

    mesh = block(
        sector, cells, named("inner", "outer", "start", "end", "bottom", "top")
    )
    return join([mesh]) if angle > 2.0 * np.pi - 1e-9 else mesh


def cavity_octant(
    radius: float, outer: float, cells: tuple[int, Division], *, cube: bool = False
) -> Mesh:
    """Eighth of a hollow sphere, or of a cube with a spherical cavity.

    Parameters
    ----------
    radius : float
        Radius of the cavity [mm].
    outer : float
        Outer radius, or half the edge of the cube [mm].
    cells : tuple
        Cells along each side of the three patches, and from inside to outside.
    cube : bool
        Whether the outside is a cube.

    Returns
    -------
    Mesh
        Surfaces cavity, outer (of the cube: x1, y1, z1), and x0, y0, z0 on the
        symmetry planes.
    """
    check_positive(radius=radius, outer=outer)
    if not outer > radius:
        raise MeshError(f"outer = {outer:g} mm: must exceed radius = {radius:g} mm")
    side, through = cells
    blocks = []
    for turn, axis in enumerate("xyz"):
        second, third = "yzx"[turn], "zxy"[turn]
        outside = f"{axis}1" if cube else "outer"
        names = named("cavity", outside, f"{second}0", "", f"{third}0", "")
        patch = _gnomonic(radius, outer, turn, cube)
        blocks.append(block(patch, (through, side, side), names))
    return join(blocks)


def _gnomonic(radius: float, outer: float, turn: int, cube: bool) -> Map:
    """Map of the patch about one axis, equal angles along both its sides."""

    def patch(x: FloatArray) -> FloatArray:
        slopes = np.tan(x[:, 1:] * np.pi / 4.0)
        face = np.column_stack([np.ones(len(x)), slopes])
        ball = face / np.linalg.norm(face, axis=1, keepdims=True)
        far = outer * (face if cube else ball)
        a = x[:, :1]
        return np.roll((1.0 - a) * radius * ball + a * far, turn, axis=1)

    return patch
