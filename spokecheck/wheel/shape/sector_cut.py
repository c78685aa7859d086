"""Sector cuts: directions clear of holes and of windows' sides."""

from collections.abc import Sequence

import numpy as np

from spokecheck.plane.curves import outline_points
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import Drawing, RoundCutter

CLEARANCE = 3.0
"""Least distance [mm] of a cut from a hole's wall, and from the joints of a window's
curves."""

GRAZING = 0.35
"""Least sine of the angle at which a cut may cross a window's side."""

FAN = 96
"""Directions tried for a cut where neither windows' nor spokes' middles will do."""


APART = np.deg2rad(4.0)
"""Least angle [rad] between cuts of different rank."""


def low_cut(drawing: Drawing, n: int, rank: int = 0) -> float:
    """Angle [rad] of the low cut: the middle of a window, else of a spoke, else any.

    A cut may run through the axis of a hole or miss the hole, but never graze its wall,
    nor a window's side, nor a joint of two of its curves.

    Parameters
    ----------
    drawing : Drawing
        Wheel; its own cuts are not looked at.
    n : int
        Number of repeats of the spoke pattern.
    rank : int
        0 for the best; 1, 2, ... for the clearest that lies ``APART`` from all before.

    Returns
    -------
    float
        The clearest direction, if none is clear by ``CLEARANCE``.

    Raises
    ------
    ValueError
        If no direction lies apart from those of lower rank.
    """
    half = np.pi / n
    middles = [-half * (1 + 2 * k) for k in range(n)]
    middles += [-2.0 * half * k for k in range(n)]
    fan = [-2.0 * half * k / FAN for k in range(FAN * n)]
    clear = (a for a in middles if cut_room(a, drawing) >= CLEARANCE)
    best = next(clear, None)
    looked = middles + fan if rank or best is None else []
    rooms = {angle: cut_room(angle, drawing) for angle in looked}
    taken = [max(rooms, key=rooms.__getitem__) if best is None else best]
    for _ in range(rank):
        rooms = {a: room for a, room in rooms.items() if _apart(a, taken, drawing)}
        if not rooms:
            raise ValueError("no other direction for a cut")
        taken.append(max(rooms, key=rooms.__getitem__))
    return float(taken[-1])


def _apart(angle: float, taken: Sequence[float], drawing: Drawing) -> bool:
    """Whether a cut differs from others, all its images counted."""
    off = np.abs(np.subtract(taken, angle)) % drawing.span
    return bool(np.minimum(off, drawing.span - off).min() >= APART)


def cut_room(angle: float, drawing: Drawing) -> float:
    """Distance [mm] of a cut from all that it must not graze."""
    room = min((_hole_room(angle, hole) for hole in drawing.cutters), default=np.inf)
    for window in drawing.windows:
        fine = outline_points(window.curves, 32)
        joints = np.array([curve.start for curve in window.curves])
        for turn in window.angles:
            own = _outline_room(fine, joints, angle - turn)
            room = min(room, max(own - drawing.edge_reach, 0.0))
    for pocket in drawing.pockets:
        out = np.array([pocket.origin[0], 0.0])
        fine = outline_points(pocket.curves, 32) + out
        joints = np.array([curve.start for curve in pocket.curves]) + out
        for turn in pocket.angles:
            room = min(room, _outline_room(fine, joints, angle - turn))
    return room


def _hole_room(angle: float, hole: RoundCutter) -> float:
    off = hole.foot[0] * np.sin(np.array(hole.angles) - angle)
    ahead = np.cos(np.array(hole.angles) - angle) > 0.0
    walls = np.abs(off[ahead & (np.abs(off) > 1e-6)]) - hole.reach
    return float(walls.min(initial=np.inf))


def _outline_room(fine: FloatArray, joints: FloatArray, angle: float) -> float:
    """How far [mm] a ray from the axle stays clear of an outline's joints and sides.

    Parameters
    ----------
    fine : ndarray (n, 2)
        Points close along the outline.
    joints : ndarray (m, 2)
        Ends of its curves.
    angle : float
        Direction of the ray [rad].
    """
    along = np.array([np.cos(angle), np.sin(angle)])
    across = np.array([-along[1], along[0]])
    side, ahead = fine @ across, fine @ along > 0.0
    step = np.roll(fine, -1, axis=0) - fine
    crossed = (side * np.roll(side, -1) <= 0.0) & ahead
    if not crossed.any():
        return float(np.abs(side[ahead]).min(initial=np.inf))
    sine = np.abs(step @ across) / np.maximum(np.linalg.norm(step, axis=1), 1e-12)
    if (sine[crossed] < GRAZING).any():
        return 0.0
    return float(np.abs(joints @ across)[joints @ along > 0.0].min())
