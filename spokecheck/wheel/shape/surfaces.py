"""Surfaces a wheel is drawn with, and the one each face of the solid lies on.

Every face of the solid is part of a surface that was drawn: a curve of the section,
revolved; a side of a window, extruded; a curve of a cutter, revolved about its own
axis; or a sector cut.
A face gets its name by lying on exactly that surface, to ``ON_SURFACE``; a face that
lies on none is an error, not a guess.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import MeshError
from spokecheck.plane.curves import (
    Arc,
    Curve,
    Line,
    angle_between,
    as_point,
    distance_to,
    on_circle,
    outline_points,
    sense_of,
    signed_distance,
    turned,
)
from spokecheck.units import FloatArray
from spokecheck.wheel.shape.drawing import (
    Drawing,
    EdgeStrip,
    PocketCutter,
    RoundCutter,
    Window,
)

ON_SURFACE = 1.0e-2
"""Largest distance [mm] of a face from the surface it was drawn as; where a prism meets
a rounding, the kernel draws their common edge to a few micrometres."""

CUT_LOW, CUT_HIGH = "cut low", "cut high"

Projection = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True)
class DrawnSurface:
    """A drawn surface: a plane curve and the way space is projected onto its plane."""

    name: str
    curve: Curve
    project: Projection

    def distances(self, points: FloatArray) -> FloatArray:
        """Distance (n,) [mm] of points (n, 3) from the surface."""
        return distance_to(self.curve, self.project(points))

    def gaps(self, points: FloatArray) -> FloatArray:
        """The same with a sign, the ends of the curve not counted."""
        return signed_distance(self.curve, self.project(points))


def meridian(points: FloatArray) -> FloatArray:
    """Project points (n, 3) to (r, z)."""
    return np.column_stack([np.hypot(points[:, 0], points[:, 1]), points[:, 2]])


def _about(cutter: RoundCutter, angle: float) -> Projection:
    foot, axis, _ = cutter.frame(angle)

    def project(points: FloatArray) -> FloatArray:
        off = points - foot
        height = off @ axis
        return np.column_stack(
            [np.linalg.norm(off - height[:, None] * axis, axis=1), height]
        )

    return project


def _turned(angle: float) -> Projection:
    return lambda points: turned(points[:, :2], -angle)


def _onto_outline(window: Window, curve: Curve, angle: float) -> Projection:
    """Along the side of a window, drafted or not, onto its outline."""
    turn = _turned(angle)
    if window.draft == 0.0:
        return turn

    def project(points: FloatArray) -> FloatArray:
        flat = turn(points)
        growth = np.array([window.growth(z) for z in points[:, 2]])[:, None]
        if isinstance(curve, Line):
            along = np.subtract(curve.end, curve.start)
            outward = np.array([along[1], -along[0]]) / np.linalg.norm(along)
            return np.asarray(flat - growth * outward)
        centre = np.array(curve.centre)
        sense = sense_of(curve)
        off = flat - centre
        return np.asarray(centre + off * curve.radius / (curve.radius + sense * growth))

    return project


def _pocket_surfaces(pocket: PocketCutter, angle: float) -> list[DrawnSurface]:
    """Walls, floor and the radius between them."""
    origin, axes = pocket.frame(angle)
    f = pocket.floor_radius

    def plan(points: FloatArray) -> FloatArray:
        return np.asarray(((points - origin) @ axes.T)[:, :2])

    def height(points: FloatArray) -> FloatArray:
        return np.asarray((points - origin) @ axes[2])

    def level(points: FloatArray) -> FloatArray:
        h = height(points)
        return np.column_stack([np.zeros_like(h), h])

    def beside(curve: Curve) -> Projection:
        def project(points: FloatArray) -> FloatArray:
            return np.column_stack([distance_to(curve, plan(points)), height(points)])

        return project

    round_ = Arc((0.0, -f), (f, 0.0), (f, -f), "spoke pocket fillet")
    floor = Line((-1.0, 0.0), (1.0, 0.0), "spoke pocket floor")
    surfaces = [DrawnSurface("spoke pocket floor", floor, level)]
    for curve in pocket.curves:
        surfaces.append(DrawnSurface("spoke pocket wall", curve, plan))
        surfaces.append(DrawnSurface("spoke pocket fillet", round_, beside(curve)))
    return surfaces


def _edge_surface(strip: EdgeStrip, angle: float) -> DrawnSurface:
    """The arc of a rounded edge, its centre brought to the origin plane by plane."""
    share, d, z, way = np.array(strip.path).T
    turn, curve = _turned(angle), strip.curve

    def project(points: FloatArray) -> FloatArray:
        flat = turn(points)
        at, off = foot_on(curve, flat)
        centre = [np.interp(at, share, c) for c in (d, z)]
        return np.column_stack([off - centre[0], strip.side * points[:, 2] - centre[1]])

    start, end = (
        as_point(strip.radius * np.array([np.cos(a), np.sin(a)]))
        for a in (way.min(), strip.wall)
    )
    arc = Arc(start, end, (0.0, 0.0), strip.name)
    return DrawnSurface(strip.name, arc, project)


def foot_on(curve: Curve, xy: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Share (n,) of a curve's length nearest to points (n, 2), and distance outward.

    Beyond the ends of the curve the distance is that from the end.
    """
    start, end = np.array(curve.start), np.array(curve.end)
    if isinstance(curve, Line):
        along = end - start
        share = np.clip((xy - start) @ along / (along @ along), 0.0, 1.0)
        beyond = np.linalg.norm(xy - start - share[:, None] * along, axis=1)
        right = np.array([along[1], -along[0]])
        return share, beyond * np.sign((xy - start) @ right + 1e-12)
    centre = np.array(curve.centre)
    a, v = start - centre, xy - centre
    turn = angle_between(a, end - centre)
    ahead = np.arctan2(a[0] * v[:, 1] - a[1] * v[:, 0], v @ a)
    share = np.clip(ahead / turn, 0.0, 1.0)
    foot = on_circle(start, centre, share * turn)
    off = sense_of(curve) * (np.linalg.norm(v, axis=1) - curve.radius)
    inside = (ahead / turn > -1e-9) & (ahead / turn < 1.0 + 1e-9)
    beyond = np.linalg.norm(xy - foot, axis=1)
    return share, np.where(inside, off, np.maximum(beyond, np.abs(off)))


def drawn_surfaces(drawing: Drawing) -> list[DrawnSurface]:
    """All surfaces a wheel was drawn with, sector cuts excepted."""
    surfaces = [DrawnSurface(c.name, c, meridian) for c in drawing.section]
    if drawing.divide is not None:
        surfaces += [DrawnSurface(c.name, c, meridian) for c in drawing.divide.curves]
    for window in drawing.windows:
        for angle in window.angles:
            surfaces += [
                DrawnSurface(c.name, c, _onto_outline(window, c, angle))
                for c in window.curves
            ]
    for strip in drawing.edges:
        surfaces += [_edge_surface(strip, angle) for angle in strip.angles]
    for pocket in drawing.pockets:
        for angle in pocket.angles:
            surfaces += _pocket_surfaces(pocket, angle)
    for cutter in drawing.cutters:
        for angle in cutter.angles:
            project = _about(cutter, angle)
            surfaces += [
                DrawnSurface(c.name, c, project)
                for c in cutter.curves
                if c.name != "cutter"
            ]
    return surfaces


def cut_planes(drawing: Drawing) -> list[DrawnSurface]:
    """The two sector cuts, which are half planes from the axle."""
    reach = 2.0 * float(np.abs(outline_points(drawing.section)).max())
    line = Line((0.0, 0.0), (reach, 0.0), "")
    angles = {CUT_LOW: drawing.low_angle, CUT_HIGH: drawing.low_angle + drawing.span}
    return [
        DrawnSurface(name, line, _turned(angle))
        for name, angle in angles.items()
        if drawing.count > 1
    ]


def cut_side(drawing: Drawing, points: FloatArray) -> str | None:
    """Name of the sector cut on which points (n, 3) lie, if they do."""
    if drawing.count == 1:
        return None
    for name, angle in (
        (CUT_LOW, drawing.low_angle),
        (CUT_HIGH, drawing.low_angle + drawing.span),
    ):
        normal = np.array([-np.sin(angle), np.cos(angle), 0.0])
        along = np.array([np.cos(angle), np.sin(angle), 0.0])
        if np.abs(points @ normal).max() < ON_SURFACE and (points @ along > 0.0).all():
            return name
    return None


def surface_names(drawing: Drawing, faces: Sequence[FloatArray]) -> list[str]:
    """Names of the drawn surfaces that faces belong to.

    Parameters
    ----------
    drawing : Drawing
        The wheel.
    faces : sequence of ndarray (n, 3)
        Points on the edges of each face [mm].

    Returns
    -------
    list of str
        One for each face.

    Raises
    ------
    MeshError
        If a face lies on no drawn surface.
    """
    surfaces = drawn_surfaces(drawing)
    points, first = np.vstack(faces), np.cumsum([0, *map(len, faces[:-1])])
    # the largest distance of each face (n_surfaces, n_faces) from each surface
    gaps = np.array(
        [np.maximum.reduceat(surface.distances(points), first) for surface in surfaces]
    )
    names = []
    for face, gap in zip(faces, gaps.T, strict=True):
        cut = cut_side(drawing, face)
        best = int(gap.argmin())
        if cut is None and gap[best] > ON_SURFACE:
            raise MeshError(
                f"a face near {face.mean(axis=0).round(2).tolist()} mm lies "
                f"{gap[best]:.3g} mm off every drawn surface (limit {ON_SURFACE:g} "
                "mm): the CAD kernel changed the shape; vary a fillet or a width "
                "slightly"
            )
        names.append(cut or surfaces[best].name)
    return names
