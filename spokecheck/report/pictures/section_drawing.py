"""Section and face view of a screened wheel as SVG, with its hot spots numbered.

The lines are those of the drawn sheet.
Ink follows the text colour of the page, so the drawings serve light and dark alike.
"""

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from spokecheck.plane.curves import Curve, outline_points, turned
from spokecheck.report.pictures.callouts import Frame, place_labels
from spokecheck.report.pictures.marks import Mark
from spokecheck.report.sheet.ink import ACCENT, INK, PAPER, bare_axes, page_svg, style
from spokecheck.report.sheet.regions import ring
from spokecheck.report.sheet.sheet import draw_strokes
from spokecheck.report.sheet.views import UP, face_region, face_view, section_view
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.wheel_shape import WheelShape

METAL = "#8a949e"
FONT = 8.5
SIDE = 7.4
"""Width and height of a figure [inch]."""

HATCH = 8.0
"""Spacing of the hatching [mm of the wheel]."""

LEADER = 14.0
"""Length of the line from a surface to its name [mm of the wheel]."""

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
    """Section (z, r) with surfaces named and hot spots numbered above the axle.

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
    outer = _outer_radius(shape)
    low, high = shape.drawing.z_range
    with style(FONT):
        figure = Figure(figsize=(SIDE, SIDE))
        axes = bare_axes(figure)
        draw_strokes(axes, section_view(shape, HATCH), INK)
        axes.plot([low - 8, high + 8], [0, 0], "-.", color=INK, linewidth=0.8)
        axes.text(high + 9, 0, "axle", color=INK, va="center")
        _name_surfaces(axes, shape)
        _measure_width(axes, low, high, -outer - 8.0)
        places = np.array([(m.spot.position_mm[2], m.spot.radius_mm) for m in marks])
        frame = Frame(low - 104, high + 104, 20.0, outer + 4.0, 16.0)
        number_places(axes, marks, places, frame)
        axes.set_xlim(low - 128, high + 128)
        axes.set_ylim(-outer - 22, outer + 18)
        return page_svg(figure, "Section of the wheel through a spoke and a window")


def face_svg(shape: WheelShape, marks: tuple[Mark, ...]) -> str:
    """Face view with the first spoke up, hot spots numbered.

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
    outer = _outer_radius(shape)
    with style(FONT):
        figure = Figure(figsize=(SIDE, SIDE))
        axes = bare_axes(figure)
        _shade_face(axes, shape)
        draw_strokes(axes, face_view(shape), INK)
        places = places_apart([turned(mark.images[:, :2], UP) for mark in marks])
        frame = Frame(-outer - 38, outer + 38, -outer + 8, outer - 8, 24.0)
        number_places(axes, marks, places, frame)
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


def _outer_radius(shape: WheelShape) -> float:
    return float(outline_points(shape.drawing.section)[:, 0].max())


def _shade_face(axes: Axes, shape: WheelShape) -> None:
    """Shade the metal of the face view, windows and bolt holes left out."""
    bolts = shape.bolt_hole
    spread = np.column_stack([np.cos(bolts.angles), np.sin(bolts.angles)])
    holes = [
        shapely.Polygon(centre + ring(shape.design.bolts.hole_mm / 2.0))
        for centre in bolts.foot[0] * spread
    ]
    region = shapely.difference(face_region(shape), shapely.union_all(holes))
    # normalised, holes run against the outer ring, as the fill rule needs
    rings = shapely.get_rings(shapely.normalize(region))
    outlines = [turned(shapely.get_coordinates(each), UP) for each in rings]
    path = Path.make_compound_path(*(Path(each, closed=True) for each in outlines))
    axes.add_patch(PathPatch(path, facecolor=METAL, alpha=0.28, linewidth=0.0))


def _measure_width(axes: Axes, low: float, high: float, y: float) -> None:
    """Width of the wheel over its flanges, below the section."""
    axes.annotate(
        "", (high, y), (low, y),
        arrowprops={"arrowstyle": "<->", "color": INK, "lw": 0.7},
    )  # fmt: skip
    width = f"{high - low:.0f} mm"
    axes.text((low + high) / 2.0, y - 2, width, color=INK, ha="center", va="top")


def _name_surfaces(axes: Axes, shape: WheelShape) -> None:
    """Name each surface beside its longest curve."""
    for name, words in NAMED.items():
        curves = [c for c in shape.profile.curves if c.name == name]
        if not curves:
            continue
        place, out = _middle(max(curves, key=_chord))
        tip = place + LEADER * out
        side = "left" if out[0] > 0.3 else "right" if out[0] < -0.3 else "center"
        axes.annotate(
            words, tuple(place), tuple(tip), color=INK, ha=side, va="center",
            fontsize=FONT - 1,
            bbox={"boxstyle": "square,pad=0.1", "fc": PAPER, "ec": "none"},
            arrowprops={"arrowstyle": "-", "color": INK, "lw": 0.5, "shrinkB": 0},
        )  # fmt: skip


def _chord(curve: Curve) -> float:
    return float(np.hypot(*np.subtract(curve.end, curve.start)))


def _middle(curve: Curve) -> tuple[FloatArray, FloatArray]:
    """Middle of a curve and the direction out of the material, both as (z, r)."""
    points = outline_points([curve, curve])[: 1 if _chord(curve) == 0 else None]
    start, end = np.array(curve.start), np.array(curve.end)
    along = (end - start) / max(_chord(curve), 1e-9)
    half = len(points) // 4
    middle = points[half] if half else (start + end) / 2.0
    out = np.array([along[1], -along[0]])
    return middle[::-1], out[::-1]


def number_places(
    axes: Axes, marks: tuple[Mark, ...], places: FloatArray, frame: Frame
) -> None:
    """Ring each place and write its ranks in the margin."""
    for mark, place, tag in zip(
        marks, places, place_labels(places, frame), strict=True
    ):
        axes.plot(*zip(place, tag, strict=True), color=ACCENT, linewidth=0.8)
        axes.plot(*place, "o", ms=5.5, mfc=PAPER, mec=ACCENT, mew=1.6)
        box = {"boxstyle": "round,pad=0.3", "fc": PAPER, "ec": ACCENT, "lw": 1.0}
        axes.text(
            tag[0], tag[1], mark.label, color=ACCENT, weight="bold",
            ha="center", va="center", bbox=box,
        )  # fmt: skip
