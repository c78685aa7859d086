"""What the CAD kernel is told of a wheel: plane outlines and what to do with them.

Plain records without the design file, so that they travel to the mesher's process.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.units import FloatArray
from spokecheck.wheel.curves import Curve, outline_points


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
    """

    curves: tuple[Curve, ...]
    angles: tuple[float, ...]
    inner: float
    outer: float


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
    count : int
        Number N of equal sectors.
    low_angle : float
        Angle of the low cut [rad]; the high cut lies 2 pi / N further.
    """

    name: str
    section: tuple[Curve, ...]
    windows: tuple[Window, ...]
    cutters: tuple[RoundCutter, ...]
    count: int
    low_angle: float

    @property
    def span(self) -> float:
        """Angle of one sector [rad]."""
        return 2.0 * np.pi / self.count

    @property
    def z_range(self) -> tuple[float, float]:
        """Lowest and highest z of the section [mm]."""
        z = outline_points(self.section)[:, 1]
        return float(z.min()), float(z.max())
