"""Labels, leaders, scales and the colour bar written on rendered pictures."""

from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke

from spokecheck.report.pictures.callouts import Frame, place_labels
from spokecheck.units import FloatArray, IntArray

COLOURS = "viridis"
"""Perceptually uniform; bright is high, so shade cannot pass for utilisation."""

TOP = 1.25
"""Utilisation at the end of the scale, the same for all designs so that their pictures
compare; more is drawn in the last colour."""

INK = "#16202c"
CROWDED = 1.3
"""Below this the end of a small colour bar is too near to 1 for a figure of its own."""

ENCODING = {"quality": 88, "optimize": True}
SCALE = 20.0
"""Length of the scale in a close-up [mm]."""


def compose(image: IntArray, labels: list[str], spots: FloatArray, path: Path) -> None:
    """Write labels beside a picture, with leaders, and the colour bar below it."""
    height, width = image.shape[:2]
    side, foot = 0.15 * width, 0.14 * height
    figure, axes = _sheet(image, side, foot)
    frame = Frame(-0.4 * side, width + 0.4 * side, 0.06 * height, 0.96 * height, 74.0)
    tags = place_labels(spots, frame)
    for label, place, tag in zip(labels, spots, tags, strict=True):
        _call_out(axes, label, place, tag)
    _colour_bar(figure)
    figure.savefig(path, facecolor="white", pil_kwargs=ENCODING)


def compose_close(
    image: IntArray,
    label: str,
    spot: FloatArray,
    path: Path,
    millimetre: float,
    top: float,
) -> None:
    """Write label, scale and colour bar on a close-up.

    Parameters
    ----------
    image : ndarray (height, width, 3)
        Picture.
    label : str
        Of the place.
    spot : ndarray (2,)
        Pixel of the place.
    path : Path
        File to write.
    millimetre : float
        Its size [px].
    top : float
        Utilisation at the end of the colour scale.
    """
    height, width = image.shape[:2]
    figure, axes = _sheet(image, 0.0, 0.0)
    _call_out(axes, label, spot, np.array([0.12 * width, 0.1 * height]), 20.0)
    long = SCALE * millimetre
    right, low = 0.95 * width, 0.95 * height
    for colour, weight in (("white", 7.0), (INK, 3.0)):
        axes.plot([right - long, right], [low, low], color=colour, linewidth=weight)
    halo = [withStroke(linewidth=3.5, foreground="white")]
    axes.text(
        right - long / 2.0, low - 24, f"{SCALE:g} mm", color=INK, fontsize=20,
        ha="center", path_effects=halo,
    )  # fmt: skip
    _small_bar(figure, top)
    figure.savefig(path, facecolor="white", pil_kwargs=ENCODING)


def _small_bar(figure: Figure, top: float) -> None:
    """Colour bar in the corner of a close-up, with ticks at 0, 1 and its end."""
    ground = figure.add_axes((0.02, 0.02, 0.46, 0.115))
    ground.set_facecolor((1.0, 1.0, 1.0, 0.82))
    ground.set_xticks([])
    ground.set_yticks([])
    ground.spines[:].set_visible(False)
    axes = figure.add_axes((0.05, 0.09, 0.36, 0.025))
    scale = ScalarMappable(Normalize(0.0, top), matplotlib.colormaps[COLOURS])
    bar = figure.colorbar(scale, cax=axes, orientation="horizontal", ticks=[0, 1, top])
    bar.outline.set_visible(False)
    axes.set_xticklabels(["0", "1", f"{top:.2f}" if top > CROWDED else ""])
    axes.tick_params(labelsize=17, length=4)
    axes.axvline(1.0, color="black", linewidth=2)


def _sheet(image: IntArray, side: float, foot: float) -> tuple[Figure, Axes]:
    """Figure with the picture, and empty strips [px] beside and below it."""
    height, width = image.shape[:2]
    size = ((width + 2.0 * side) / 150.0, (height + foot) / 150.0)
    figure = Figure(figsize=size, dpi=112)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.imshow(image, interpolation="antialiased", extent=(0, width, height, 0))
    axes.set_xlim(-side, width + side)
    axes.set_ylim(height + foot, 0)
    axes.set_axis_off()
    return figure, axes


def _call_out(
    axes: Axes, label: str, place: FloatArray, tag: FloatArray, size: float = 14.0
) -> None:
    """Ring about a place, and its label at ``tag`` joined by a line to the ring."""
    for colour, weight in (("white", 3.2), (INK, 1.2)):
        axes.annotate(
            "", tuple(place), tuple(tag),
            arrowprops={"arrowstyle": "-", "color": colour, "lw": weight,
                        "shrinkA": 0, "shrinkB": 4},
        )  # fmt: skip
    for colour, weight in (("white", 3.4), (INK, 1.5)):
        axes.plot(*place, "o", ms=8, mfc="none", mec=colour, mew=weight)
    box = {"boxstyle": "round,pad=0.35", "fc": INK, "ec": "white"}
    axes.text(
        tag[0], tag[1], label, color="white", fontsize=size, weight="bold",
        ha="center", va="center", bbox=box, zorder=6,
    )  # fmt: skip


def _colour_bar(figure: Figure) -> None:
    """Horizontal bar at the foot, with a line at 1."""
    axes = figure.add_axes((0.2, 0.075, 0.6, 0.022))
    scale = ScalarMappable(Normalize(0.0, TOP), matplotlib.colormaps[COLOURS])
    bar = figure.colorbar(scale, cax=axes, orientation="horizontal", extend="max")
    bar.set_label("utilisation [-]", fontsize=13)
    bar.outline.set_visible(False)
    axes.tick_params(labelsize=12, length=3)
    axes.axvline(1.0, color="black", linewidth=2)


def compose_small(image: IntArray, path: Path) -> Path:
    """Write a small picture without labels."""
    figure = Figure(figsize=(2.4, 2.4), dpi=100)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.imshow(image, interpolation="antialiased")
    axes.set_axis_off()
    figure.savefig(path, facecolor="white", pil_kwargs=ENCODING)
    return path
