"""Limits of the windows' rounded edges: against section, spokes, holes and pockets."""

from collections.abc import Iterator, Sequence

from shapely import Polygon
from shapely.affinity import rotate
from shapely.ops import unary_union

from spokecheck.errors import Fault
from spokecheck.plane.curves import outline_points
from spokecheck.wheel.shape.drawing import EdgeStrip, Window
from spokecheck.wheel.shape.edge_strips import SIDES, side_strips
from spokecheck.wheel.shape.profile import Profile
from spokecheck.wheel.tables.design import Design

FLAT = 2.0
"""Metal [mm] left between a rounded edge and the next one, a hole or a pocket: narrower
faces would stand among slivers."""


def edge_faults(
    design: Design, windows: Sequence[Window], profile: Profile
) -> Iterator[Fault]:
    """Faults of rounded edges, those of the face first."""
    for side, (key, _) in SIDES.items():
        radius = getattr(design.spokes, key)
        if radius is None:
            continue
        shown = f"spokes.{key}", f"{radius:g} mm"
        try:
            strips = side_strips(side, radius, profile.curves, windows)
        except ValueError as failure:
            yield Fault(
                *shown,
                str(failure),
                "make it smaller, leave it out, or change spokes.rim_gap_mm or "
                "spokes.root_radius_mm, so that windows end further from the fillets",
            )
            continue
        yield from _crowded(design, windows, strips, side, shown)


def _crowded(
    design: Design,
    windows: Sequence[Window],
    strips: Sequence[EdgeStrip],
    side: int,
    shown: tuple[str, str],
) -> Iterator[Fault]:
    """Rounded edges that run into each other, the bolts or a back pocket."""
    reach = max(strip.reach for strip in strips)
    holes = [
        rotate(
            Polygon(outline_points(window.curves, 16)).buffer(reach + FLAT / 2.0),
            angle,
            origin=(0.0, 0.0),
            use_radians=True,
        )
        for window in windows
        for angle in window.angles
    ]
    if sum(hole.area for hole in holes) - unary_union(holes).area > 0.1:
        yield Fault(
            *shown,
            f"it ends {reach:.1f} mm beside the windows, and leaves less than {FLAT:g} "
            "mm between two of them",
            "make it smaller, or the spokes wider",
        )
    bolts = design.bolts
    inner = min(window.inner for window in windows) - reach
    holds = bolts.pitch_circle_mm / 2.0 + bolts.reach + FLAT
    if side > 0 and inner < holds:
        yield Fault(
            *shown,
            f"it ends at radius {inner:.1f} mm, {FLAT:g} mm beside the bolt seats is "
            f"{holds:.1f} mm",
            f"make it smaller, or raise spokes.root_radius_mm by "
            f"{holds - inner:.1f} mm",
        )
    pocket = design.spokes.pocket
    if side < 0 and pocket is not None and pocket.wall_mm < reach + FLAT:
        yield Fault(
            *shown,
            f"beside a back pocket it needs walls of {reach + FLAT:.1f} mm",
            "make it smaller, or raise spokes.pocket.wall_mm",
        )
