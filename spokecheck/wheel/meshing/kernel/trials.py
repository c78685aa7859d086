"""Ways to build and mesh one drawing, in the order they are tried."""

from typing import NamedTuple

ONE_POINT = 5.0e-3
"""Points of the solid nearer than this [mm] are one.  Where a rounding touches a plane,
the kernel finds their common point to a few micrometres only, sometimes twice, and a
sliver stands between the two; another tolerance finds it once."""

FRONTAL, ADAPTED = 6, 1
"""gmsh's surface meshers: from the front inward, the default; and by local changes.
The first works in the plane of a face's parameters, and can leave triangles from end to
end of a narrow ring; the second is slower, and looks at lengths in space."""


class Trial(NamedTuple):
    """One way to build and mesh a drawing.

    Attributes
    ----------
    tolerance : float
        Points of the solid nearer than this [mm] are one.
    share : float
        Share of all edge lengths.
    surfaces : int
        gmsh's surface mesher.
    """

    tolerance: float
    share: float
    surfaces: int = FRONTAL


TRIALS = (
    Trial(ONE_POINT, 1.0),
    Trial(2.0e-2, 1.0),
    Trial(0.0, 1.0),
    Trial(ONE_POINT, 0.9),
    Trial(ONE_POINT, 1.0, ADAPTED),
)
"""A longer tolerance comes second: it merges points that leave edges of 0.02 mm."""
