"""Drawings of the wheel as SVG: the section, and the face view, with hot spots.

Ink follows the text colour of the page, so the drawings serve light and dark alike.
"""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from spokecheck.plane.curves import Curve, outline_points
from spokecheck.report.pictures.callouts import Frame, place_labels
from spokecheck.report.pictures.marks import Mark
from spokecheck.report.sheet.ink import ACCENT, INK, PAPER, bare_axes, page_svg, style
from spokecheck.report.sheet.regions import ring
from spokecheck.report.sheet.section_planes import window_outlines
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.wheel_shape import WheelShape

METAL = "#8a949e"
FONT = 8.5
NAMED = {
    "attachment face": "attachment face",
    "hub fillet, back": "hub fillet, back",
    "hub fillet, face": "hub fillet, face",
    "hub front": "hub front",
    "centre bore": "centre bore",
    "spoke back": "spoke back",
    "spoke face": "spoke face",
    "rim fillet, back": "rim fillet, back",
    "rim fillet, face": "rim fillet, face",
    "bead seat inboard": "bead seat",
    "bead seat outboard": "bead seat",
    "rim well": "well",
    "rim well corner": "well corner",
    "flange inboard": "flange, inboard",
    "flange outboard": "flange, outboard",
}
"""Surfaces named in the section."""


def section_svg(shape: WheelShape, marks: tuple[Mark, ...]) -> str:
    """Section (z, r) with parts named and hot spots numbered.

    Parameters
    ----------
    shape : WheelShape
        Wheel as drawn.
    marks : tuple of Mark
        Places to number.

    Returns
    -------
    str
        An ``svg`` element.
    """
    outline = outline_points(shape.profile.curves)[:, ::-1]
    low, high = outline.min(axis=0), outline.max(axis=0)
    with style(FONT):
        figure = Figure(figsize=(7.4, 6.6))
        axes = bare_axes(figure)
        axes.fill(*outline.T, facecolor=METAL, alpha=0.28)
        axes.fill(*outline.T, facecolor="none", edgecolor=INK, linewidth=1.3)
        _draw_window(axes, shape)
        _draw_bolt(axes, shape)
        axes.plot([low[0] - 8, high[0] + 8], [0, 0], "-.", color=INK, linewidth=0.8)
        axes.text(high[0] + 9, 0, "axle", color=INK, va="center")
        _name_parts(axes, shape)
        at = np.array([(m.spot.position_mm[2], m.spot.radius_mm) for m in marks])
        frame = Frame(low[0] - 80, high[0] + 80, 12.0, high[1] + 4.0, 13.0)
        number_places(axes, marks, at, frame)
        axes.set_xlim(low[0] - 102, high[0] + 102)
        axes.set_ylim(-22, high[1] + 16)
        axes.annotate(
            "", (high[0], -7), (low[0], -7),
            arrowprops={"arrowstyle": "<->", "color": INK, "lw": 0.7},
        )  # fmt: skip
        width = f"{high[0] - low[0]:.0f} mm"
        axes.text(
            float(low[0] + high[0]) / 2.0, -9, width, color=INK, ha="center", va="top"
        )
        return page_svg(figure, "Section of the wheel through a spoke")


def face_svg(shape: WheelShape, marks: tuple[Mark, ...]) -> str:
    """Face view with windows and bolt holes, hot spots numbered.

    Parameters
    ----------
    shape : WheelShape
        Wheel as drawn.
    marks : tuple of Mark
        Places to number.

    Returns
    -------
    str
        An ``svg`` element.
    """
    outer = float(outline_points(shape.profile.curves)[:, 0].max())
    with style(FONT):
        figure = Figure(figsize=(7.4, 6.6))
        axes = bare_axes(figure)
        _circle(axes, outer, facecolor=METAL, alpha=0.28)
        _circle(axes, outer, linewidth=1.3)
        _circle(axes, shape.profile.contour.well_inner_radius, linewidth=0.7)
        for outline in window_outlines(shape):
            _hole(axes, outline)
        for angle in shape.bolt_hole.angles:
            centre = shape.bolt_hole.foot[0] * np.array([np.cos(angle), np.sin(angle)])
            for radius in (shape.bolt_hole.reach, shape.design.bolts.hole_mm / 2.0):
                _hole(axes, centre + ring(radius))
        _hole(axes, ring(shape.design.hub.bore_mm / 2.0))
        pad = shape.design.hub.pad_diameter_mm / 2.0
        _circle(axes, pad, linestyle="--", linewidth=0.7)
        at = places_apart([mark.images[:, :2] for mark in marks])
        frame = Frame(-outer - 38, outer + 38, -outer + 8, outer - 8, 24.0)
        number_places(axes, marks, at, frame)
        axes.set_xlim(-outer - 78, outer + 78)
        axes.set_ylim(-outer - 4, outer + 4)
        return page_svg(figure, "Face view of the wheel")


def places_apart(choices: list[FloatArray]) -> FloatArray:
    """One of each mark's symmetric places, (n, 2), as far from the others as may be."""
    taken = choices[0][:1]
    for images in choices[1:]:
        room = np.linalg.norm(images[:, None] - taken, axis=2).min(axis=1)
        taken = np.vstack([taken, images[np.argmax(room)]])
    return taken


def _circle(axes: Axes, radius: float, **look: Any) -> None:
    look = {"facecolor": "none", "edgecolor": INK, **look}
    axes.fill(*ring(radius).T, **look)


def _hole(axes: Axes, points: FloatArray) -> None:
    axes.fill(*points.T, facecolor=PAPER, edgecolor=INK, linewidth=1.0)


def _draw_window(axes: Axes, shape: WheelShape) -> None:
    """Radii between which the windows run, across the spoke."""
    start, end = shape.drawing.z_range
    inner, outer = shape.window_range
    for radius, name in ((inner, "window, hub end"), (outer, "window, rim end")):
        axes.plot([start, end], [radius, radius], ":", color=INK, lw=0.8)
        axes.text(start, radius - 1.5, name, color=INK, va="top", fontsize=FONT - 1)


def _draw_bolt(axes: Axes, shape: WheelShape) -> None:
    """Outline of a bolt hole at the pitch circle, and its axis."""
    cutter = outline_points(shape.bolt_hole.curves)
    low, high = shape.design.attachment, shape.drawing.z_range[1]
    inside = cutter[cutter[:, 0] > 0.0]
    z = np.clip(
        inside[:, 1], low, shape.design.attachment + shape.design.hub.thickness_mm
    )
    for side in (-1.0, 1.0):
        axes.plot(
            z, shape.bolt_hole.foot[0] + side * inside[:, 0], "--", color=INK, lw=0.8
        )
    axis = [low - 6.0, min(high, low + shape.design.hub.thickness_mm) + 6.0]
    axes.plot(axis, [shape.bolt_hole.foot[0]] * 2, "-.", color=INK, lw=0.6)


def _name_parts(axes: Axes, shape: WheelShape) -> None:
    """Name each part beside the longest curve that bears its name."""
    for name, words in NAMED.items():
        curves = [c for c in shape.profile.curves if c.name == name]
        if not curves:
            continue
        at, out = _middle(max(curves, key=_size))
        tip = at + 10.0 * out
        side = "left" if out[0] > 0.3 else "right" if out[0] < -0.3 else "center"
        axes.annotate(
            words, tuple(at), tuple(tip), color=INK, ha=side, va="center",
            fontsize=FONT - 1,
            arrowprops={"arrowstyle": "-", "color": INK, "lw": 0.5, "shrinkB": 0},
        )  # fmt: skip


def _size(curve: Curve) -> float:
    return float(np.hypot(*np.subtract(curve.end, curve.start)))


def _middle(curve: Curve) -> tuple[FloatArray, FloatArray]:
    """Middle of a curve and the direction out of the material, both as (z, r)."""
    points = outline_points([curve, curve])[: 1 if _size(curve) == 0 else None]
    start, end = np.array(curve.start), np.array(curve.end)
    along = (end - start) / max(_size(curve), 1e-9)
    half = len(points) // 4
    middle = points[half] if half else (start + end) / 2.0
    out = np.array([along[1], -along[0]])
    return middle[::-1], out[::-1]


def number_places(
    axes: Axes, marks: tuple[Mark, ...], at: FloatArray, frame: Frame
) -> None:
    """Ring each place and write its ranks in the margin."""
    for mark, place, tag in zip(marks, at, place_labels(at, frame), strict=True):
        axes.plot(*zip(place, tag, strict=True), color=ACCENT, linewidth=0.8)
        axes.plot(*place, "o", ms=5.5, mfc=PAPER, mec=ACCENT, mew=1.6)
        box = {"boxstyle": "round,pad=0.3", "fc": PAPER, "ec": ACCENT, "lw": 1.0}
        axes.text(
            tag[0], tag[1], mark.label, color=ACCENT, weight="bold",
            ha="center", va="center", bbox=box,
        )  # fmt: skip
