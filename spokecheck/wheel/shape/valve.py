"""The valve hole: drilled through the flank of the well, once, so symmetry is lost.

References
----------
11.3 mm for a rubber snap-in valve, and a place in the well's outboard flank, where the
valve can be reached from the face: common practice, from memory.
"""

from collections.abc import Iterator

import numpy as np
from shapely import LineString, Polygon, box, prepare
from shapely.affinity import rotate, translate

from spokecheck.errors import Fault
from spokecheck.plane.curves import Line, as_point, outline_points
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import RoundCutter
from spokecheck.wheel.shape.profile import Profile, draw_profile
from spokecheck.wheel.tables.design import Design

LONGEST = 120.0
"""Longest way [mm] a valve hole is looked for on either side of the flank."""

STEP = 0.5
"""Step [mm] of that search."""

MARGIN = 1.0
"""Room [mm] around the hole in which its end must lie in air."""

APART = 2.0
"""Least distance [mm] of the hole from bead seats, humps and flanges."""

KEPT_CLEAR = ("bead seat", "hump", "flange")


def draw_valve(design: Design, profile: Profile) -> tuple[RoundCutter, ...]:
    """Draw the cutter of the valve hole, if it is modelled.

    Parameters
    ----------
    design : Design
        Its rim must have passed ``rim_limits``.
    profile : Profile
        Its section.

    Returns
    -------
    tuple of RoundCutter
        None or one, the foot of its axis in the middle of the flank.

    Raises
    ------
    ValueError
        If the hole meets no air within reach, or runs too near the bead;
        ``valve_faults`` reports this beforehand.
    """
    rim = design.rim
    if rim.valve == "left-out":
        return ()
    foot, tilt = _axis(design, profile)
    radius = rim.valve_mm / 2.0
    metal = Polygon(outline_points(profile.curves, 16))
    prepare(metal)
    ends = [_end(metal, foot, tilt, radius, sign) for sign in (-1.0, 1.0)]
    low, high = ends
    corridor = _corridor(foot, tilt, radius + APART, (low, high))
    for curve in profile.curves:
        if curve.name.startswith(KEPT_CLEAR) and corridor.intersects(
            LineString([curve.start, curve.end])
        ):
            raise ValueError(f"it comes within {APART:g} mm of the {curve.name}")
    points = [(0.0, low), (radius, low), (radius, high), (0.0, high)]
    names = ("cutter", "valve hole", "cutter", "cutter")
    sides = zip(points, (*points[1:], points[0]), names, strict=True)
    curves = tuple(Line(a, b, name) for a, b, name in sides)
    angle = rim.valve_angle_deg
    share = np.pi / design.spokes.count
    turn = share if angle is None else float(np.deg2rad(angle))
    return (RoundCutter(curves, as_point(foot), (turn,), radius, tilt),)


def _axis(design: Design, profile: Profile) -> tuple[FloatArray, float]:
    """Middle of the well's outboard flank, and the lean [rad] of the valve there."""
    contour = profile.contour
    start, end = (contour.air[k] for k in contour.flank)
    along = end - start
    lean = design.rim.valve_tilt_deg
    square = float(np.arctan2(-along[1], along[0]))
    return (start + end) / 2.0, square if lean is None else float(np.deg2rad(lean))


def _corridor(
    foot: FloatArray, tilt: float, radius: float, ends: tuple[float, float]
) -> Polygon:
    """Section of the hole in (r, z), widened to ``radius``, between two heights."""
    upright = box(-radius, ends[0], radius, ends[1])
    # a positive lean turns +z towards +r, which is clockwise in (r, z)
    turned = rotate(upright, -tilt, origin=(0.0, 0.0), use_radians=True)
    return translate(turned, foot[0], foot[1])


def _end(
    metal: Polygon, foot: FloatArray, tilt: float, radius: float, sign: float
) -> float:
    """Height along the axis [mm] at which the whole hole has left the metal."""
    for reach in np.arange(STEP, LONGEST, STEP):
        near = (sign * reach, sign * (reach + 2.0 * MARGIN))
        slab = _corridor(foot, tilt, radius + MARGIN, (min(near), max(near)))
        if not metal.intersects(slab):
            return float(sign * (reach + MARGIN))
    side = "tyre" if sign < 0 else "outer"
    raise ValueError(
        f"on the {side} side the hole is still in metal after {LONGEST:g} mm at a tilt "
        f"of {np.rad2deg(tilt):.0f} deg"
    )


def valve_faults(design: Design) -> Iterator[Fault]:
    """Faults of the valve hole of a design that can be drawn otherwise."""
    rim = design.rim
    if rim.valve == "left-out":
        return
    profile = draw_profile(design)
    start, end = (profile.contour.air[k] for k in profile.contour.flank)
    flank = float(np.linalg.norm(end - start))
    if rim.valve_mm > flank:
        yield Fault(
            "rim.valve_mm",
            f"{rim.valve_mm:g} mm",
            f"the well's outboard flank is {flank:.1f} mm long",
            "make it smaller or the well deeper",
        )
        return
    try:
        draw_valve(design, profile)
    except ValueError as failure:
        shown = "" if rim.valve_tilt_deg is None else f"{rim.valve_tilt_deg:g} deg"
        yield Fault(
            "rim.valve_tilt_deg",
            shown,
            str(failure),
            'change the tilt or rim.valve_mm, or set valve = "left-out"',
        )
