"""How fine each surface of a wheel is meshed: one fineness number, a few rules.

Roundings that carry stress get a set number of edges on their quarter arc; roundings of
the rim's outline, far from the spokes' load path, follow the size of their neighbours.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import InputError
from spokecheck.plane.curves import Arc
from spokecheck.wheel.shape.ring import Ring
from spokecheck.wheel.shape.wheel_shape import WheelShape
from spokecheck.wheel.tables.surface_names import BOLT_SEAT, WELL, WELL_CORNER

LARGEST = 16.0
"""Edge length [mm] away from everything, at fineness 1."""

EDGES_PER_QUARTER = 2.0
"""Edges on the quarter arc of a stressed rounding, at fineness 1, before refinement;
fewer would fold second-order cells."""

STRESSED = (
    "hub fillet, back",
    "hub fillet, face",
    "rim fillet, back",
    "rim fillet, face",
    "window corner, hub",
    "window corner, rim",
    "window corner, side",
    "window edge",
    "window hub end",
    WELL_CORNER,
    "rim inner corner",
    "cap recess fillet",
    "counterbore fillet",
    "pocket fillet",
    "undercut fillet",
)

DIVIDED_PER_QUARTER = 2.6
"""The least for the fillets at the rim where rim and disc are two zones: between the
fillet and the line that parts the zones, fewer would fold cells (183 on a wheel
of seven spokes at 2.0, 16 at 2.6, for 4 % more unknowns)."""

COARSEST = 1.0
"""Least fineness.  A mesh of longer edges than the default's would not do: walls
are 5 to 10 mm thick, and curved cells of so few would fold."""

SHARE = {
    WELL: 0.5,
    "spoke back": 0.7,
    "spoke face": 0.7,
    "spoke side": 0.7,
    "pad side": 0.6,
    "hub front side": 0.6,
    "spoke pocket floor": 0.6,
    "spoke pocket wall": 0.6,
    "bolt hole": 0.45,
    BOLT_SEAT: 0.45,
    "bolt counterbore": 0.45,
    "pocket side": 0.45,
    "pocket floor": 0.45,
    "cap recess": 0.6,
}
"""Edge length of other surfaces as a share of the largest; all others have 1."""

CAP = {
    "flange inboard": 10.0,
    "flange outboard": 10.0,
    "flange inboard, bead side": 5.5,
    "flange outboard, bead side": 5.5,
    BOLT_SEAT: 6.0,
    "bolt counterbore": 6.0,
    "bore chamfer": 6.0,
    "flange edge inboard": 5.0,
    "flange edge outboard": 5.0,
    "hump inboard": 3.2,
    "hump outboard": 3.2,
    "relief": 8.0,
    "valve hole": 4.5,
    "relief fillet": 5.0,
    "relief side": 5.0,
}
"""Longest edge [mm] on tightly curved surfaces, for the same reason."""

ROUNDED_FLANGE = {"flange": 7.0, "flange edge": 4.2}
"""Longest edge [mm] on a flange whose edge is rounded.  That of the flange goes with
the rows on its edge (``kernel/rows.py``): with 8 mm a few cells beside them fold and
dent it.  That of the edge holds where a refinement leaves it to the mesher."""

EDGE_STRIP = 1.2
"""Edge length of a window's rounded edge as a share of its radius: 1.3 edges on a
quarter arc, which is convex and folds no cell."""

ON_ROUNDING = 1.25
"""Edges of the ring on a rounding may be longer than its own by this factor; they run
along it, across its bend the grid is no coarser."""


@dataclass(frozen=True)
class Fineness:
    """How fine to mesh; 1 is the default and the coarsest, 2 halves every edge.

    Attributes
    ----------
    factor : float
        Divides every edge length.

    Raises
    ------
    InputError
        If the factor is below ``COARSEST``.
    """

    factor: float = COARSEST

    def __post_init__(self) -> None:
        if not self.factor >= COARSEST:
            raise InputError(
                f"fineness {self.factor:g}: below {COARSEST:g}, where cells would fold "
                f"on thin walls and fillets; give {COARSEST:g} or more"
            )

    @property
    def largest(self) -> float:
        """Largest edge [mm]."""
        return LARGEST / self.factor

    def finer(self, by: float) -> "Fineness":
        """Fineness that makes every edge shorter by a factor."""
        return Fineness(by * self.factor)


def edge_lengths(shape: WheelShape, fineness: Fineness) -> dict[str, float]:
    """Target edge length [mm] of every named surface that differs from the largest.

    Parameters
    ----------
    shape : WheelShape
        Drawn wheel.
    fineness : Fineness
        Fineness.

    Returns
    -------
    dict of str to float
    """
    sizes = {name: share * fineness.largest for name, share in SHARE.items()}
    for name, cap in CAP.items():
        sizes[name] = min(cap, sizes.get(name, fineness.largest))
    sizes |= _rounded_flanges(shape)
    per_quarter = EDGES_PER_QUARTER * fineness.factor
    for pocket in shape.drawing.pockets:
        quarter = np.pi / 2.0 * pocket.floor_radius
        size = min(quarter / per_quarter, sizes["spoke pocket wall"])
        sizes["spoke pocket fillet"] = float(size)
    for strip in shape.drawing.edges:
        size = EDGE_STRIP * strip.radius / fineness.factor
        sizes[strip.name] = min(size, sizes.get(strip.name, np.inf))
    divided = shape.drawing.divide is not None
    windows = (curve for window in shape.windows for curve in window.curves)
    cutters = (curve for cutter in shape.drawing.cutters for curve in cutter.curves)
    for curve in (*shape.profile.curves, *windows, *cutters):
        if curve.name in STRESSED and isinstance(curve, Arc):
            edges = per_quarter
            if divided and curve.name.startswith("rim fillet"):
                edges = max(edges, DIVIDED_PER_QUARTER)
            quarter = np.pi / 2.0 * curve.radius
            size = min(quarter / edges, 0.7 * fineness.largest)
            sizes[curve.name] = min(float(size), sizes.get(curve.name, np.inf))
    return sizes


def longest_on_ring(shape: WheelShape, ring: Ring, fineness: Fineness) -> float:
    """Longest edge [mm] round the ring, that of a rounding on which it ends."""
    if not ring.rounding:
        return fineness.largest
    sizes = edge_lengths(shape, fineness)
    ends = [sizes.get(name, fineness.largest) for name in ring.rounding.split(", ")]
    return ON_ROUNDING * min(ends)


def _rounded_flanges(shape: WheelShape) -> dict[str, float]:
    """Edge lengths [mm] of the flanges whose edges are rounded."""
    drawn = {curve.name for curve in shape.profile.curves}
    return {
        f"{part} {side}": size
        for side in ("inboard", "outboard")
        if f"flange edge {side}" in drawn
        for part, size in ROUNDED_FLANGE.items()
    }
