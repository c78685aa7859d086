"""Landmarks of a wheel's shape that screening and reports use, drawn or identified."""

from dataclasses import dataclass

import numpy as np

from spokecheck.plane.curves import outline_points
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.spoke_lines import spoke_lines
from spokecheck.wheel.shape.wheel_shape import WheelShape

STATIONS = 48
"""Radii at which the depth of the spokes is tabulated."""


@dataclass(frozen=True)
class Landmarks:
    """A few measures of a wheel, drawn or identified.

    Attributes
    ----------
    seat_radius : float
        Radius of the bead seats at the flanges [mm].
    window_range : tuple of float
        Radii between which the spokes run [mm].
    depth : ndarray (n, 3)
        Radius, and z of the spokes' back and face there [mm]; radii ascend.
    """

    seat_radius: float
    window_range: tuple[float, float]
    depth: FloatArray

    def through(self, r: float, z: float) -> float:
        """Share of the way from the spokes' back to their face."""
        radius, back, face = self.depth.T
        low, high = np.interp(r, radius, back), np.interp(r, radius, face)
        return float((z - low) / max(high - low, 1e-9))


def drawn_landmarks(shape: WheelShape) -> Landmarks:
    """Landmarks of a wheel that was drawn."""
    profile = shape.profile
    lines = spoke_lines(shape.design, profile.contour)
    outer = float(outline_points(profile.curves)[:, 0].max())
    radius = np.linspace(0.0, outer, STATIONS)
    depth = [(r, lines.at("back", r), lines.at("face", r)) for r in radius]
    return Landmarks(
        profile.contour.seat_radius,
        shape.window_range,
        np.array(depth),
    )
