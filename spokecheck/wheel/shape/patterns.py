"""Spoke patterns: how the bars of each lie in the face view.

A pattern lays the bars of one repeat; the wheel has ``Spokes.repeats`` of them.
Adding a pattern means adding a function here and its table in ``design``.
"""

from collections.abc import Callable

import numpy as np

from spokecheck.units import FloatArray
from spokecheck.wheel.shape.spoke_bars import Bar, curved_bar, straight_bar
from spokecheck.wheel.tables.spokes_table import Spokes

INTO_HUB = 0.5
"""How far bars run on towards the axle, as a share of the radius of their root."""

INTO_RIM = 60.0
"""How far bars run on beyond the rim's inner side [mm], so that their ends lie outside
however much they lean."""

SWEEP_POINTS = 3
"""Points that a swept centre-line is drawn through."""

TABLE = {
    "twin": "twin",
    "forked": "fork",
    "swept": "sweep",
    "lattice": "lattice",
    "plate": "plate",
    "course": "course",
}
"""Table of the design file that a pattern needs, by pattern."""


def lay_bars(spokes: Spokes, tip: float) -> list[Bar]:
    """Bars of the first repeat of a pattern, the first spoke along +x.

    Parameters
    ----------
    spokes : Spokes
        Table of the design file, with the table its pattern needs.
    tip : float
        Radius [mm] at which the tip width is measured.

    Returns
    -------
    list of Bar
        None for the pattern ``plate``, which has windows of its own.
    """
    return LAY[spokes.pattern](spokes, tip)


def _widths(spokes: Spokes) -> tuple[float, float]:
    assert spokes.root_width_mm is not None  # checked by limits
    assert spokes.tip_width_mm is not None
    return spokes.root_width_mm, spokes.tip_width_mm


def _through(
    spokes: Spokes, start: tuple[float, float], end: tuple[float, float]
) -> Bar:
    """Straight bar from hub to rim."""
    return straight_bar(
        start, end, _widths(spokes), INTO_HUB * spokes.root_radius_mm, INTO_RIM
    )


def _straight(spokes: Spokes, tip: float) -> list[Bar]:
    return [_through(spokes, (spokes.root_radius_mm, 0.0), (tip, 0.0))]


def _twin(spokes: Spokes, tip: float) -> list[Bar]:
    assert spokes.twin is not None
    root, out = spokes.twin.root_spacing_mm / 2.0, spokes.twin.tip_spacing_mm / 2.0
    return [
        _through(spokes, (spokes.root_radius_mm, s * root), (tip, s * out))
        for s in (1.0, -1.0)
    ]


def _forked(spokes: Spokes, tip: float) -> list[Bar]:
    """A stem of even width, and two branches that begin within it."""
    assert spokes.fork is not None
    root, branch = _widths(spokes)
    fork, foot = spokes.fork.radius_mm, spokes.fork.tip_spacing_mm / 2.0
    start = max(root - branch, 0.0) / 2.0
    lean = (foot - start) / (tip - fork)
    hidden = 1.0 + branch / 2.0 * abs(lean)
    stem = straight_bar(
        (spokes.root_radius_mm, 0.0),
        (fork, 0.0),
        (root, root),
        INTO_HUB * spokes.root_radius_mm,
        hidden,
    )
    branches = [
        straight_bar(
            (fork, s * start), (tip, s * foot), (branch, branch), hidden, INTO_RIM
        )
        for s in (1.0, -1.0)
    ]
    return [stem, *branches]


def _swept(spokes: Spokes, tip: float) -> list[Bar]:
    assert spokes.sweep is not None
    bar = _swept_bar(spokes, tip, np.deg2rad(spokes.sweep.angle_deg))
    if spokes.sweep.hand == "one":
        return [bar]
    other = _swept_bar(spokes, tip, -np.deg2rad(spokes.sweep.angle_deg))
    return [bar, other.turned(2.0 * np.pi / spokes.count)]


def _swept_bar(spokes: Spokes, tip: float, sweep: float) -> Bar:
    """Bar along the circle that leaves the hub radially and ends at the swept tip."""
    root = spokes.root_radius_mm
    end = tip * np.array([np.cos(sweep), np.sin(sweep)])
    chord = end - np.array([root, 0.0])
    half = np.arctan2(chord[1], chord[0])
    if abs(half) < 1e-3:
        return _straight(spokes, tip)[0]
    radius = float(np.linalg.norm(chord)) / (2.0 * np.sin(half))
    t = np.linspace(0.0, 2.0 * half, SWEEP_POINTS)
    points = np.column_stack([root + radius * np.sin(t), radius * (1.0 - np.cos(t))])
    widths = np.linspace(*_widths(spokes), SWEEP_POINTS)
    return curved_bar(points, widths, INTO_HUB * root, INTO_RIM)


def _lattice(spokes: Spokes, tip: float) -> list[Bar]:
    assert spokes.lattice is not None
    lead = np.deg2rad(spokes.lattice.lead_deg)
    return [
        _through(
            spokes,
            (spokes.root_radius_mm, 0.0),
            (tip * float(np.cos(lead)), s * tip * float(np.sin(lead))),
        )
        for s in (1.0, -1.0)
    ]


def _course(spokes: Spokes, tip: float) -> list[Bar]:
    assert spokes.course is not None
    points = np.array(spokes.course.points_mm)
    widths = _course_widths(spokes, points)
    before = INTO_HUB * float(np.hypot(*points[0]))
    after = INTO_RIM + max(0.0, tip - float(np.hypot(*points[-1])))
    if len(points) == 2:
        pair = float(widths[0]), float(widths[1])
        return [straight_bar(points[0], points[1], pair, before, after)]
    return [curved_bar(points, widths, before, after)]


def _course_widths(spokes: Spokes, points: FloatArray) -> FloatArray:
    """Widths (n,) [mm] at the points of a course."""
    assert spokes.course is not None
    if spokes.course.widths_mm is not None:
        return np.array(spokes.course.widths_mm)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    share = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    root, tip = _widths(spokes)
    return np.asarray(root + (tip - root) * share)


def _plate(spokes: Spokes, tip: float) -> list[Bar]:
    return []


LAY: dict[str, Callable[[Spokes, float], list[Bar]]] = {
    "straight": _straight,
    "twin": _twin,
    "forked": _forked,
    "swept": _swept,
    "lattice": _lattice,
    "plate": _plate,
    "course": _course,
}
