"""The revolved section: rim and disc together as one filleted outline in (r, z)."""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import Fault
from spokecheck.units import FloatArray
from spokecheck.wheel.curves import (
    Corner,
    Curve,
    Squeeze,
    as_point,
    crossing,
    round_corners,
)
from spokecheck.wheel.design import Design
from spokecheck.wheel.rim import (
    CONTOUR_RADIUS,
    RimContour,
    flange_corners,
    inner_crossing,
    rim_contour,
)

STEP = 2.0
"""Smallest step [mm] drawn between hub and spoke; smaller ones are levelled."""

PAD_DRAFT = np.deg2rad(30.0)
"""Slope of the pad's side from the axis, common practice for casting draft."""


@dataclass(frozen=True)
class Profile:
    """Section of the wheel before windows and bolt holes are cut.

    Attributes
    ----------
    curves : tuple of Line and Arc
        Closed outline in (r, z) [mm], material to the left.
    squeezes : tuple of Squeeze
        Fillets that had to shrink.
    contour : RimContour
        The rim it was drawn on.
    """

    curves: tuple[Curve, ...]
    squeezes: tuple[Squeeze, ...]
    contour: RimContour


@dataclass(frozen=True)
class SpokeLines:
    """Front and back of the spokes in section, as lines r -> z.

    Attributes
    ----------
    root, tip : float
        Radii [mm] at which the design file gives heights.
    face, back : tuple of float
        z [mm] at root and tip.
    """

    root: float
    tip: float
    face: tuple[float, float]
    back: tuple[float, float]

    def at(self, which: str, r: float) -> float:
        """Height z [mm] of ``face`` or ``back`` at radius r, extended at both ends."""
        z0, z1 = self.face if which == "face" else self.back
        return z0 + (z1 - z0) * (r - self.root) / (self.tip - self.root)

    def direction(self, which: str) -> FloatArray:
        """Outward direction (2,) of the line in (r, z)."""
        z0, z1 = self.face if which == "face" else self.back
        return np.array([self.tip - self.root, z1 - z0])


def spoke_lines(design: Design, contour: RimContour) -> SpokeLines:
    """Section lines of the spokes of a design."""
    spokes, z0 = design.spokes, design.attachment
    face = (z0 + spokes.root_face_mm, z0 + spokes.tip_face_mm)
    back = (face[0] - spokes.root_depth_mm, face[1] - spokes.tip_depth_mm)
    return SpokeLines(spokes.root_radius_mm, contour.well_inner_radius, face, back)


def rim_joints(
    contour: RimContour, lines: SpokeLines
) -> dict[str, tuple[int, FloatArray] | None]:
    """Where the spoke's face and back meet the inner side of the rim."""
    return {
        which: inner_crossing(
            contour,
            np.array([lines.root, lines.at(which, lines.root)]),
            lines.direction(which),
        )
        for which in ("face", "back")
    }


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
    joints = rim_joints(contour, lines)
    face, back = joints["face"], joints["back"]
    if face is None or back is None:
        raise ValueError("the spokes miss the rim")
    corners = [
        *_hub_back(design, lines),
        *_barrel(contour, design, back),
        *_tyre_side(contour, design),
        *_outboard(contour, design, face),
        *_hub_front(design, lines),
    ]
    curves, squeezes = round_corners(corners)
    return Profile(curves, squeezes, contour)


def _hub_back(design: Design, lines: SpokeLines) -> list[Corner]:
    """Bore edge, attachment face, pad side and the start of the spoke's back."""
    z0, bore = design.attachment, design.hub.bore_mm / 2.0
    pad = design.hub.pad_diameter_mm / 2.0
    edge = np.array([pad, z0])
    start = [Corner((bore, z0), name="attachment face")]
    if lines.at("back", pad) - z0 < STEP:
        return [*start, Corner((pad, z0), name="spoke back")]
    foot = crossing(
        edge,
        np.array([np.sin(PAD_DRAFT), np.cos(PAD_DRAFT)]),
        np.array([lines.root, lines.at("back", lines.root)]),
        lines.direction("back"),
    )
    fillet = Corner(
        as_point(foot),
        design.hub.fillet_mm,
        "spoke back",
        "hub fillet, back",
        "hub.fillet_mm",
    )
    return [*start, Corner((pad, z0), name="pad side"), fillet]


def _barrel(
    contour: RimContour, design: Design, joint: tuple[int, FloatArray]
) -> list[Corner]:
    """From the spoke's back along the inner side to the inboard flange."""
    side, point = joint
    fillet = Corner(
        as_point(point),
        design.spokes.rim_fillet_mm,
        "rim inner",
        "rim fillet, back",
        "spokes.rim_fillet_mm",
    )
    inner = [
        Corner((float(r), float(z)), CONTOUR_RADIUS, "rim inner")
        for r, z in contour.inner[side:0:-1]
    ]
    bead, top, edge, lip, under = flange_corners(contour, -1)
    flange = [
        Corner(under.at, under.radius, "flange inboard"),
        Corner(lip.at, lip.radius, "flange inboard"),
        Corner(edge.at, edge.radius, "flange inboard"),
        Corner(top.at, top.radius, "flange inboard, bead side", "flange inboard"),
        Corner(bead.at, bead.radius, contour.names[0], "flange inboard, bead side"),
    ]
    return [fillet, *inner, *flange]


def _tyre_side(contour: RimContour, design: Design) -> list[Corner]:
    """Between the two flanges, along the air side."""
    radius, key = design.rim.well_radius_mm, "rim.well_radius_mm"
    return [
        Corner((float(r), float(z)), radius, name, "rim well corner", key)
        for (r, z), name in zip(contour.air[1:-1], contour.names[1:], strict=True)
    ]


def _outboard(
    contour: RimContour, design: Design, joint: tuple[int, FloatArray]
) -> list[Corner]:
    """Over the outboard flange and back along the inner side to the spoke's face."""
    side, point = joint
    inner = [
        Corner((float(r), float(z)), CONTOUR_RADIUS, "rim inner")
        for r, z in contour.inner[-2:side:-1]
    ]
    fillet = Corner(
        as_point(point),
        design.spokes.rim_fillet_mm,
        "spoke face",
        "rim fillet, face",
        "spokes.rim_fillet_mm",
    )
    return [*flange_corners(contour, 1), *inner, fillet]


def _hub_front(design: Design, lines: SpokeLines) -> list[Corner]:
    """From the spoke's face over the hub's front to the bore."""
    front = design.attachment + design.hub.thickness_mm
    bore, pad = design.hub.bore_mm / 2.0, design.hub.pad_diameter_mm / 2.0
    rise = front - lines.at("face", pad)
    top = Corner((bore, front), name="centre bore")
    if abs(rise) < STEP:
        level = (pad, lines.at("face", pad))
        return [Corner(level, design.hub.fillet_mm, "hub front"), top]
    foot = crossing(
        np.array([pad, front]),
        np.array([np.sin(PAD_DRAFT), -np.sign(rise) * np.cos(PAD_DRAFT)]),
        np.array([lines.root, lines.at("face", lines.root)]),
        lines.direction("face"),
    )
    low = as_point(foot)
    radius, key, name = design.hub.fillet_mm, "hub.fillet_mm", "hub fillet, face"
    if rise > 0:
        fillet = Corner(low, radius, "hub front side", name, key)
        edge = Corner((pad, front), 3.0, "hub front")
    else:
        fillet = Corner(low, 3.0, "hub front side")
        edge = Corner((pad, front), radius, "hub front", name, key)
    return [fillet, edge, top]


def squeezed_faults(profile: Profile, least: float = 0.5) -> list[Fault]:
    """Faults for fillets that found less than ``least`` of the room they want."""
    return [
        Fault(
            s.key,
            f"{s.wanted:g} mm",
            f"the {s.where} has room for {s.got:.1f} mm only",
            "make it smaller, or move the surfaces that meet there further apart",
        )
        for s in profile.squeezes
        if s.key and s.got < least * s.wanted
    ]
