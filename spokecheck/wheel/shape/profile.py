"""The revolved section: rim and disc together as one filleted outline in (r, z)."""

from dataclasses import dataclass, replace

import numpy as np

from spokecheck.plane.curves import (
    Corner,
    Curve,
    ReducedRadius,
    as_point,
    crossing,
    round_corners,
)
from spokecheck.plane.joints import without_short_lines
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.hub import back_corners, front_corners
from spokecheck.wheel.shape.rim import (
    RimContour,
    flange_corners,
    inner_corners,
    rim_contour,
)
from spokecheck.wheel.shape.rim_joint import Joint, rim_joint
from spokecheck.wheel.shape.spoke_lines import SpokeLines, spoke_lines
from spokecheck.wheel.tables.design import Design

LEVEL = 0.02
"""Steps [mm] between hub and spoke below this are none."""

LEVEL_FRONT = 1.0
"""The same on the face side, where no load makes a notch of a step: narrower surfaces
make slivers."""

PAD_DRAFT = np.deg2rad(30.0)
"""Slope of the pad's side from the axis, common practice for casting draft."""

FLATTEST = np.deg2rad(88.0)
"""Slope of the pad's side that a low step needs for its fillet, at most."""

EDGE = 3.0
"""Rounding [mm] of the hub's edges that no key sets, common practice."""

BISECTIONS = 40
"""Halvings of the slopes among which that of the pad's side is searched."""


@dataclass(frozen=True)
class Profile:
    """Section of the wheel before windows and bolt holes are cut.

    Attributes
    ----------
    curves : tuple of Line and Arc
        Closed outline in (r, z) [mm], material to the left.
    reduced_radii : tuple of ReducedRadius
        Fillets that had to shrink.
    contour : RimContour
        The rim it was drawn on.
    """

    curves: tuple[Curve, ...]
    reduced_radii: tuple[ReducedRadius, ...]
    contour: RimContour


def draw_profile(design: Design) -> Profile:
    """Draw the section of a design.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.

    Returns
    -------
    Profile

    Raises
    ------
    ValueError
        If the spokes miss the rim; ``limits`` reports this beforehand.
    """
    contour = rim_contour(design.rim)
    lines = spoke_lines(design, contour)
    fillet = design.spokes.rim_fillet_mm
    face = rim_joint(contour, lines, "face", fillet)
    back = rim_joint(contour, lines, "back", fillet)
    if face is None or back is None:
        raise ValueError("the spokes miss the rim")
    corners = [
        *_hub_back(design, lines),
        *lines.corners("back"),
        *_barrel(contour, design, back),
        *contour.tyre_side,
        *_outboard(contour, design, face, lines),
        *lines.corners("face"),
        *_hub_front(design, lines),
    ]
    curves, reduced_radii = round_corners(corners)
    return Profile(without_short_lines(curves), reduced_radii, contour)


def _hub_back(design: Design, lines: SpokeLines) -> list[Corner]:
    """Bore edge, attachment face, pad side and the start of the spoke's back."""
    z0 = design.attachment + design.hub.outer_step
    pad = design.hub.pad_diameter_mm / 2.0
    edge = np.array([pad, z0])
    start = back_corners(design)
    if lines.at("back", pad) - z0 < LEVEL:
        return [*start, Corner((pad, z0), name="spoke back")]
    radius = design.hub.fillet_mm
    foot = _side_foot(edge, (0.0, radius), 1.0, lines.leg("back", "hub"))
    fillet = Corner(
        as_point(foot), radius, "spoke back", "hub fillet, back", "hub.fillet_mm"
    )
    return [*start, Corner((pad, z0), name="pad side"), fillet]


def _side_foot(
    edge: FloatArray,
    radii: tuple[float, float],
    up: float,
    leg: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Where the pad's side, from its edge outward, meets a side of the spokes.

    Parameters
    ----------
    edge : ndarray (2,)
        Edge of the pad (r, z) [mm]; the hub's plane there is square to the axle.
    radii : tuple of float
        Roundings at the edge and at the foot [mm].
    up : float
        1 where the side rises outboard, -1 where it falls.
    leg : tuple of ndarray (2,)
        Start and direction of the spokes' side.

    Returns
    -------
    ndarray (2,)
        Foot (r, z) [mm]; the side slopes by ``PAD_DRAFT``, or by as much more as a low
        step needs for both roundings.
    """

    def foot(draft: float) -> FloatArray:
        return crossing(edge, np.array([np.sin(draft), up * np.cos(draft)]), *leg)

    def room(draft: float) -> float:
        """Length of the side beyond its two roundings [mm]."""
        spoke = float(np.arctan2(up * leg[1][1], leg[1][0]))
        turns = np.array([np.pi / 2.0 - draft, np.pi / 2.0 - draft - spoke])
        tangents = np.array(radii) @ np.tan(np.abs(turns) / 2.0)
        return float(np.linalg.norm(foot(draft) - edge) - tangents)

    low, high = PAD_DRAFT, FLATTEST
    if room(low) >= 0.0 or room(high) < 0.0:
        return foot(low)
    for _ in range(BISECTIONS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if room(middle) >= 0.0 else (middle, high)
    return foot(high)


def _barrel(contour: RimContour, design: Design, joint: Joint) -> list[Corner]:
    """From the spoke's back along the inner side to the inboard flange."""
    side = joint.side
    fillet = Corner(
        as_point(joint.at),
        design.spokes.rim_fillet_mm,
        "rim inner",
        "rim fillet, back",
        "spokes.rim_fillet_mm",
    )
    # a well on this side has steep flanks, whose roundings must be meshed as such
    steep = "rim inner corner" if design.rim.well_side == "inboard" else ""
    inner = [
        replace(corner, fillet=steep) for corner in inner_corners(contour)[side:0:-1]
    ]
    if joint.rests:
        inner[0] = replace(inner[0], radius=0.0)
    bead, top, edge, lip, under = flange_corners(contour, -1)
    flange = [
        Corner(under.at, under.radius, "flange inboard"),
        Corner(lip.at, lip.radius, "flange inboard", lip.fillet),
        Corner(edge.at, edge.radius, "flange inboard", edge.fillet),
        Corner(top.at, top.radius, "flange inboard, bead side", "flange inboard"),
        Corner(bead.at, bead.radius, "bead seat inboard", "flange inboard, bead side"),
    ]
    return [fillet, *inner, *flange]


def _outboard(
    contour: RimContour,
    design: Design,
    joint: Joint,
    lines: SpokeLines,
) -> list[Corner]:
    """Over the outboard flange and back along the inner side to the spoke's face."""
    if design.rim.outboard_flange == "run-out":
        return _run_out(contour, design, lines)
    side = joint.side
    flange = flange_corners(contour, 1)
    if side == len(contour.inner) - 1:  # the face meets the flange's underside
        flange = flange[:-1]
    inner = inner_corners(contour)[-2:side:-1]
    if joint.rests and inner:
        inner[-1] = replace(inner[-1], radius=0.0)
    fillet = Corner(
        as_point(joint.at),
        design.spokes.rim_fillet_mm,
        "spoke face",
        "rim fillet, face",
        "spokes.rim_fillet_mm",
    )
    return [*flange, *inner, fillet]


def _run_out(contour: RimContour, design: Design, lines: SpokeLines) -> list[Corner]:
    """Over the outboard flange, then straight to where the spokes' face ends."""
    *flange, lip, _ = flange_corners(contour, 1)
    tip = contour.well_inner_radius
    return [
        *flange,
        Corner(lip.at, lip.radius, "rim face", lip.fillet),
        Corner(
            (tip, lines.at("face", tip)),
            design.spokes.rim_fillet_mm,
            "spoke face",
            "rim fillet, face",
            "spokes.rim_fillet_mm",
        ),
    ]


def _hub_front(design: Design, lines: SpokeLines) -> list[Corner]:
    """From the spoke's face over the hub's front to the bore."""
    front = design.attachment + design.hub.thickness_mm
    pad = design.hub.pad_diameter_mm / 2.0
    rise = front - lines.at("face", pad)
    if abs(rise) < LEVEL_FRONT:
        level = (pad, lines.at("face", pad))
        return [
            Corner(level, design.hub.fillet_mm, "hub front"),
            *front_corners(design, level[1]),
        ]
    radius, key, name = design.hub.fillet_mm, "hub.fillet_mm", "hub fillet, face"
    radii = (EDGE, radius) if rise > 0.0 else (radius, EDGE)
    foot = _side_foot(
        np.array([pad, front]), radii, -np.sign(rise), lines.leg("face", "hub")
    )
    if rise > 0.0:
        fillet = Corner(as_point(foot), radius, "hub front side", name, key)
        edge = Corner((pad, front), EDGE, "hub front")
    else:
        fillet = Corner(as_point(foot), EDGE, "hub front side")
        edge = Corner((pad, front), radius, "hub front", name, key)
    return [fillet, edge, *front_corners(design, front)]
