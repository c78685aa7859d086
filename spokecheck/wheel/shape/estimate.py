"""Mass without a mesh: the revolved section less windows and cutters, integrated."""

from collections.abc import Sequence

import numpy as np

from spokecheck.fatigue.alloys import alloy
from spokecheck.plane.curves import Curve, outline_points
from spokecheck.plane.polygons import crossings, extent, inside
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import PocketCutter, RoundCutter, Window
from spokecheck.wheel.shape.edge_strips import strip_volume
from spokecheck.wheel.shape.wheel_shape import WheelShape

RADII = 2000
"""Radii at which the section's thickness is taken."""

CELLS = 48
"""Cells of a pocket's plan, each way."""

RINGS, TURNS = 60, 12
"""Rings of an upright cutter, and points on half of each."""

ACCURACY = 0.001
"""Largest difference from the meshed mass, as a share, on the example designs."""


def estimate_mass(shape: WheelShape) -> float:
    """Mass [t] of a wheel as drawn.

    Parameters
    ----------
    shape : WheelShape
        Wheel as drawn.

    Returns
    -------
    float

    Notes
    -----
    With T(r) the axial thickness of the section and F(r) the integral of T r dr from
    the axle, a body of revolution has the volume 2 pi F, and by Green's theorem a
    window takes the integral of F dtheta round its outline.
    Cutters are summed over a grid of points of their own.
    Windows and cutters must not overlap each other.
    """
    return estimate_volume(shape) * alloy(shape.design.material.alloy).density


def estimate_volume(shape: WheelShape) -> float:
    """Volume [mm^3] of a wheel as drawn."""
    section = outline_points(shape.drawing.section, 24)
    r = np.linspace(section[:, 0].min(), section[:, 0].max(), RADII + 1)
    middle = (r[1:] + r[:-1]) / 2.0
    steps = _thickness(section, middle) * middle * np.diff(r)
    inner = np.concatenate([[0.0], np.cumsum(steps)])

    def swept(curves: Sequence[Curve]) -> float:
        """Integral of F dtheta round an outline in the face view."""
        points = _finely(outline_points(curves, 48))
        ends = np.roll(points, -1, axis=0)
        turn = np.arctan2(
            points[:, 0] * ends[:, 1] - points[:, 1] * ends[:, 0],
            (points * ends).sum(axis=1),
        )
        radius = np.linalg.norm((points + ends) / 2.0, axis=1)
        return float(np.interp(radius, r, inner) @ turn)

    volume = 2.0 * np.pi * inner[-1]
    for window in shape.windows:
        volume -= abs(swept(window.curves)) * len(window.angles)
        volume -= _draft_volume(section, window) * len(window.angles)
    for strip in shape.drawing.edges:
        volume -= strip_volume(strip) * len(strip.angles)
    for pocket in shape.drawing.pockets:
        volume -= _pocket_volume(section, pocket) * len(pocket.angles)
    for cutter in shape.drawing.cutters:
        volume -= _cutter_volume(section, cutter) * len(cutter.angles)
    return float(volume)


def _draft_volume(section: FloatArray, window: Window) -> float:
    """What a window's slope takes beside its outline, to first order in the slope."""
    if window.draft == 0.0:
        return 0.0
    points = _finely(outline_points(window.curves, 12), 2)
    step = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    back, face = extent(section, np.hypot(*points.T))
    wedge = window.datum * (face - back) - (face**2 - back**2) / 2.0
    return float(np.tan(window.draft) * (step @ wedge))


def _pocket_volume(section: FloatArray, pocket: PocketCutter) -> float:
    """Metal [mm^3] between a pocket's floor and the spoke's back, less the radius."""
    outline = outline_points(pocket.curves, 16)
    low, high = outline.min(axis=0), outline.max(axis=0)
    steps = (high - low) / CELLS
    axes = [
        lo + st * (np.arange(CELLS) + 0.5) for lo, st in zip(low, steps, strict=True)
    ]
    uv = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    uv = uv[inside(uv, outline)]
    origin, (out, left, _) = pocket.frame(0.0)
    floor = origin + uv[:, :1] * out + uv[:, 1:] * left
    back, _ = extent(section, np.hypot(floor[:, 0], floor[:, 1]))
    depth = np.maximum(floor[:, 2] - back, 0.0).sum() * steps.prod()
    rim = np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1).sum()
    corner = (1.0 - np.pi / 4.0) * pocket.floor_radius**2 * rim
    return float(depth * np.cos(pocket.tilt) - corner)


def _finely(outline: FloatArray, parts: int = 16) -> FloatArray:
    """A closed outline with every side divided."""
    step = np.roll(outline, -1, axis=0) - outline
    share = np.arange(parts)[None, :, None] / parts
    return np.asarray((outline[:, None] + share * step[:, None]).reshape(-1, 2))


def _thickness(section: FloatArray, radii: FloatArray) -> FloatArray:
    """Axial thickness (n,) [mm] of a closed section (r, z) at radii (n,)."""
    crosses, z = crossings(section, radii)
    sense = np.where(np.roll(section[:, 0], -1) > section[:, 0], -1.0, 1.0)
    return np.asarray(np.abs(np.where(crosses, sense * z, 0.0).sum(axis=1)))


def _cutter_volume(section: FloatArray, cutter: RoundCutter) -> float:
    """Metal [mm^3] that one copy of a cutter of revolution takes.

    Summed over rings: half its outline is filled with points by columns of equal
    width, and each stands for a ring cut into sectors.
    """
    if cutter.tilt == 0.0:
        return _upright_volume(section, cutter)
    half = outline_points(cutter.curves, 6)
    low, high = section[:, 1].min(), section[:, 1].max()
    edges = np.linspace(0.0, half[:, 0].max(), 17)
    rho = (edges[1:] + edges[:-1]) / 2.0
    h = np.linspace(half[:, 1].min(), half[:, 1].max(), 81)
    h = (h[1:] + h[:-1]) / 2.0
    turn = np.pi * (np.arange(6) + 0.5) / 6  # the other side is its mirror image
    grid = np.stack(np.meshgrid(rho, h, indexing="ij"), axis=-1).reshape(-1, 2)
    grid = grid[inside(grid, half)]
    foot, axis, across = cutter.frame(0.0)
    side = np.array([0.0, 1.0, 0.0])
    ring = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * side
    points = foot + grid[:, None, 1:] * axis + grid[:, None, :1] * ring
    rz = np.stack([np.hypot(points[..., 0], points[..., 1]), points[..., 2]], axis=-1)
    near = (rz[..., 1] > low) & (rz[..., 1] < high)
    metal = np.zeros(near.shape)
    metal[near] = inside(rz[near], section)
    cell = (edges[1] - edges[0]) * (h[1] - h[0])
    return float(2.0 * np.pi * cell * (grid[:, 0] @ metal.mean(axis=1)))


def _upright_volume(section: FloatArray, cutter: RoundCutter) -> float:
    """The same for an axis along the axle, by rings of the exact height of metal."""
    half = outline_points(cutter.curves, 16)
    edges = np.linspace(0.0, half[:, 0].max(), RINGS + 1)
    rho = (edges[1:] + edges[:-1]) / 2.0
    low, high = (cutter.foot[1] + h for h in extent(half, rho))
    turn = np.pi * (np.arange(TURNS) + 0.5) / TURNS  # the other side mirrors it
    out = cutter.foot[0] + rho[:, None] * np.cos(turn)
    radius = np.hypot(out, rho[:, None] * np.sin(turn))
    back, face = (z.reshape(radius.shape) for z in extent(section, radius.ravel()))
    metal = np.minimum(face, high[:, None]) - np.maximum(back, low[:, None])
    ring = 2.0 * np.pi * rho * (edges[1] - edges[0])
    return float(ring @ np.maximum(metal, 0.0).mean(axis=1))
