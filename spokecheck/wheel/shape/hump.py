"""The round hump that keeps a tyre's bead on its seat: three arcs of one radius.

Hollow, full, hollow, each running into the next, so that nothing is left to round and
the mesh needs no more than a few strips.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.plane.curves import Corner, as_point
from spokecheck.units import FloatArray
from spokecheck.wheel.tables.rim_table import SEAT_TAPER, Rim

SLACK = 1.5
"""Room for a rounding over its size below which it takes all: what is left would be a
strip too thin to mesh well."""

KEY = "rim.hump_radius_mm"


@dataclass(frozen=True)
class Hump:
    """Hump of an outboard seat in section; the inboard one is its mirror image.

    Attributes
    ----------
    radius, turn : float
        Radius of the arcs [mm], and slope of the flanks against the seat [rad].
    origin : ndarray (2,)
        Where the extended seat meets the flange face, (r, z) [mm].
    top : float
        Distance of its top from there, along the seat [mm].
    """

    radius: float
    turn: float
    origin: FloatArray
    top: float

    @property
    def half_width(self) -> float:
        """From its top to where it meets the seat, along the seat [mm]."""
        return float(2.0 * self.radius * np.sin(self.turn))

    @property
    def start(self) -> float:
        """Where the hump begins, along the seat from the flange face [mm]."""
        return self.top - self.half_width

    @property
    def end(self) -> float:
        """Where it ends [mm]."""
        return self.top + self.half_width

    def at(self, along: float, above: float) -> FloatArray:
        """Point (2,) at a distance along the seat and above it [mm]."""
        c, s = np.cos(SEAT_TAPER), np.sin(SEAT_TAPER)
        return np.asarray(
            self.origin + along * np.array([-s, -c]) + above * np.array([c, -s])
        )

    def corners(self, side: int, leaving: str) -> list[Corner]:
        """Three corners from inboard to outboard; ``leaving``: surface after them."""
        name = "hump outboard" if side > 0 else "hump inboard"
        slope, radius = self.turn, self.radius
        flank = radius * (np.tan(slope / 2.0) + np.tan(slope))
        off = flank * np.cos(slope)
        points = [
            self.at(self.top + off, 0.0),
            self.at(self.top, flank * np.sin(slope)),
            self.at(self.top - off, 0.0),
        ]
        if side < 0:
            points = [point * np.array([1.0, -1.0]) for point in points[::-1]]
        names = (name, name, leaving)
        return [
            Corner(as_point(point), radius, after, name, KEY)
            for point, after in zip(points, names, strict=True)
        ]

    def seat_end(self, rim: Rim, end: FloatArray, beyond: FloatArray) -> float:
        """Rounding [mm] that fits between the hump and the end of the seat.

        Parameters
        ----------
        rim : Rim
        end, beyond : ndarray (2,)
            End of the seat and the next point of the contour, on the outboard side.
        """
        room = float(np.linalg.norm(end - self.origin)) - self.end
        seat, then = self.origin - end, beyond - end
        bend = np.pi - np.arccos(
            np.clip(
                seat @ then / np.linalg.norm(seat) / np.linalg.norm(then), -1.0, 1.0
            )
        )
        fits = max(room, 0.0) / max(float(np.tan(bend / 2.0)), 1e-9)
        asked = rim.well_radius_mm
        return asked if fits > SLACK * asked else fits


def hump_of(rim: Rim, seat_radius: float, half_width: float) -> Hump:
    """Hump of a rim; its top lies ``hump_height_mm`` above the extended seat."""
    return Hump(
        rim.hump_radius_mm,
        rim.hump_turn,
        np.array([seat_radius, half_width]),
        float(rim.hump_position_mm / np.cos(SEAT_TAPER)),
    )
