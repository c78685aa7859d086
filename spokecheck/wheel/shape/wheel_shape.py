"""The whole wheel as drawn: section, windows, cutters, and its symmetry."""

from dataclasses import dataclass, replace
from math import gcd

from spokecheck.plane.curves import outline_points
from spokecheck.wheel.shape.bolts import draw_bolt_hole
from spokecheck.wheel.shape.drawing import Drawing, RoundCutter, Window
from spokecheck.wheel.shape.edge_strips import draw_edge_strips, edge_radii
from spokecheck.wheel.shape.fallbacks import AS_DRAWN, Fallback, varied
from spokecheck.wheel.shape.hub_pockets import draw_pockets
from spokecheck.wheel.shape.profile import Profile, draw_profile
from spokecheck.wheel.shape.section_joints import clear_of_windows
from spokecheck.wheel.shape.sector_cut import low_cut
from spokecheck.wheel.shape.spoke_pockets import draw_spoke_pockets
from spokecheck.wheel.shape.valve import draw_valve
from spokecheck.wheel.shape.windows import draw_windows
from spokecheck.wheel.shape.zones import divide_section
from spokecheck.wheel.tables.design import Design


@dataclass(frozen=True)
class WheelShape:
    """A drawn wheel, before it is meshed.

    Attributes
    ----------
    asked, design : Design
        As asked for, and with the changes of ``fallback``: what it was drawn from.
    profile : Profile
        The section, with the rim it was drawn on.
    drawing : Drawing
        Input of the CAD kernel.
    bolt_hole : RoundCutter
        The cutter of the bolt holes, one of the drawing's.
    fallback : Fallback
        How the drawing departs from what was asked for.
    whole : bool
        Whether the whole wheel was asked for, whatever its symmetry.
    """

    asked: Design
    design: Design
    profile: Profile
    drawing: Drawing
    bolt_hole: RoundCutter
    fallback: Fallback = AS_DRAWN
    whole: bool = False

    @property
    def windows(self) -> tuple[Window, ...]:
        """Kinds of window in one repeat of the pattern, each with all its copies."""
        return self.drawing.windows

    @property
    def count(self) -> int:
        """Number N of equal sectors."""
        return self.drawing.count

    @property
    def window_range(self) -> tuple[float, float]:
        """Radii [mm] between which the windows lie."""
        return (
            min(window.inner for window in self.windows),
            max(window.outer for window in self.windows),
        )


def draw_wheel(
    design: Design, fallback: Fallback = AS_DRAWN, whole: bool = False
) -> WheelShape:
    """Draw the wheel of a design that has passed ``limits``.

    Parameters
    ----------
    design : Design
        As asked for.
    fallback : Fallback, optional
        How to depart from it.
    whole : bool, optional
        Draw the whole wheel, whatever its symmetry.

    Returns
    -------
    WheelShape

    Raises
    ------
    ValueError
        If the fallback leaves no room, or there is no other cut.
    """
    asked, design = design, varied(design, fallback)
    section = draw_profile(design)
    tip = section.contour.well_inner_radius
    windows = draw_windows(design.spokes, tip, design.attachment)
    clear = clear_of_windows(section.curves, windows, edge_radii(design.spokes))
    profile, divide = divide_section(design, replace(section, curves=clear))
    hollows = draw_spoke_pockets(design, profile)
    top = float(outline_points(profile.curves)[:, 1].max())
    bolt_hole = draw_bolt_hole(design.bolts, design.attachment, top)
    valve = draw_valve(design, profile)
    cutters = (bolt_hole, *draw_pockets(design, top), *valve)
    n = design.spokes.repeats
    cuts = windows, cutters, hollows
    edges = draw_edge_strips(design.spokes, profile.curves, windows)
    drawing = Drawing(design.name, profile.curves, *cuts, 1, 0.0, divide, edges=edges)
    # equal sectors: the common symmetry of spokes and bolts; a valve hole breaks it
    count = 1 if valve or whole else gcd(n, design.bolts.count)
    if count > 1:
        drawing = replace(drawing, count=count)
        drawing = replace(drawing, low_angle=low_cut(drawing, n, fallback.cut))
    return WheelShape(asked, design, profile, drawing, bolt_hole, fallback, whole)
