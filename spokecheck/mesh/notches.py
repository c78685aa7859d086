"""Plane sections with a hole, a shoulder fillet or a notch, as joined blocks.

The cells are smallest at the curved edge and grow away from it.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from spokecheck.errors import MeshError
from spokecheck.mesh.blocks import Division, geometric, join, moved
from spokecheck.mesh.parts import check_positive, named, round_quarter
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.ruled_blocks import arc, chain, line, panel, revolve, ruled_block
from spokecheck.units import FloatArray


def plate_with_hole(
    radius: float,
    half_width: float,
    half_length: float,
    thickness: float,
    cells: tuple[int, int, int],
    growth: float = 8.0,
) -> Mesh:
    """Quarter of a plate with a central hole; the long side lies along x.

    Parameters
    ----------
    radius, half_width, half_length, thickness : float
        Dimensions [mm].
    cells : tuple of int
        Cells on an eighth of the hole, from the hole outwards, and through the
        thickness.
    growth : float
        Size of the outermost cell over that of the innermost.

    Returns
    -------
    Mesh
        Surfaces hole, x0 and y0 (symmetry), right, upper, bottom, top.

    Raises
    ------
    MeshError
        If the hole does not fit.
    """
    check_positive(radius=radius, thickness=thickness)
    if not radius < half_width <= half_length:
        raise MeshError(
            f"hole radius {radius:g}, half width {half_width:g}, half length "
            f"{half_length:g} mm: must rise in this order; widen or lengthen the plate"
        )
    eighth, out, through = cells
    w = half_width
    around = ruled_block(
        arc((0.0, 0.0), radius, 0.0, 90.0),
        chain([line((w, 0.0), (w, w)), line((w, w), (0.0, w))]),
        thickness,
        (geometric(out, growth), 2 * eighth, through),
        named("hole", "frame", "y0", "x0", "bottom", "top"),
    )
    if half_length == half_width:
        return around
    along = max(2, round((half_length - w) / w * eighth))
    rest = panel(
        (w, 0.0),
        (half_length, w),
        thickness,
        (along, eighth, through),
        named("", "right", "y0", "upper", "bottom", "top"),
    )
    return join([around, rest])


@dataclass(frozen=True)
class Shoulder:
    """Upper half of a bar that widens at a fillet, or of a bar with a notch.

    Attributes
    ----------
    narrow, wide : float
        Half widths [mm] of the narrow and the wide part.
    radius : float
        Fillet radius [mm], not above their difference.
    shank : float
        Length of the narrow part up to the start of the fillet [mm]; zero for a
        notch that is cut at its middle.
    body : float
        Length of the wide part from the fillet's centre [mm].
    eighth, out : int
        Cells on an eighth of a circle of the fillet, and from it outwards; even.
    """

    narrow: float
    wide: float
    radius: float
    shank: float
    body: float
    eighth: int
    out: int

    @property
    def depth(self) -> float:
        """Extent of the fine cells around the fillet [mm]."""
        return min(0.6 * self.narrow, 2.5 * self.radius)

    @property
    def below(self) -> float:
        """Height [mm] at which the fine cells end and the core begins."""
        return self.narrow - self.depth

    @property
    def beyond(self) -> float:
        """Position [mm] at which the fine cells end and the plain body begins."""
        return self.radius + self.depth

    @property
    def along(self) -> tuple[FloatArray, FloatArray]:
        """Cell borders along the shank and the plain body, growing from the fillet."""
        arc_cell = 0.25 * np.pi * self.radius / self.eighth
        wide_cell = self.beyond / self.eighth
        shank = growing(max(self.shank, self.radius), arc_cell, 2 * self.eighth)
        body = growing(self.body - self.beyond, wide_cell, self.eighth)
        return 1.0 - shank[::-1], body


def growing(length: float, first: float, count: int) -> FloatArray:
    """Cell borders from 0 to 1 over a length, the first cell as long as asked for.

    Examples
    --------
    >>> bool(np.isclose(100.0 * growing(100.0, 1.0, 8)[1], 1.0))
    True
    """
    if first * count >= length:
        return geometric(count, 1.0)

    def excess(log_ratio: float) -> float:
        return float(length * geometric(count, np.exp(log_ratio))[1] - first)

    return geometric(count, float(np.exp(brentq(excess, 0.0, 30.0))))


def check_shoulder(s: Shoulder) -> None:
    """Raise a MeshError if the fillet does not fit its bar."""
    check_positive(narrow=s.narrow, radius=s.radius)
    if s.radius > s.wide - s.narrow + 1e-9:
        raise MeshError(
            f"radius = {s.radius:g} mm: must not exceed the step of "
            f"{s.wide - s.narrow:g} mm; reduce it, or deepen the step"
        )
    if s.body < 1.2 * s.beyond:
        raise MeshError(
            f"body length {s.body:g} mm: must be above {1.2 * s.beyond:g} mm"
        )


def shoulder_skin(s: Shoulder, height: float, through: int) -> list[Mesh]:
    """Blocks above the core: around the fillet, along shank and body, and over it.

    x runs along the bar from the fillet's centre, y across, z through the thickness,
    or through an angle if the section is to be revolved.

    Returns
    -------
    list of Mesh
        Surfaces fillet, start (end of the shank, or middle of the notch), end,
        bottom and top.
    """
    check_shoulder(s)
    radial = geometric(s.out, 4.0)
    inward = 1.0 - radial[::-1]
    crest = s.narrow + s.radius
    first, last = s.along
    fan = ruled_block(
        arc((0.0, crest), s.radius, -90.0, 0.0),
        chain(
            [
                line((0.0, s.below), (s.beyond, s.below)),
                line((s.beyond, s.below), (s.beyond, crest)),
            ]
        ),
        height,
        (radial, 2 * s.eighth, through),
        named("fillet", "", "start", "", "bottom", "top"),
    )
    bottom_top = {"k0": "bottom", "k1": "top"}
    blocks = [fan]
    blocks.append(
        panel(
            (s.beyond, s.below),
            (s.body, crest),
            height,
            (last, s.eighth, through),
            {"i1": "end", **bottom_top},
        )
    )
    if s.shank > 0.0:
        blocks.append(
            panel(
                (-s.shank, s.below),
                (0.0, s.narrow),
                height,
                (first, inward, through),
                {"i0": "start", **bottom_top},
            )
        )
    rise = s.wide - crest
    if rise > 1e-9 * s.wide:
        up = 2 * max(1, round(rise / s.beyond * s.eighth / 2))
        for low, high, across, end in (
            (s.radius, s.beyond, radial, {}),
            (s.beyond, s.body, last, {"i1": "end"}),
        ):
            cells = (across, up, through)
            names = {**end, **bottom_top}
            blocks.append(panel((low, crest), (high, s.wide), height, cells, names))
    return blocks


def shoulder_bar(s: Shoulder, thickness: float, through: int = 1) -> Mesh:
    """Upper half of a flat bar with a fillet or a notch.

    Returns
    -------
    Mesh
        Surfaces fillet, start, end, axis (y = 0), bottom and top.
    """
    first, last = s.along
    core = 2 * max(1, round(s.below / s.beyond * s.eighth / 2))
    spans: list[tuple[float, float, Division]] = [
        (0.0, s.beyond, s.eighth),
        (s.beyond, s.body, last),
    ]
    if s.shank > 0.0:
        spans.insert(0, (-s.shank, 0.0, first))
    blocks = shoulder_skin(s, thickness, through)
    for k, (low, high, along) in enumerate(spans):
        names = {"j0": "axis", "k0": "bottom", "k1": "top"}
        names |= {"i0": "start"} if k == 0 else {}
        names |= {"i1": "end"} if k == len(spans) - 1 else {}
        cells = (along, core, through)
        blocks.append(panel((low, 0.0), (high, s.below), thickness, cells, names))
    return join(blocks)


def shoulder_shaft(s: Shoulder, around: int) -> Mesh:
    """Quarter of a round shaft with a fillet; its axis is z, from the fillet's centre.

    Parameters
    ----------
    s : Shoulder
        Meridian section; the widths are radii.
    around : int
        Cells on an eighth of the circumference.

    Returns
    -------
    Mesh
        Surfaces fillet, start, end, and x0, y0 on the cutting planes.
    """
    skin = []
    for part in shoulder_skin(s, np.pi / 2.0, 2 * around):
        turned = moved(part, lambda x: revolve(x[:, [1, 0, 2]]))
        skin.append(_renamed(turned, {"bottom": "y0", "top": "x0"}))
    first, last = s.along
    low, high = -s.shank, s.body
    along = np.concatenate(
        [
            low * (1.0 - first),
            np.linspace(0.0, s.beyond, s.eighth + 1)[1:],
            (s.beyond + (high - s.beyond) * last)[1:],
        ]
    )
    ring = 2 * max(1, round(0.5 * s.below / s.beyond * s.eighth / 2))
    core = round_quarter(
        s.below, high - low, (around, ring, (along - low) / (high - low))
    )
    shifted = moved(core, lambda x: x + np.array([0.0, 0.0, low]))
    return join([*skin, _renamed(shifted, {"root": "start", "tip": "end"})])


def _renamed(mesh: Mesh, names: dict[str, str]) -> Mesh:
    surfaces = {names.get(name, name): f for name, f in mesh.surfaces.items()}
    return Mesh(mesh.points, mesh.cells, surfaces, mesh.zones)
