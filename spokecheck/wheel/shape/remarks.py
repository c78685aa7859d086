"""Remarks on what a drawing leaves out or changes, for every report."""

from spokecheck.wheel.shape.fallbacks import (
    AS_DRAWN,
    FAITHFUL,
    Fallback,
    varied,
)
from spokecheck.wheel.shape.profile import draw_profile
from spokecheck.wheel.shape.rim import rim_contour
from spokecheck.wheel.shape.rim_joint import rim_joints
from spokecheck.wheel.shape.spoke_lines import spoke_lines
from spokecheck.wheel.shape.spoke_pockets import RIB, draw_spoke_pockets
from spokecheck.wheel.shape.unused_keys import unused_keys
from spokecheck.wheel.tables.design import Brief, Design

WIDE_RING = 12.0
"""Rings wider than this [mm] between windows and rim get a remark."""


def drawing_remarks(design: Brief, fallback: Fallback = AS_DRAWN) -> tuple[str, ...]:
    """Remarks on what is and is not drawn, and why.

    Parameters
    ----------
    design : Brief
        Design; a wheel from elsewhere gets no remark.
    fallback : Fallback, optional
        How the drawing that was meshed departs from it.

    Returns
    -------
    tuple of str
        One sentence each, without a full stop.
    """
    if not isinstance(design, Design):
        return ()
    drawn = varied(design, fallback)
    writers = (_valve, _humps, _flange_edges, _ring, _rib)
    remarks = [write(drawn) for write in writers]
    remarks += [
        f"{key} is given but changes nothing: {why}"
        for key, why in unused_keys(design).items()
    ]
    remarks.append(_departure(fallback))
    return tuple(remark for remark in remarks if remark)


def _valve(design: Design) -> str:
    rim = design.rim
    if rim.valve == "modelled":
        return (
            f"the valve hole of {rim.valve_mm:g} mm is modelled: it breaks the "
            "symmetry, so the whole wheel is meshed"
        )
    return (
        'the valve hole is left out (rim.valve = "left-out"): it lies beside the '
        "spokes' load path and would break the symmetry that lets one sector stand "
        "for the wheel; stress at its edge is not screened"
    )


def _humps(design: Design) -> str:
    where = {
        "none": "on neither side, though ISO 4000-2 asks for one outboard",
        "outboard": "inboard",
        "both": "",
    }[design.rim.humps]
    if not where:
        return ""
    return (
        f"the round hump is left out {where} (rim.humps): 2 mm on the tyre side hardly "
        "stiffen the rim, and the bead's load is spread over the whole seat instead "
        "of up to the hump"
    )


def _flange_edges(design: Design) -> str:
    rim = design.rim
    if all(rim.on(side, "edge_radius_mm") for side in (-1, 1)):
        return ""
    return "flange edges without edge_radius_mm are drawn sharp; they are convex"


def _ring(design: Design) -> str:
    """Metal between the windows' ends and a rim whose well lies on the other side."""
    contour = rim_contour(design.rim)
    joints = rim_joints(contour, spoke_lines(design, contour))
    rim = min(joint[1][0] for joint in joints.values() if joint is not None)
    end = contour.well_inner_radius - design.spokes.rim_gap_mm
    if design.rim.well_side == "outboard" or rim - end < WIDE_RING:
        return ""
    return (
        f"windows end at radius {end:.1f} mm, clear of the well inboard of them, so a "
        f"ring of {rim - end:.1f} mm as deep as the spokes is left to the rim; a wheel "
        "whose windows reach the rim is lighter and less stiff there"
    )


def _rib(design: Design) -> str:
    if design.spokes.pocket is None:
        return ""
    pockets = draw_spoke_pockets(design, draw_profile(design))
    if not any(curve.name == RIB for pocket in pockets for curve in pocket.curves):
        return ""
    return (
        f"a rib of {design.spokes.pocket.wall_mm:g} mm is left between the two back "
        "pockets of a spoke: their roundings would run into each other"
    )


def _departure(fallback: Fallback) -> str:
    """That a fallback was taken, and what it changes beside the shape."""
    if fallback == AS_DRAWN:
        return ""
    parts = []
    if fallback.finer != 1.0:
        parts.append(f"edges {100.0 * (1.0 - 1.0 / fallback.finer):.0f} % shorter")
    if fallback.cut:
        parts.append("sectors cut at another angle")
    if fallback not in FAITHFUL:
        parts.append("another shape, see what is not drawn as asked for")
    return f"the wheel could not be meshed soundly at first; taken: {', '.join(parts)}"
