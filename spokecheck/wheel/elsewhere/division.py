"""How a solid from elsewhere is divided: its symmetry, its breaks, the sidecar's wish.

The CAD kernel finds the symmetry (``kernel/symmetry``).  Here it is decided how many
sectors are meshed, which small features are left out on request, and what is reported.
"""

import math
from dataclasses import dataclass

from spokecheck.errors import DesignError, Fault
from spokecheck.wheel.elsewhere.identification import centre_faults
from spokecheck.wheel.elsewhere.surface_search import WALL
from spokecheck.wheel.meshing.kernel.task import Break, Symmetry
from spokecheck.wheel.shape.departures import Departure
from spokecheck.wheel.tables.sidecar import Sidecar
from spokecheck.wheel.tables.sizes import parse_rim_size

HOLE = 25.0
"""A feature of the rim, such as a valve hole, is small up to so many mm across: a hole
of 8.3 or 11.3 mm with its spot face; own choice."""

RIM_DEPTH = 30.0
"""The rim begins this far inside the nominal radius [mm]: well and wall; own choice."""

MARK, MARK_DEPTH = 40.0, 0.5
"""A mark elsewhere is small up to so many mm across, and so deep or high [mm]; own
choice: a cast or stamped mark on a spoke, which a drawing keeps off its fillets."""

MARGIN = 2.0
"""Distance [mm] round the axle that a cut keeps from what is left out."""

ROUND = 0.2
"""A solid whose outermost points are less round than this [mm] is askew or no wheel."""

LISTED = 5
"""Breaks that are listed; the others are counted."""

KEY = "mesh.suppress_small_features"


@dataclass(frozen=True)
class Division:
    """How a solid is meshed.

    Attributes
    ----------
    sectors : int
        Equal sectors, of which one is meshed; 1 for the whole.
    mirror : float or None
        Angle [rad] of a plane through the axle that maps it onto itself.
    avoided : tuple of (float, float)
        Angles from, to [rad] without which it has so many sectors.
    remarks : tuple of str
        What breaks the symmetry.
    left_out : tuple of Departure
        Features left out on request.
    """

    sectors: int
    mirror: float | None
    avoided: tuple[tuple[float, float], ...] = ()
    remarks: tuple[str, ...] = ()
    left_out: tuple[Departure, ...] = ()

    @property
    def words(self) -> str:
        """Its sectors and mirror plane, for the report."""
        sectors = "meshed whole"
        if self.sectors > 1:
            sectors = f"one of {self.sectors} equal sectors meshed"
        if self.mirror is None:
            return f"{sectors}, no mirror plane found in its shape"
        period = math.pi / self.sectors
        degrees = math.degrees((self.mirror + 1e-6) % period)
        return f"{sectors}, mirrored at {degrees:.1f} deg by its shape"


def counts_tried(brief: Sidecar) -> tuple[int, ...]:
    """Numbers of sectors that bolts and spokes allow, the largest first.

    Spokes that the sidecar does not count are left to the shape.
    """
    shared = brief.bolts.count
    if brief.counts_spokes:
        shared = math.gcd(shared, brief.spokes.count)
    return tuple(n for n in range(shared, 0, -1) if shared % n == 0)


def divide(symmetry: Symmetry, brief: Sidecar, source: str) -> Division:
    """Decide how many sectors a solid has.

    Parameters
    ----------
    symmetry : Symmetry
        As found.
    brief : Sidecar
    source : str
        Its file, for messages.

    Returns
    -------
    Division

    Raises
    ------
    DesignError
        If the sidecar asks for more sectors than the solid has, with the breaks; or if
        it has no symmetry, since its centre is wrong.
    """
    if symmetry.nearly == 1 and len(symmetry.outermost):
        faults = centre_faults(symmetry.outermost, brief, ROUND)
        if faults:  # before the whole is meshed in vain
            raise DesignError(source, faults, "sidecar")
    asked = brief.mesh.sectors
    large = [one for one in symmetry.breaks if not is_small(one, brief)]
    suppressed = brief.mesh.suppress_small_features and not large
    sectors = symmetry.nearly if suppressed else symmetry.sectors
    if asked is not None and sectors % asked:
        raise DesignError(source, [_fault(symmetry, brief, asked, large)], "sidecar")
    if not symmetry.breaks or asked == 1:
        return Division(asked or sectors, symmetry.mirror)
    if suppressed:
        return Division(
            asked or sectors,
            symmetry.nearly_mirror,
            tuple(_avoided(one) for one in symmetry.breaks),
            left_out=tuple(_left_out(one) for one in symmetry.breaks),
        )
    # fewer sectors asked for than there are need no remark
    remark = _broken(symmetry, brief, large)
    return Division(asked or sectors, symmetry.mirror, (), (remark,))


def is_small(one: Break, brief: Sidecar) -> bool:
    """Whether a feature is small enough to be left out on request."""
    rim = parse_rim_size(brief.rim.size).diameter / 2.0 - RIM_DEPTH
    if one.radius > rim and one.across <= HOLE:
        return True
    pad = brief.hub.pad_diameter_mm / 2.0 + WALL
    return one.radius > pad and one.across <= MARK and one.depth <= MARK_DEPTH


def _avoided(one: Break) -> tuple[float, float]:
    """Angles [rad] that a feature takes up, with a margin."""
    half = one.half_angle + MARGIN / max(one.radius, MARGIN)
    return one.angle - half, one.angle + half


def _fault(symmetry: Symmetry, brief: Sidecar, asked: int, large: list[Break]) -> Fault:
    if symmetry.breaks:
        why = f"the solid differs from its turned copies {_places(symmetry)}"
    else:
        why = "turned by one sector, most of the solid does not lie on itself"
    least = symmetry.sectors
    remedy = f"leave mesh.sectors out, or give {least}" + (
        "" if least > 1 else "; check mesh.centre and mesh.direction too"
    )
    if symmetry.nearly % asked == 0 and symmetry.breaks:
        remedy = f"{_suppression(brief, large)}, or {remedy}"
    return Fault("mesh.sectors", str(asked), why, remedy)


def _broken(symmetry: Symmetry, brief: Sidecar, large: list[Break]) -> str:
    meshed = "the whole wheel is meshed"
    if symmetry.sectors > 1:
        meshed = f"one of {symmetry.sectors} sectors is meshed"
    return (
        f"the solid would have {symmetry.nearly} equal sectors, but differs from its "
        f"turned copies {_places(symmetry)}: {meshed}; {_suppression(brief, large)}"
    )


def _suppression(brief: Sidecar, large: list[Break]) -> str:
    """What the key that leaves small features out would do."""
    if large:
        return (
            f"{KEY} leaves out what is up to {HOLE:g} mm across in the rim, or up to "
            f"{MARK:g} mm across and {MARK_DEPTH:g} mm deep between hub and rim, which "
            f"{_shown(large[0])} is not"
        )
    return f"{KEY} = true leaves it out"


def _left_out(one: Break) -> Departure:
    """A feature that is left out, by what it measures."""
    return Departure(
        KEY,
        one.across,
        0.0,
        f"what breaks the symmetry {_shown(one)} is left out on request: stress at its "
        "edges is not screened",
    )


def _places(symmetry: Symmetry) -> str:
    shown = "; ".join(_shown(one) for one in symmetry.breaks[:LISTED])
    more = len(symmetry.breaks) - LISTED
    return shown if more <= 0 else f"{shown}; and at {more} more places"


def _shown(one: Break) -> str:
    """Where a break lies, and how large it is."""
    depth = f"{one.depth:.2g}" if one.depth < 1.0 else "1 or more"
    faces = "" if one.faces == 0 else f" with {_faces(one)} of {one.area:.0f} mm2"
    degrees = math.degrees(one.angle) % 360.0
    return (
        f"at r = {one.radius:.1f} mm, {degrees:.1f} deg, z = {one.z:.1f} mm "
        f"({one.across:.1f} mm across, {depth} mm off{faces})"
    )


def _faces(one: Break) -> str:
    return "a face" if one.faces == 1 else f"{one.faces} faces"
