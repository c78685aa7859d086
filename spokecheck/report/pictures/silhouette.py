"""Section and face view of a wheel that was not drawn here: outlines of its mesh.

The surface is sampled densely, the samples are counted into small squares, and the
edge of the squares that hold some is the outline.
"""

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from scipy.ndimage import binary_closing, binary_fill_holes

from spokecheck.fem.whole import copied_round
from spokecheck.mesh.record import Mesh
from spokecheck.report.pictures.callouts import Frame
from spokecheck.report.pictures.marks import Mark
from spokecheck.report.pictures.section_drawing import (
    FONT,
    METAL,
    number_places,
    places_apart,
)
from spokecheck.report.sheet.ink import INK, bare_axes, page_svg, style
from spokecheck.units import BoolArray, FloatArray
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.surfaces import meridian

SQUARE = 1.5
"""Side of a square [mm]."""

SUBDIVISION = 14
"""Samples along the edge of a surface face."""


def silhouettes(wheel: Wheel, marks: tuple[Mark, ...]) -> tuple[str, str]:
    """Section and face view, each an ``svg`` element.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.
    marks : tuple of Mark
        Places to number.
    """
    samples = _samples(copied_round(wheel.mesh, wheel.cyclic).mesh)
    side = _plan(meridian(samples)[:, ::-1], filled=True)
    face = _plan(samples[:, :2], filled=False)
    at_side = np.array([(m.spot.position_mm[2], m.spot.radius_mm) for m in marks])
    at_face = places_apart([mark.images[:, :2] for mark in marks])
    return (
        _view(side, marks, at_side, "Section of the wheel, all windows filled"),
        _view(face, marks, at_face, "Face view of the wheel"),
    )


def _samples(mesh: Mesh) -> FloatArray:
    """Points (n, 3) spread over the boundary, on straight faces."""
    corners = mesh.points[np.concatenate(list(mesh.surfaces.values()))[:, :3]]
    step = np.arange(SUBDIVISION + 1) / SUBDIVISION
    a, b = (grid.ravel() for grid in np.meshgrid(step, step))
    inside = a + b <= 1.0 + 1e-9
    weights = np.column_stack([1.0 - a - b, a, b])[inside]
    return np.asarray(np.einsum("qk,fki->fqi", weights, corners).reshape(-1, 3))


def _plan(points: FloatArray, filled: bool) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Middles of the squares along both axes, and which of them hold a sample."""
    low = points.min(axis=0) - 2.0 * SQUARE
    count = np.ceil((points.max(axis=0) - low) / SQUARE).astype(int) + 2
    edges = [low[k] + SQUARE * np.arange(count[k] + 1) for k in (0, 1)]
    covered = np.histogram2d(points[:, 0], points[:, 1], bins=edges)[0] > 0
    covered = binary_closing(covered)
    if filled:
        covered = binary_fill_holes(covered)
    x, y = (edge[:-1] + SQUARE / 2.0 for edge in edges)
    return x, y, np.asarray(covered)


def _view(
    plan: tuple[FloatArray, FloatArray, BoolArray],
    marks: tuple[Mark, ...],
    places: FloatArray,
    title: str,
) -> str:
    x, y, covered = plan
    with style(FONT), matplotlib.rc_context({"path.simplify_threshold": 0.5}):
        figure = Figure(figsize=(7.4, 6.6))
        axes = bare_axes(figure)
        level = covered.T.astype(float)
        axes.contourf(x, y, level, [0.5, 1.5], colors=[METAL], alpha=0.28)
        axes.contour(x, y, level, [0.5], colors=[INK], linewidths=1.0)
        low, high = np.array([x[0], y[0]]), np.array([x[-1], y[-1]])
        frame = Frame(low[0] - 60, high[0] + 60, low[1] + 8, high[1] - 4, 16.0)
        number_places(axes, marks, places, frame)
        axes.set_xlim(low[0] - 90, high[0] + 90)
        axes.set_ylim(low[1] - 4, high[1] + 8)
        return page_svg(figure, title)
