"""Pens for the problem sketches, and the table that ends every notebook."""

import matplotlib.pyplot as plt
import numpy as np
from matplotlib.patches import Arc, Polygon

INK = "#222222"
METAL = "#c9d3dc"
LOAD = "#c8501e"
QUIET = "#666666"


def sheet(width=7.2, height=2.6):
    """Empty drawing sheet with equal scales."""
    figure, axes = plt.subplots(figsize=(width, height))
    axes.set_aspect("equal")
    axes.axis("off")
    return figure, axes


def _reach(axes, points):
    """Widen the sheet to hold some points."""
    axes.update_datalim(np.asarray(points, dtype=float))
    axes.autoscale_view()


def body(axes, points, colour=METAL):
    """Filled outline through points (n, 2)."""
    axes.add_patch(Polygon(points, closed=True, fc=colour, ec=INK, lw=1.2))
    _reach(axes, points)


def wall(axes, start, end, depth):
    """Hatched ground along a line, on its right-hand side."""
    a, b = np.array(start, float), np.array(end, float)
    along = (b - a) / np.linalg.norm(b - a)
    side = depth * np.array([along[1], -along[0]])
    strip = Polygon([a, b, b + side, a + side], fc="none", ec=QUIET, hatch="////", lw=0)
    axes.add_patch(strip)
    axes.plot(*zip(a, b, strict=True), color=INK, lw=1.8)
    _reach(axes, [a + side, b + side])


def force(axes, tail, head, text="", offset=(4, 4)):
    """Arrow of a load, its name at the tail."""
    look = {"arrowstyle": "-|>", "color": LOAD, "lw": 1.8, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", head, tail, arrowprops=look, annotation_clip=False)
    axes.annotate(
        text, tail, offset, textcoords="offset points", color=LOAD, fontsize=11
    )
    _reach(axes, [tail, head])


def dimension(axes, start, end, text, offset=(0, 5)):
    """Dimension line between two points."""
    look = {
        "arrowstyle": "<|-|>",
        "color": QUIET,
        "lw": 0.9,
        "shrinkA": 0,
        "shrinkB": 0,
    }
    axes.annotate("", end, start, arrowprops=look)
    middle = (np.array(start) + np.array(end)) / 2.0
    axes.annotate(
        text,
        middle,
        offset,
        textcoords="offset points",
        color=QUIET,
        ha="center",
        va="center",
    )
    _reach(axes, [start, end])


def note(axes, at, text, place, ha="left"):
    """Words with a thin line to what they are about."""
    look = {"arrowstyle": "-", "color": QUIET, "lw": 0.8}
    axes.annotate(text, at, place, arrowprops=look, color=INK, ha=ha, va="center")
    _reach(axes, [place])


def turn(axes, centre, radius, start, end, text="", at=None):
    """Curved arrow from one angle [deg] to another, clockwise if that is smaller."""
    low, high = sorted((start, end))
    size = 2.0 * radius
    axes.add_patch(Arc(centre, size, size, theta1=low, theta2=high, color=LOAD, lw=1.8))
    tip, before = np.radians([end, end - np.sign(end - start) * 4.0])
    c = np.array(centre)
    head = c + radius * np.array([np.cos(tip), np.sin(tip)])
    tail = c + radius * np.array([np.cos(before), np.sin(before)])
    look = {"arrowstyle": "-|>", "color": LOAD, "lw": 1.8, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", head, tail, arrowprops=look, annotation_clip=False)
    _reach(axes, [c - radius, c + radius])
    if text:
        place = head if at is None else at
        axes.annotate(text, place, (5, 3), textcoords="offset points", color=LOAD)


def axis_cross(axes, at, size, names=("x", "y")):
    """Two short axes with their names."""
    look = {"arrowstyle": "->", "color": QUIET, "lw": 1.0, "shrinkA": 0, "shrinkB": 0}
    for step, name in zip(((size, 0.0), (0.0, size)), names, strict=True):
        head = (at[0] + step[0], at[1] + step[1])
        axes.annotate("", head, at, arrowprops=look)
        place = (at[0] + 1.35 * step[0], at[1] + 1.35 * step[1])
        axes.text(*place, name, color=QUIET, ha="center", va="center")
    _reach(axes, [at, (at[0] + 1.5 * size, at[1] + 1.5 * size)])


def error_table(rows):
    """Print (what, unit, by hand, by the solver, allowed) and return whether all hold.

    ``allowed`` is a relative error; None for a row that is shown, but not judged.
    """
    print(f"{'':46}{'by hand':>12}{'solver':>12}{'error':>9}{'allowed':>9}")
    good = True
    for what, unit, hand, found, allowed in rows:
        error = found / hand - 1.0
        good &= allowed is None or abs(error) <= allowed
        name = f"{what} [{unit}]" if unit else what
        limit = "shown" if allowed is None else f"{100 * allowed:.2g} %"
        print(f"{name:46}{hand:12.5g}{found:12.5g}{100 * error:8.2f} %{limit:>9}")
    return good
