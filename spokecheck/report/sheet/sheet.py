"""A drawing sheet: pens, arrows and lettering in mm of paper, and how they are drawn.

References
----------
ISO 128-2 (line types and widths) and ISO 3098-1 (lettering heights), both from memory:
wide line 0.5 mm, narrow 0.25 mm; dashes of 12 widths and gaps of 3; long dashes of 24
widths, dots of 1, gaps of 3; heights 2.5, 3.5, 5 and 7 mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline
from matplotlib.textpath import text_to_path
from numpy.typing import ArrayLike

from spokecheck.report.sheet import ink
from spokecheck.units import FloatArray

CAPITAL = 0.729
"""Height of a capital over the font size, DejaVu Sans."""

DEEP = 0.24
"""How far letters reach below the line, over the font size."""

PIXELS_PER_MM = 4.0
"""Of the PNG: about 100 to the inch, so an A2 sheet is 2400 pixels wide."""


@dataclass(frozen=True)
class Pen:
    """Width [mm] and dashes (in widths) of a line."""

    width: float
    dashes: tuple[float, ...] = ()


PENS = {
    "outline": Pen(0.5),
    "edge": Pen(0.35),
    "thin": Pen(0.25),
    "hidden": Pen(0.25, (12.0, 3.0)),
    "centre": Pen(0.25, (24.0, 3.0, 1.0, 3.0)),
    "plane": Pen(0.25, (24.0, 3.0, 1.0, 3.0)),
    "plane end": Pen(0.7),
    "hatch": Pen(0.18),
    "frame": Pen(0.7),
}
"""Wide for visible outlines, narrow for the rest; hidden dashed, centres chained."""


@dataclass(frozen=True)
class Stroke:
    """Lines of one pen: pieces (n, 2, 2), in mm of paper once they are on a sheet."""

    pen: str
    pieces: FloatArray


@dataclass(frozen=True)
class FilledArea:
    """A filled outline (n, 2) [mm of paper], such as an arrowhead."""

    points: FloatArray


@dataclass(frozen=True)
class Words:
    """One line of lettering.

    Attributes
    ----------
    text : str
    at : tuple of float
        Where it is held [mm of paper].
    height : float
        Of a capital [mm].
    angle : float
        Of the line [deg].
    across : {"left", "center", "right"}
        What of its length is held.
    up : {"bottom", "center"}
        Whether its foot or its middle is held.
    bold : bool
    """

    text: str
    at: tuple[float, float]
    height: float = 3.5
    angle: float = 0.0
    across: str = "center"
    up: str = "bottom"
    bold: bool = False

    @property
    def width(self) -> float:
        """Length of the line [mm]."""
        return text_width(self.text, self.height, self.bold)

    @property
    def tail(self) -> float:
        """How far the letters reach below their foot [mm]."""
        has_tail = any(letter in self.text for letter in TAILS)
        return DEEP * self.height / CAPITAL if has_tail else 0.0

    def box(self, margin: float = 0.0) -> FloatArray:
        """Corners (4, 2) of the box round the letters, tails included [mm]."""
        left = {"left": 0.0, "center": -0.5, "right": -1.0}[self.across] * self.width
        foot = 0.0 if self.up == "bottom" else -self.height / 2.0
        low, high = foot - self.tail - margin, foot + self.height + margin
        right = left + self.width + margin
        left -= margin
        corners = np.array([[left, low], [right, low], [right, high], [left, high]])
        c, s = np.cos(np.deg2rad(self.angle)), np.sin(np.deg2rad(self.angle))
        return np.asarray(corners @ np.array([[c, s], [-s, c]]) + np.array(self.at))


TAILS = "gjpqy,;()_Q"
"""Characters that reach below the line."""

Item = Stroke | FilledArea | Words


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper with everything on it.

    Attributes
    ----------
    width, height : float
        [mm].
    items : tuple of Stroke, FilledArea and Words
    title : str
        For the file's own title.
    """

    width: float
    height: float
    items: tuple[Item, ...] = field(repr=False)
    title: str = ""

    @property
    def words(self) -> tuple[Words, ...]:
        """All lettering."""
        return tuple(item for item in self.items if isinstance(item, Words))


@lru_cache(maxsize=4096)
def text_width(text: str, height: float, bold: bool = False) -> float:
    """Length [mm] of a line of lettering with capitals of a height [mm]."""
    weight = "bold" if bold else "normal"
    font = FontProperties(family="DejaVu Sans", weight=weight, size=100)
    width, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width) / 100.0 * height / CAPITAL


def draw_file_svg(sheet: Sheet) -> str:
    """The sheet as the text of an SVG file, black on white, in its true size."""
    with ink.style(10.0):
        return ink.file_svg(_figure(sheet), sheet.title)


def draw_png(sheet: Sheet, path: Path) -> None:
    """Write the sheet as a PNG, black on white."""
    with ink.style(10.0):
        figure = _figure(sheet, "#000000")
        figure.savefig(
            path, format="png", facecolor="white", dpi=PIXELS_PER_MM * ink.MM_PER_INCH,
            metadata={"Software": None}, pil_kwargs={"compress_level": 3},
        )  # fmt: skip


def _figure(sheet: Sheet, colour: str = ink.INK) -> Figure:
    size = (sheet.width / ink.MM_PER_INCH, sheet.height / ink.MM_PER_INCH)
    figure = Figure(figsize=size)
    axes = ink.bare_axes(figure)
    axes.set_xlim(0.0, sheet.width)
    axes.set_ylim(0.0, sheet.height)
    draw_strokes(axes, [i for i in sheet.items if isinstance(i, Stroke)], colour)
    solids = [item.points for item in sheet.items if isinstance(item, FilledArea)]
    axes.add_artist(PolyCollection(solids, facecolor=colour, linewidth=0.0))
    for words in sheet.words:
        _letter(axes, words, colour)
    return figure


def draw_strokes(axes: Axes, strokes: Sequence[Stroke], colour: str) -> None:
    """Draw strokes in the units of the axes, with the widths of their pens."""
    by_pen: dict[str, list[FloatArray]] = {pen: [] for pen in PENS}
    for stroke in strokes:
        by_pen[stroke.pen].append(stroke.pieces)
    for pen, pieces in by_pen.items():
        if pieces:
            _draw_pieces(axes, PENS[pen], np.concatenate(pieces), colour)


def _draw_pieces(axes: Axes, pen: Pen, pieces: FloatArray, colour: str) -> None:
    """All lines of a pen as one path; pieces that follow each other are joined."""
    if not len(pieces):
        return
    points = pieces.reshape(-1, 2)
    follows = np.linalg.norm(pieces[1:, 0] - pieces[:-1, 1], axis=1) < 1e-6
    kept = np.ones(len(points), dtype=bool)
    kept[2::2] = ~follows
    codes = np.tile([Outline.MOVETO, Outline.LINETO], len(pieces))[kept]
    line: object = (0, pen.dashes) if pen.dashes else "solid"
    axes.add_artist(
        PathPatch(
            Outline(points[kept], codes), fill=False, edgecolor=colour,
            linewidth=pen.width * ink.POINTS_PER_MM, linestyle=line,
            capstyle="butt" if pen.dashes else "round", joinstyle="round",
        )
    )  # fmt: skip


def _letter(axes: Axes, words: Words, colour: str) -> None:
    turn, drop = np.deg2rad(words.angle), 0.0 if words.up == "bottom" else 0.5
    down = drop * words.height * np.array([np.sin(turn), -np.cos(turn)])
    axes.text(
        words.at[0] + down[0], words.at[1] + down[1], words.text, color=colour,
        fontsize=words.height / CAPITAL * ink.POINTS_PER_MM,
        rotation=words.angle, rotation_mode="anchor",
        ha=words.across, va="baseline",
        weight="bold" if words.bold else "normal", parse_math=False,
    )  # fmt: skip


def polyline(points: ArrayLike) -> FloatArray:
    """Pieces (n - 1, 2, 2) of an open line through points (n, 2)."""
    corners = np.asarray(points, dtype=float)
    return np.stack([corners[:-1], corners[1:]], axis=1)
