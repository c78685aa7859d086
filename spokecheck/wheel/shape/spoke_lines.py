"""Face and back of the spokes in section, before roundings.

An undercut is a groove turned into the back beside the rim: the back steps outboard
over a slope of 45 degrees, and runs on parallel to itself until it meets the rim.
"""

from dataclasses import dataclass, replace

import numpy as np

from spokecheck.plane.curves import Corner, as_point, crossing
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.rim import RimContour
from spokecheck.wheel.tables.design import Design


@dataclass(frozen=True)
class SpokeLines:
    """Front and back of the spokes in section, each as a line or two legs with a bend.

    Attributes
    ----------
    face, back : ndarray (2 or 3, 2)
        Corners (r, z) [mm] from hub to rim; one in the middle where the side bows.
        The back is that without an undercut.
    cut : ndarray (2, 2) or None
        Upper and lower end of the undercut's slope (r, z) [mm].
    cut_radius : float
        Rounding at its lower end [mm].
    """

    face: FloatArray
    back: FloatArray
    cut: FloatArray | None = None
    cut_radius: float = 0.0

    @property
    def uncut(self) -> "SpokeLines":
        """The same without the undercut."""
        return replace(self, cut=None)

    def _side(self, which: str) -> FloatArray:
        return self.face if which == "face" else self.back

    def at(self, which: str, r: float) -> float:
        """Height z [mm] of ``face`` or ``back`` at radius r, extended at both ends."""
        side = self._side(which)
        k = 0 if len(side) == 2 or r < side[1, 0] else 1
        (r0, z0), (r1, z1) = side[k], side[k + 1]
        z = float(z0 + (z1 - z0) * (r - r0) / (r1 - r0))
        if which == "face" or self.cut is None:
            return z
        (r0, z0), (r1, z1) = self.cut
        rate = (side[-1, 1] - side[-2, 1]) / (side[-1, 0] - side[-2, 0])
        depth = (z1 - z0) - rate * (r1 - r0)
        return z + float(depth * np.clip((r - r0) / (r1 - r0), 0.0, 1.0))

    def leg(self, which: str, end: str) -> tuple[FloatArray, FloatArray]:
        """Start (2,) and outward direction (2,) of the leg at ``hub`` or ``rim``."""
        side = self._side(which)
        k = 0 if end == "hub" else len(side) - 2
        start, along = np.asarray(side[k]), np.asarray(side[k + 1] - side[k])
        if self.cut is not None and (which, end) == ("back", "rim"):
            return np.asarray(self.cut[1]), along
        return start, along

    def corners(self, which: str) -> list[Corner]:
        """Corners of a side between hub and rim: bend and undercut."""
        if which == "face" or self.cut is None:
            return self._bend(which)
        edge, foot = (as_point(point) for point in self.cut)
        key, fillet = "spokes.undercut_radius_mm", "undercut fillet"
        return [
            *self._bend(which),
            Corner(edge, CUT_EDGE, "spoke back"),
            Corner(foot, self.cut_radius, "spoke back", fillet, key),
        ]

    def _bend(self, which: str) -> list[Corner]:
        """The rounded corner in the middle of a side that bows."""
        side = self._side(which)
        if len(side) == 2:
            return []
        legs = np.diff(side, axis=0)
        turn = np.arctan2(legs[:, 1], legs[:, 0])
        tangent = BLEND * np.linalg.norm(legs, axis=1).min()
        radius = tangent / np.tan(abs(turn[1] - turn[0]) / 2.0)
        name = f"spoke {which}"
        return [Corner(as_point(side[1]), float(radius), name, name)]


BLEND = 0.6
"""Share of each leg of a bowed side that the bend's rounding takes."""

CUT_EDGE = 3.0
"""Rounding [mm] of the edge at which an undercut begins, common practice."""

LEAST_BOW = 0.1
"""Smaller bows [mm] are none: their sides would be arcs of many metres."""


def spoke_lines(design: Design, contour: RimContour) -> SpokeLines:
    """Section lines of the spokes of a design."""
    spokes, z0 = design.spokes, design.attachment
    root, tip = spokes.root_radius_mm, contour.well_inner_radius
    face = (z0 + spokes.root_face_mm, z0 + spokes.tip_face_mm)
    back = (face[0] - spokes.root_depth_mm, face[1] - spokes.tip_depth_mm)
    lines = SpokeLines(
        _bowed(root, tip, face, spokes.face_bow_mm),
        _bowed(root, tip, back, spokes.back_bow_mm),
    )
    if spokes.undercut_mm is None:
        return lines
    edge = np.array([tip - spokes.undercut_width_mm, 0.0])
    edge[1] = lines.at("back", edge[0])
    _, along = lines.leg("back", "rim")
    slope = np.array([1.0, 1.0])
    floor = edge + np.array([0.0, spokes.undercut_mm])
    cut = np.stack([edge, crossing(edge, slope, floor, along)])
    return replace(lines, cut=cut, cut_radius=spokes.undercut_radius_mm)


def _bowed(root: float, tip: float, z: tuple[float, float], bow: float) -> FloatArray:
    """Corners of a side; the rounding of its bend passes ``bow`` above the chord."""
    ends = np.array([(root, z[0]), (tip, z[1])])
    if abs(bow) < LEAST_BOW:
        return ends
    middle = ends.mean(axis=0) + np.array([0.0, bow / (1.0 - BLEND / 2.0)])
    return np.stack([ends[0], middle, ends[1]])
