"""Drawings as figures and files: pages' colours or black on white, SVG or PNG.

Ink is drawn in colours that stand for those of the page, so that an ``svg`` element
serves light and dark alike; a file by itself has them replaced by black and white.
"""

import io
import re
from contextlib import AbstractContextManager
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure

INK = "#010203"
"""Stands for the page's text colour; no other element has it."""

ACCENT = "#010204"
"""Stands for the page's accent colour."""

PAPER = "#010205"
"""Stands for the page's ground."""

OF_PAGE = {INK: "currentColor", ACCENT: "var(--accent)", PAPER: "var(--paper)"}
BLACK_ON_WHITE = {INK: "#000000", ACCENT: "#000000", PAPER: "#ffffff"}

MM_PER_INCH = 25.4
POINTS_PER_MM = 72.0 / MM_PER_INCH


def style(size: float) -> AbstractContextManager[None]:
    """Settings of all drawings, with a font size [pt], for a ``with`` block."""
    settings: dict[Any, Any] = {
        "font.size": size,
        "text.hinting": "none",
        "svg.fonttype": "none",
        "svg.hashsalt": "spokecheck",
        "font.family": "sans-serif",
        "font.sans-serif": ["DejaVu Sans"],
    }
    return matplotlib.rc_context(settings)


def bare_axes(figure: Figure) -> Axes:
    """Axes that fill the figure, without frame, equal in both directions."""
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_aspect("equal")
    axes.set_axis_off()
    return axes


def page_svg(figure: Figure, title: str) -> str:
    """The figure as an ``svg`` element that scales, in the page's colours."""
    text = _bare_svg(figure, title)
    text = re.sub(r'(<svg[^>]*?) width="[^"]*"', r"\1", text, count=1)
    text = re.sub(r'(<svg[^>]*?) height="[^"]*"', r"\1", text, count=1)
    text = text.replace("<svg ", f'<svg role="img" aria-label="{_quoted(title)}" ', 1)
    return _coloured(text, OF_PAGE)


def file_svg(figure: Figure, title: str) -> str:
    """The figure as a whole SVG file of its true size, black on white."""
    text = _coloured(_bare_svg(figure, title), BLACK_ON_WHITE)
    ground = '<rect width="100%" height="100%" fill="#ffffff"/>'
    head, body = text.split(">", 1)
    declaration = '<?xml version="1.0" encoding="utf-8" standalone="no"?>\n'
    return f"{declaration}{head}>\n {ground}{body}"


def _bare_svg(figure: Figure, title: str) -> str:
    stream = io.StringIO()
    figure.savefig(
        stream, format="svg", transparent=True, metadata={"Date": None, "Title": title}
    )
    text = stream.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    return re.sub(r' id="[a-z0-9]+_\d+"', "", text)


def _coloured(text: str, colours: dict[str, str]) -> str:
    for stand_in, colour in colours.items():
        text = text.replace(stand_in, colour)
    return text


def _quoted(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")
