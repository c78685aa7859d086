"""Input of the CAD kernel: plane outlines, and how each is revolved or extruded.

Plain records without the design file, so that they travel to the mesher's process.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from spokecheck.plane.curves import Curve, Point, outline_points
from spokecheck.units import FloatArray

DISC, RIM = "disc", "rim"
ZONES = (DISC, RIM)
"""Zones of a wheel whose rim is another metal or another part."""

WHOLE = "wheel"
"""The zone of a wheel that is one metal and one part."""


CLEARANCE = 5.0
"""How far [mm] prisms and cutters stick out of the part."""


@dataclass(frozen=True)
class Window:
    """A window in the face view, cut through along the axle.

    Attributes
    ----------
    curves : tuple of Line and Arc
        Closed outline in (x, y) [mm], anticlockwise, before it is turned.
    angles : tuple of float
        Turns [rad] about the axle that give its copies.
    inner, outer : float
        Smallest and largest radius [mm].
    draft : float
        Slope of its sides from the axle [rad]: it widens towards the back.
    datum : float
        z [mm] at which the outline holds.
    """

    curves: tuple[Curve, ...]
    angles: tuple[float, ...]
    inner: float
    outer: float
    draft: float = 0.0
    datum: float = 0.0

    def growth(self, z: float) -> float:
        """How far [mm] the sides lie outside the outline at height z."""
        return float(np.tan(self.draft)) * (self.datum - z)


@dataclass(frozen=True)
class RoundCutter:
    """A cutter of revolution about an axis of its own, such as a bolt hole.

    The axis lies in a plane through the axle.

    Attributes
    ----------
    curves : tuple of Line and Arc
        Closed outline in (rho, h) [mm]: distance from the axis, height along it.
    foot : tuple of float
        The point h = 0 of the axis, (r, z) [mm].
    angles : tuple of float
        Angles [rad] of the copies.
    reach : float
        Largest radius of the cutter [mm].
    tilt : float
        Lean of the axis [rad] from +z outward.
    """

    curves: tuple[Curve, ...]
    foot: tuple[float, float]
    angles: tuple[float, ...]
    reach: float
    tilt: float = 0.0

    def frame(self, angle: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Foot, axis and a direction square to it, each (3,), of the copy at an angle.

        The third lies in the plane through the axle and points outward.
        """
        out = np.array([np.cos(angle), np.sin(angle), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        s, c = np.sin(self.tilt), np.cos(self.tilt)
        return (
            self.foot[0] * out + self.foot[1] * up,
            s * out + c * up,
            c * out - s * up,
        )


@dataclass(frozen=True)
class PocketCutter:
    """A hollow cut from the back, with a plane floor and a radius all round it.

    Attributes
    ----------
    curves : tuple of Line and Arc
        Closed outline in the plane of the floor (u, v) [mm], anticlockwise and without
        a corner: u outward from the origin, v square to it.
    origin : tuple of float
        Point of the floor plane (r, z) [mm].
    tilt : float
        Rise of the floor along u [rad].
    floor_radius : float
        Radius between floor and walls [mm].
    height : float
        How far [mm] the cutter reaches down from the floor.
    angles : tuple of float
        Angles [rad] of the copies.
    """

    curves: tuple[Curve, ...]
    origin: tuple[float, float]
    tilt: float
    floor_radius: float
    height: float
    angles: tuple[float, ...]

    def frame(self, angle: float) -> tuple[FloatArray, FloatArray]:
        """Origin (3,) and directions (3, 3) of u, v and the floor's upward normal."""
        out = np.array([np.cos(angle), np.sin(angle), 0.0])
        left = np.array([-np.sin(angle), np.cos(angle), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        s, c = np.sin(self.tilt), np.cos(self.tilt)
        origin = self.origin[0] * out + self.origin[1] * up
        return origin, np.stack([c * out + s * up, left, c * up - s * out])


@dataclass(frozen=True)
class EdgeStrip:
    """The rounded edge of a window along one curve of its outline, on face or back.

    In each plane square to the outline and along the axle, the rounding is an arc that
    touches the window's side and the section.  Planes are placed by the share of the
    curve's length; in each, d is the distance outward from the outline.

    Attributes
    ----------
    name : str
        Surface.
    curve : Line or Arc
        Of the outline in (x, y) [mm], before it is turned.
    angles : tuple of float
        Turns [rad] about the axle that give the window's copies.
    side : int
        1 on the face, -1 on the back.
    radius : float
        [mm].
    wall : float
        Direction [rad] from the centre to where the arc meets the window's side, as on
        the face.
    path : tuple of tuple of float
        Share of the curve, d and side * z of the centre [mm], direction [rad] to where
        the arc meets the section; from the start of the curve to its end.
    stations : tuple of int
        Places on the path through which the surface is laid.
    """

    name: str
    curve: Curve
    angles: tuple[float, ...]
    side: int
    radius: float
    wall: float
    path: tuple[tuple[float, float, float, float], ...]
    stations: tuple[int, ...]

    @cached_property
    def reach(self) -> float:
        """Largest distance [mm] from the outline at which it meets the section."""
        return max(d + self.radius * float(np.cos(way)) for _, d, _, way in self.path)


@dataclass(frozen=True)
class Divide:
    """A line across the section that parts the rim from the disc.

    Attributes
    ----------
    name : str
        Name of the surface it sweeps, inside the metal.
    curves : tuple of Line and Arc
        From the back of the section to its face, (r, z) [mm].
    first, last : int
        The rim's part of the section is ``section[first:last]``; the line runs from the
        start of curve ``first`` to the start of curve ``last``.
    """

    name: str
    curves: tuple[Curve, ...]
    first: int
    last: int


@dataclass(frozen=True)
class RingGrid:
    """How the face on which a sector meets the other part of the wheel is meshed.

    Attributes
    ----------
    back, face : tuple of float
        Ends (r, z) [mm] of its line across the section.
    strips : int
        Equal strips that it is divided into from cut to cut.
    along, around : int
        Edges on the line, and round one strip.
    """

    back: Point
    face: Point
    strips: int
    along: int
    around: int


@dataclass(frozen=True)
class Drawing:
    """A wheel, or one of its sectors, as the CAD kernel builds it.

    Attributes
    ----------
    name : str
        For messages.
    section : tuple of Line and Arc
        Closed outline in (r, z) [mm], material to the left.
    windows : tuple of Window
    cutters : tuple of RoundCutter
    pockets : tuple of PocketCutter
    count : int
        Number N of equal sectors.
    low_angle : float
        Angle of the low cut [rad]; the high cut lies 2 pi / N further.
    divide : Divide or None
        Between rim and disc, where they are two zones.
    ring : RingGrid or None
        Where the sector is one of a part of the wheel, spokes or hub.
    edges : tuple of EdgeStrip
        Rounded edges of the windows.
    """

    name: str
    section: tuple[Curve, ...]
    windows: tuple[Window, ...]
    cutters: tuple[RoundCutter, ...]
    pockets: tuple[PocketCutter, ...]
    count: int
    low_angle: float
    divide: Divide | None = None
    ring: RingGrid | None = None
    edges: tuple[EdgeStrip, ...] = ()

    @cached_property
    def edge_reach(self) -> float:
        """Largest distance [mm] from a window at which a rounded edge ends."""
        return max((strip.reach for strip in self.edges), default=0.0)

    @property
    def span(self) -> float:
        """Angle of one sector [rad]."""
        return 2.0 * np.pi / self.count

    @property
    def z_range(self) -> tuple[float, float]:
        """Lowest and highest z of the section [mm]."""
        z = outline_points(self.section)[:, 1]
        return float(z.min()), float(z.max())
