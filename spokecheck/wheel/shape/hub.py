"""Back and front of the hub in section: relief, chamfer, cap recess.

Corners in (r, z), material to the left; each re-entrant one has its radius.
"""

from spokecheck.plane.curves import Corner
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.surface_names import ATTACHMENT


def back_corners(design: Design) -> list[Corner]:
    """From the bore along the attachment face, up to the pad's edge.

    The edge itself lies ``hub.outer_step`` above the face and is left to the caller.
    """
    hub, z0 = design.hub, design.attachment
    bore, chamfer = hub.bore_mm / 2.0, hub.chamfer
    low = z0 + hub.inner_step
    corners = []
    if chamfer > 0.0:
        corners.append(Corner((bore, low + chamfer), name="bore chamfer"))
    radius, key, foot = hub.relief_radius_mm, "hub.relief_radius_mm", "relief fillet"
    if hub.relief_inner_mm is None:
        corners.append(Corner((bore + chamfer, z0), name=ATTACHMENT))
    else:
        edge, step = hub.relief_inner_mm / 2.0, hub.relief_depth_mm
        corners += [
            Corner((bore + chamfer, low), name="relief"),
            Corner((edge - step, low), radius, "relief side", foot, key),
            Corner((edge, z0), name=ATTACHMENT),
        ]
    if hub.relief_outer_mm is not None:
        edge, step = hub.relief_outer_mm / 2.0, hub.relief_depth_mm
        corners += [
            Corner((edge, z0), name="relief side"),
            Corner((edge + step, z0 + step), radius, "relief", foot, key),
        ]
    return corners


def front_corners(design: Design, pad_height: float) -> list[Corner]:
    """From the hub's front to the bore, over the cap recess if there is one.

    Parameters
    ----------
    design : Design
        Design.
    pad_height : float
        z [mm] of the front at the pad's radius; from there it runs straight inward.
    """
    hub = design.hub
    front, bore = design.attachment + hub.thickness_mm, hub.bore_mm / 2.0
    if hub.cap_mm is None:
        return [Corner((bore, front), name="centre bore")]
    side, floor = hub.cap_mm / 2.0, front - hub.cap_depth_mm
    key, foot = "hub.cap_radius_mm", "cap recess fillet"
    share = (side - bore) / (hub.pad_diameter_mm / 2.0 - bore)
    edge = front + share * (pad_height - front)
    return [
        Corner((side, edge), name="cap recess"),
        Corner((side, floor), hub.cap_radius, "cap recess", foot, key),
        Corner((bore, floor), name="centre bore"),
    ]
