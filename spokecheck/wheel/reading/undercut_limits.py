"""Limits of the undercut: within the spokes' length, clear of bend and pockets."""

from collections.abc import Iterator

import numpy as np

from spokecheck.errors import Fault
from spokecheck.wheel.reading.hub_limits import EXACT
from spokecheck.wheel.reading.spoke_limits import BACK_LEFT
from spokecheck.wheel.shape.rim import rim_contour
from spokecheck.wheel.shape.rim_joint import rim_joints
from spokecheck.wheel.shape.spoke_lines import BLEND, LEAST_BOW, spoke_lines
from spokecheck.wheel.tables.design import Design

LEAST_DEPTH = 6.0
"""Least depth [mm] of the spokes above an undercut, as between bows."""

FLOOR = 4.0
"""Least floor [mm] of an undercut between its slope and the rim's inner radius."""

APART = 3.0
"""Least distance [mm] of an undercut's edge from back pockets and the windows' hub
end."""


def undercut_faults(design: Design) -> Iterator[Fault]:
    """Faults of an undercut, none where there is none."""
    spokes, contour = design.spokes, rim_contour(design.rim)
    lines = spoke_lines(design, contour)
    if lines.cut is None or spokes.undercut_mm is None:
        return
    tip, (edge, foot) = contour.well_inner_radius, lines.cut[:, 0]
    least = float(foot - edge) + FLOOR
    most, why = _widest(design, tip)
    if not least - EXACT <= spokes.undercut_width_mm <= most + EXACT:
        yield Fault(
            "spokes.undercut_width_mm",
            f"{spokes.undercut_width_mm:g} mm",
            f"a slope of 45 degrees and {FLOOR:g} mm of floor need {least:.1f} mm; "
            f"up to {most:.1f} mm is possible, {why}",
            "change it, or make spokes.undercut_mm smaller",
        )
        return
    left = min(
        lines.at("face", r) - lines.at("back", r) for r in np.linspace(foot, tip, 5)
    )
    if left < LEAST_DEPTH - EXACT:
        most = spokes.undercut_mm - LEAST_DEPTH + left
        yield Fault(
            "spokes.undercut_mm",
            f"{spokes.undercut_mm:g} mm",
            f"it leaves {left:.1f} mm of the spokes' depth, {LEAST_DEPTH:g} mm are "
            "needed",
            f"lower it to {np.floor(10.0 * most) / 10.0:g} mm, or make the spokes "
            "deeper",
        )
        return
    joint = rim_joints(contour, lines)["back"]
    outboard = contour.half_width - BACK_LEFT
    if joint is None or joint[1][1] > outboard:
        yield Fault(
            "spokes.undercut_mm",
            f"{spokes.undercut_mm:g} mm",
            f"its floor misses the rim or meets it outboard of z = {outboard:.1f} mm",
            "make it smaller",
        )


def _widest(design: Design, tip: float) -> tuple[float, str]:
    """Largest width [mm] of the undercut, and what bounds it."""
    spokes = design.spokes
    length = tip - spokes.root_radius_mm
    bounds = [(length / 2.0, "half of the spokes' length")]
    if abs(spokes.back_bow_mm) >= LEAST_BOW:
        straight = (1.0 - BLEND) * length / 2.0
        bounds.append((straight, "where the bowed back is straight"))
    if spokes.pocket is not None:
        end = spokes.rim_gap_mm + spokes.pocket.end_mm
        why = f"{APART:g} mm beside the back pocket (spokes.pocket.end_mm)"
        bounds.append((end - APART, why))
    return min(bounds)
