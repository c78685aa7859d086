"""Zones of the wheel: where the rim ends and the disc begins, as a line in the section.

The rim is a separate zone where its alloy differs (flow-formed, spun) or where it is a
separate part (two-piece).
The line is swept about the axle, so the cells of the two zones share its faces.

Flow-formed: the line sets out square from the rim's inner side where the fillet of the
spoke's back ends, follows the middle of the rim's wall, and comes back square to where
the fillet of the face begins.
So both fillets stay with the disc, whose metal they are, and the window ends keep half
a wall between themselves and the line: on the inner side itself, a skin as thin as
``rim_gap_mm`` would be left to mesh.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from spokecheck.errors import Fault
from spokecheck.plane.curves import Curve, Line, Point, as_point
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Divide, Window
from spokecheck.wheel.shape.profile import Profile
from spokecheck.wheel.shape.rim import RimContour
from spokecheck.wheel.tables.design import Brief, Design

BOUNDARY = "zone boundary"
JOINT = "joint"

SHORTEST_STEP = 2.0
"""Corners of the line nearer to each other than this [mm] are one."""

JOINT_ROOM = 3.0
"""Least distance [mm] of a joint from the fillets beside it; shorter pieces would be
meshed with slivers."""

RIM_SIDE, FACE_FILLET = "rim inner", "rim fillet, face"


def has_zones(design: Design) -> bool:
    """Whether the rim is a separate zone."""
    material = design.material
    other = material.rim_alloy not in (None, material.alloy)
    return other or design.rim.construction == "two-piece"


def construction(design: Brief) -> str:
    """How rim and disc are joined; a wheel from elsewhere counts as one piece."""
    return design.rim.construction if isinstance(design, Design) else "one-piece"


def zone_notes(design: Brief) -> tuple[str, ...]:
    """Construction in words, for reports."""
    if construction(design) != "two-piece":
        return ()
    return (
        "two-piece: rim and centre are bonded over the whole joint; bolts or weld, "
        "their clamp force, slip and seal are not modelled and need a separate check",
    )


def divide_section(design: Design, profile: Profile) -> tuple[Profile, Divide | None]:
    """Line between rim and disc.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    profile : Profile
        Its section.

    Returns
    -------
    profile : Profile
        With a corner of the outline wherever the line ends.
    divide : Divide or None
        None if the wheel is one zone.

    Raises
    ------
    ValueError
        If the line has no place; ``limits`` reports this beforehand.
    """
    if not has_zones(design):
        return profile, None
    if design.rim.construction == "two-piece":
        return _joint(design, profile)
    first, last = rim_part(profile.curves)
    start, end = profile.curves[first].start, profile.curves[last].start
    line = [start, *_along_wall(profile.contour, start, end), end]
    return profile, Divide(BOUNDARY, _polyline(line, BOUNDARY), first, last)


def rim_part(curves: tuple[Curve, ...]) -> tuple[int, int]:
    """First curve of the rim's side of the outline, and the one after its last."""
    names = [curve.name for curve in curves]
    if RIM_SIDE not in names or names[-1] == RIM_SIDE:
        raise ValueError("the rim's inner side is hidden by its fillets")
    if FACE_FILLET in names:
        return names.index(RIM_SIDE), names.index(FACE_FILLET)
    last = max(k for k, name in enumerate(names) if name == RIM_SIDE)
    return names.index(RIM_SIDE), last + 1


def _polyline(points: list[Point], name: str) -> tuple[Curve, ...]:
    return tuple(Line(a, b, name) for a, b in pairwise(points))


def _along_wall(contour: RimContour, start: Point, end: Point) -> list[Point]:
    """Points on the middle of the wall from below ``start`` to below ``end``."""
    middle = (contour.air + contour.inner) / 2.0
    (k0, t0, first), (k1, t1, last) = (
        _foot(middle, np.array(point)) for point in (start, end)
    )
    if k0 + t0 >= k1 + t1:
        raise ValueError("the spoke's back meets the rim outboard of its face")
    kept = [first]
    for corner in middle[k0 + 1 : k1 + 1]:
        apart = [np.linalg.norm(corner - other) for other in (kept[-1], last)]
        if min(apart) > SHORTEST_STEP:
            kept.append(corner)
    return [as_point(point) for point in (*kept, last)]


def _foot(line: FloatArray, point: FloatArray) -> tuple[int, float, FloatArray]:
    """Nearest point of an open polyline: its side, its share of it, and itself."""
    side = np.diff(line, axis=0)
    share = ((point - line[:-1]) * side).sum(axis=1) / (side * side).sum(axis=1)
    share = np.clip(share, 0.0, 1.0)
    feet = line[:-1] + share[:, None] * side
    k = int(np.linalg.norm(feet - point, axis=1).argmin())
    return k, float(share[k]), feet[k]


def _joint(design: Design, profile: Profile) -> tuple[Profile, Divide]:
    """Joint of a two-piece wheel: a cylinder, or a step upon the rim's leg."""
    rim = design.rim
    assert rim.joint_radius_mm is not None, "limits asks for it"
    radius, leg = rim.joint_radius_mm, rim.joint_leg_mm
    curves, first = _split(profile.curves, "spoke back", radius)
    if leg is None:
        curves, last = _split(curves, "spoke face", radius)
        line = [curves[first].start, curves[last].start]
    else:
        _, last = rim_part(curves)
        foot = curves[first].start
        seat, end = (foot[0], foot[1] + leg), curves[last].start
        middle = (profile.contour.air + profile.contour.inner) / 2.0
        _, _, under = _foot(middle, np.array(end))
        line = [foot, seat, *_up_to(middle, seat[1], under), end]
    divide = Divide(JOINT, _polyline(line, JOINT), first, last)
    return replace(profile, curves=curves), divide


def _up_to(middle: FloatArray, height: float, under: FloatArray) -> list[Point]:
    """From where a level meets the wall's middle along it to a point on it."""
    z = middle[:, 1]
    if not z[0] < height < under[1] - SHORTEST_STEP:
        raise ValueError("the rim's leg is as deep as the spokes")
    level = np.array([np.interp(height, z, middle[:, 0]), height])
    between = [
        corner
        for corner in middle
        if level[1] + SHORTEST_STEP < corner[1] < under[1] - SHORTEST_STEP
    ]
    return [as_point(point) for point in (level, *between, under)]


def _split(
    curves: tuple[Curve, ...], name: str, radius: float
) -> tuple[tuple[Curve, ...], int]:
    """Outline with a corner where a straight side crosses a radius, and its number."""
    for k, curve in enumerate(curves):
        if curve.name != name or not isinstance(curve, Line):
            continue
        (r0, z0), (r1, z1) = curve.start, curve.end
        low, high = sorted((r0, r1))
        if low + JOINT_ROOM < radius < high - JOINT_ROOM:
            cut = (radius, z0 + (z1 - z0) * (radius - r0) / (r1 - r0))
            parts = replace(curve, end=cut), replace(curve, start=cut)
            return (*curves[:k], *parts, *curves[k + 1 :]), k + 1
    raise ValueError(f"a joint at {radius:g} mm misses the straight {name}")


def zone_faults(
    design: Design, profile: Profile, windows: Sequence[Window]
) -> list[Fault]:
    """Faults that keep a drawn section from being divided into zones."""
    rim = design.rim
    two_piece = rim.construction == "two-piece"
    if two_piece and rim.joint_radius_mm is None:
        return [
            Fault(
                "rim.joint_radius_mm",
                "missing",
                "a two-piece wheel needs the radius of its joint",
                "give the inner radius of the rim's leg",
            )
        ]
    if not two_piece and (rim.joint_radius_mm, rim.joint_leg_mm) != (None, None):
        return [
            Fault(
                "rim.construction",
                rim.construction,
                "rim.joint_radius_mm and rim.joint_leg_mm belong to two-piece wheels",
                'remove them, or set construction = "two-piece"',
            )
        ]
    try:
        divide_section(design, profile)
    except ValueError as failure:
        key = "rim.joint_radius_mm" if two_piece else "material.rim_alloy"
        value = (
            f"{rim.joint_radius_mm:g} mm"
            if two_piece
            else str(design.material.rim_alloy)
        )
        return [Fault(key, value, str(failure), _remedy(profile, two_piece))]
    ends = {end for window in windows for end in (window.inner, window.outer)}
    return [
        Fault(
            "rim.joint_radius_mm",
            f"{rim.joint_radius_mm:g} mm",
            f"grazes the ends of windows at {end:.1f} mm",
            f"keep {JOINT_ROOM:g} mm away from it",
        )
        for end in sorted(ends)
        if two_piece and abs((rim.joint_radius_mm or 0.0) - end) < JOINT_ROOM
    ]


def _remedy(profile: Profile, two_piece: bool) -> str:
    if not two_piece:
        return "make the fillets between spokes and rim smaller"
    spans = [
        sorted((c.start[0], c.end[0]))
        for c in profile.curves
        if c.name in ("spoke back", "spoke face") and isinstance(c, Line)
    ]
    if not spans:
        return "make the fillets of the spokes smaller"
    low = max(span[0] for span in spans) + JOINT_ROOM
    high = min(span[1] for span in spans) - JOINT_ROOM
    return f"keep it between {low:.1f} and {high:.1f} mm, the leg below the face"
