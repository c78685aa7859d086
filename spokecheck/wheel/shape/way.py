"""The way a wheel is meshed and solved: one sector, two parts joined, or the whole.

Spokes and bolts share g = gcd(repeats, bolts) equal sectors.
Three and more make one sector cheap.  With one or two, spokes and hub are meshed as one
sector each and joined on a ring, where there is room for one.
"""

from dataclasses import dataclass
from math import gcd

from spokecheck.wheel.shape.ring import LEAST_ROOM, Ring, find_ring
from spokecheck.wheel.shape.wheel_shape import WheelShape

ONE_SECTOR, JOINED, WHOLE = "one sector", "two parts joined", "whole wheel"
FEW = 2
"""Shared sectors up to which two parts are cheaper than one of them."""


@dataclass(frozen=True)
class Way:
    """How a wheel is meshed and first solved.

    Attributes
    ----------
    name : str
        ``ONE_SECTOR``, ``JOINED`` or ``WHOLE``.
    reason : str
        In words.
    ring : Ring or None
        Where the parts are joined.
    """

    name: str
    reason: str
    ring: Ring | None = None


AS_GIVEN = Way("as in the file", "a mesh from elsewhere is taken as it is")


def solid_way(sectors: int, whole: bool) -> Way:
    """The way for a solid from elsewhere, of which one of its sectors is meshed."""
    if whole:
        return Way(WHOLE, "asked for")
    if sectors == 1:
        return Way(WHOLE, "equal sectors of the solid were not found, or not asked for")
    return Way(ONE_SECTOR, f"the solid has {sectors} equal sectors")


def choose_way(shape: WheelShape) -> Way:
    """The way for a drawn wheel; no other place chooses it."""
    design = shape.design
    repeats, bolts = design.spokes.repeats, design.bolts.count
    shared = gcd(repeats, bolts)
    plain = ONE_SECTOR if shape.count > 1 else WHOLE
    if shape.whole:
        return Way(WHOLE, "asked for")
    if design.rim.valve == "modelled":
        return Way(WHOLE, "the modelled valve hole leaves no equal sectors")
    what = f"{repeats} repeats of the spokes on {bolts} bolts share"
    if shared > FEW or shared in (repeats, bolts):
        return Way(plain, f"{what} {shared} equal sector{'s' if shared > 1 else ''}")
    what = f"{what} {'no symmetry' if shared == 1 else f'only {shared} equal sectors'}"
    if min(repeats, bolts) < 2:
        return Way(plain, what)
    ring = find_ring(shape.drawing)
    if isinstance(ring, float):
        return Way(
            plain,
            f"{what}, and a ring between bolt holes and windows would have "
            f"{max(ring, 0.0):.1f} mm of room ({LEAST_ROOM:g} mm needed)",
        )
    return Way(JOINED, what, ring)


def without_parts(way: Way, shape: WheelShape, why: str) -> Way:
    """The way for a wheel whose two parts could not be meshed, and why not."""
    plain = ONE_SECTOR if shape.count > 1 else WHOLE
    return Way(plain, f"{way.reason}, but its two parts could not be meshed: {why}")
