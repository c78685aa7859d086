"""Where spokes meet the rim in section, and room for the rounding between them."""

from dataclasses import dataclass

import numpy as np

from spokecheck.plane.curves import crossing
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.rim import RimContour, inner_crossing
from spokecheck.wheel.shape.spoke_lines import SpokeLines


def rim_joints(
    contour: RimContour, lines: SpokeLines
) -> dict[str, tuple[int, FloatArray] | None]:
    """Where the spoke's face and back meet the inner side of the rim."""
    return {
        which: inner_crossing(contour, *lines.leg(which, "rim"))
        for which in ("face", "back")
    }


@dataclass(frozen=True)
class Joint:
    """Where a side of the spokes meets the inner side of the rim.

    Attributes
    ----------
    side : int
        Side of ``RimContour.under_side``.
    at : ndarray (2,)
        Corner of the section that the rounding between the two takes [mm].
    rests : bool
        The rounding ends on the next corner of the rim, which it leaves sharp.
    """

    side: int
    at: FloatArray
    rests: bool = False


def rim_joint(
    contour: RimContour, lines: SpokeLines, which: str, radius: float
) -> Joint | None:
    """Joint of spoke and rim, with room for a rounding of a radius [mm].

    Where the rim's side is too short for it, a ball of that radius that rolls along the
    spoke rests on the side's end: the rounding is an arc from there.
    """
    crossed = inner_crossing(contour, *lines.leg(which, "rim"))
    if crossed is None:
        return None
    side, point = crossed
    start, along = lines.leg(which, "rim")
    inner, out = contour.under_side, along / np.linalg.norm(along)
    step = 1 if which == "face" else -1
    for _ in inner:
        corner = side + 1 if step > 0 else side
        rim = inner[corner] - point
        size = max(float(np.linalg.norm(rim)), 1e-9)
        half = np.arccos(np.clip(-out @ rim / size, -1.0, 1.0)) / 2.0
        if radius <= size * np.tan(half):
            break
        if not 0 < corner < len(inner) - 1:
            break
        beyond = inner[corner + step] - inner[corner]
        # traversed with the metal to the left, a left turn at the corner is convex
        turn = step * _cross(beyond, rim)
        if turn > 0.0:
            return _resting(side, inner[corner], start, out, radius)
        # a ball that does not reach into a hollow corner rolls on the side beyond it
        side, point = side + step, crossing(start, along, inner[corner], beyond)
    return Joint(side, point)


def _cross(a: FloatArray, b: FloatArray) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _resting(
    side: int, end: FloatArray, start: FloatArray, out: FloatArray, radius: float
) -> Joint:
    """Joint whose rounding runs from a corner of the rim to the spoke."""
    height = abs(_cross(out, end - start))
    # the arc turns by this from the rim's corner to where it touches the spoke
    turn = float(np.arccos(max(1.0 - height / radius, -0.99)))
    foot = start + float((end - start) @ out) * out
    back = radius * (np.sin(turn) - np.tan(turn / 2.0))
    return Joint(side, foot - back * out, rests=True)
