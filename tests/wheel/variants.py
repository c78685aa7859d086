"""Variants of the example designs, for tests of what is drawn."""

import tomllib
from pathlib import Path

import numpy as np

from spokecheck.plane.curves import Arc, Line, outline_points
from spokecheck.wheel.meshing.kernel.session import quiet_session
from spokecheck.wheel.meshing.kernel.solid import build_solid
from spokecheck.wheel.shape.wheel_shape import draw_wheel
from spokecheck.wheel.tables.design import Design

FIVE = "aspen-cast-5"


def variant(base=FIVE, **tables):
    """Design of an example with some keys of some tables replaced."""
    raw = tomllib.loads(Path(f"meshes/designs/{base}.toml").read_text(encoding="utf-8"))
    for name, keys in tables.items():
        raw[name].update(keys)
    return Design(**raw)


def solid_volume(design):
    """Volume [mm^3] of the whole wheel, by the CAD kernel."""
    shape = draw_wheel(design)
    with quiet_session():
        return build_solid(shape.drawing).volume * shape.count


def ring(*triangle):
    """Volume [mm^3] of a revolved triangle of the section (Pappus)."""
    a, b, c = np.array(triangle)
    (x, y), (u, v) = b - a, c - a
    area = abs(x * v - y * u) / 2.0
    return 2.0 * np.pi * (a + b + c)[0] / 3.0 * area


def fillet_gap(curves, name="rim inner"):
    """Volume [mm^3] between the roundings of a section and their corners, signed.

    A rounding of radius R and turn t takes R^2 (tan(t / 2) - t / 2) off a convex corner
    and adds it to a re-entrant one; its ring has the radius of its middle.
    """
    total = 0.0
    for arc in curves:
        if isinstance(arc, Arc) and arc.name == name:
            a = np.subtract(arc.start, arc.centre)
            b = np.subtract(arc.end, arc.centre)
            turn = np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)
            size = np.tan(abs(turn) / 2.0) - abs(turn) / 2.0
            middle = (arc.start[0] + arc.end[0]) / 2.0
            total -= np.sign(turn) * arc.radius**2 * size * 2.0 * np.pi * middle
    return total


def sharp_turns(curves):
    """Turn [rad] at each end of a curve, left positive, with the two names."""
    pairs = zip(curves, (*curves[1:], curves[0]), strict=True)
    return [(_turn(a, b), a.name, b.name) for a, b in pairs]


def _turn(one, other):
    a, b = _direction(one, end=True), _direction(other, end=False)
    return float(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b))


def _direction(curve, end):
    start, stop = np.array(curve.start), np.array(curve.end)
    if isinstance(curve, Line):
        return (stop - start) / np.linalg.norm(stop - start)
    centre = np.array(curve.centre)
    a, b = start - centre, stop - centre
    turns = np.sign(a[0] * b[1] - a[1] * b[0])
    spoke = b if end else a
    return turns * np.array([-spoke[1], spoke[0]]) / np.linalg.norm(spoke)


def is_simple(curves):
    """Whether an outline crosses itself nowhere, arcs cut into eight chords."""
    p = outline_points(curves)
    q = np.roll(p, -1, axis=0)

    def side(a, b, c):
        ab, ac = b - a, c - a
        return ab[..., 0] * ac[..., 1] - ab[..., 1] * ac[..., 0]

    a, b, c, d = p[:, None], q[:, None], p[None], q[None]
    crosses = (side(a, b, c) * side(a, b, d) < -1e-9) & (
        side(c, d, a) * side(c, d, b) < -1e-9
    )
    return not crosses.any()
