"""Rim contour in the (r, z) plane: 5-degree drop centre with J flanges.

Points run from the inboard flange to the outboard one.

References
----------
ISO 4000-2:2013 (JIS D 4218:2021 Table 3): G = 17.5 mm flange height, R2 at least
9.5 mm, P, H, L, M as minimum or maximum envelope; the figure that shows M was not seen,
here it is the middle of the well.
Bead seat taper 5 degrees +/- 1 degree: from memory of the same standard.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.units import FloatArray
from spokecheck.wheel.curves import Corner, crossing, offset_line
from spokecheck.wheel.rim_table import Rim
from spokecheck.wheel.sizes import parse_rim_size

FLANGE_HEIGHT = 17.5
"""G [mm], JIS D 4218:2021 Table 3."""

FLANGE_RADIUS = 9.5
"""R2 [mm], at least this, JIS D 4218:2021 Table 3."""

SEAT_TAPER = np.deg2rad(5.0)
HEEL_RADIUS = 6.5
"""Between bead seat and flange [mm], common practice."""

LIP_HEIGHT = 9.0
"""Radial height of the flange's outer edge [mm], common practice."""

CONTOUR_RADIUS = 8.0
"""Roundings of well and ledges [mm], common practice."""


@dataclass(frozen=True)
class RimContour:
    """The rim's two sides, from inboard to outboard.

    Attributes
    ----------
    air : ndarray (n, 2)
        Tyre side: seat, ledge, well, seat; (r, z) [mm].
    inner : ndarray (n, 2)
        The other side of the wall, point by point.
    names : tuple of str
        Surface of each side of ``air``.
    """

    air: FloatArray
    inner: FloatArray
    names: tuple[str, ...]
    seat_radius: float
    half_width: float
    flange_width: float

    @property
    def well_inner_radius(self) -> float:
        """Smallest radius of the inner side [mm]."""
        return float(self.inner[:, 0].min())


AIR_NAMES = (
    "bead seat inboard",
    "rim well",
    "rim well",
    "rim well",
    "rim well",
    "bead seat outboard",
)


def rim_contour(rim: Rim) -> RimContour:
    """Contour of a rim.

    Parameters
    ----------
    rim : Rim
        Table of the design file.

    Returns
    -------
    RimContour
    """
    size = parse_rim_size(rim.size)
    r0, half = size.diameter / 2.0, size.width / 2.0
    r_seat = r0 - np.tan(SEAT_TAPER) * rim.seat_width_mm
    r_well = r0 - rim.well_depth_mm
    middle = half - rim.well_position_mm
    well_in, well_out = middle - rim.well_width_mm / 2, middle + rim.well_width_mm / 2
    rise = rim.well_depth_mm - rim.leg_drop_mm
    air = np.array(
        [
            (r0, -half),
            (r_seat, -half + rim.seat_width_mm),
            (r0 - rim.leg_drop_mm, well_in - max(2.0 * rise, 1.0)),
            (r_well, well_in),
            (r_well, well_out),
            (r_seat, half - rim.seat_width_mm),
            (r0, half),
        ]
    )
    seat, leg, well = rim.seat_wall_mm, rim.leg_wall_mm, rim.well_wall_mm
    wall = np.array([seat, (seat + leg) / 2.0, leg, well, well, seat, seat])
    inner = offset_line(air, wall)
    return RimContour(air, inner, AIR_NAMES, r0, half, rim.flange_width_mm)


def flange_corners(contour: RimContour, side: int) -> list[Corner]:
    """Corners of one flange, from the tyre side over its top to the inner side.

    Parameters
    ----------
    contour : RimContour
        Contour of the rim.
    side : {-1, 1}
        -1 for the inboard flange, 1 for the outboard one.
    """
    where = "outboard" if side > 0 else "inboard"
    r0, top = contour.seat_radius, contour.seat_radius + FLANGE_HEIGHT
    z, edge = (
        side * contour.half_width,
        side * (contour.half_width + contour.flange_width),
    )
    under = contour.inner[-1 if side > 0 else 0]
    bead, rim_edge = f"flange {where}, bead side", f"flange {where}"
    return [
        Corner((r0, z), HEEL_RADIUS, bead, bead),
        Corner((top, z), FLANGE_RADIUS, rim_edge, rim_edge),
        Corner((top, edge), name=rim_edge),
        Corner((top - LIP_HEIGHT, edge), name=rim_edge),
        Corner((float(under[0]), side * (contour.half_width - 2.0)), name="rim inner"),
    ]


def inner_crossing(
    contour: RimContour, start: FloatArray, along: FloatArray
) -> tuple[int, FloatArray] | None:
    """First side of the inner contour that a ray meets.

    Parameters
    ----------
    contour : RimContour
        Contour of the rim.
    start, along : ndarray (2,)
        Start (r, z) and direction, both outward in r.

    Returns
    -------
    (side, point) or None
        Number of the side and the crossing; None if the ray passes the rim.
    """
    best = None
    for k in range(len(contour.inner) - 1):
        a, b = contour.inner[k], contour.inner[k + 1]
        point = crossing(start, along, a, b - a)
        t = float((point - a) @ (b - a) / ((b - a) @ (b - a)))
        reach = float((point - start) @ along)
        if -1e-9 <= t <= 1.0 and reach > 0 and (best is None or reach < best[0]):
            best = (reach, k, point)
    return None if best is None else (best[1], best[2])
