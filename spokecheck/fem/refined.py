"""Refine one's own case about some places until these stand still.

Cells about every place that has not settled are halved, and the body is solved again as
a whole, so that a place changes by its own refinement alone.
How far its last value may still be off is the grid convergence index of its own meshes
(``grid_convergence``), or the estimate of its stress error if that is more.

Notes
-----
Must not be used to mend a poor shape: halved cells keep the shape of the first mesh.
An arc that was meshed with two edges on a quarter circle stays two parabolas, which
meet at an angle, where stress grows without limit: 4 % above Lamé's after four
halvings of a bore, 0.5 % or less where there were four edges.

Examples
--------
>>> from spokecheck.fem.actions import traction
>>> from spokecheck.fem.elasticity import Material
>>> from spokecheck.fem.static import solve_static
>>> from spokecheck.fem.supports import fix
>>> from spokecheck.mesh.notches import plate_with_hole
>>> plate = plate_with_hole(10.0, 50.0, 100.0, 5.0, (3, 4, 1))
>>> held = [fix("x0", "x"), fix("y0", "y"), fix(["bottom", "top"], "z")]
>>> pull = [traction("right", (100.0, 0.0, 0.0))]
>>> coarse = solve_static(plate, Material(E=70000.0, nu=0.33), held, pull)
>>> done = refined(coarse, ["hole"], measure=lambda stress: stress[:, 0])
>>> done.settled, 310.0 < done.places[0].value < 320.0
(True, True)
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from spokecheck.errors import ModelError
from spokecheck.fem.actions import PointForces
from spokecheck.fem.body import Body
from spokecheck.fem.error import SHEAR_WEIGHT, mean_at
from spokecheck.fem.grid_convergence import LEAST_BAR, UNREFINED, grid_convergence
from spokecheck.fem.local_halving import CoarseSpot, Sphere, halve_about, mean_edges
from spokecheck.fem.solution import Solution
from spokecheck.fem.static import solve_cases
from spokecheck.fem.stress import von_mises
from spokecheck.fem.supports import Foundation, Vector
from spokecheck.mesh.record import Mesh
from spokecheck.units import FloatArray, IntArray

Place = str | Vector
"""A position [mm], or the name of a surface, whose highest value counts."""

Measure = Callable[[FloatArray], FloatArray]
"""From stresses (n, 6) [MPa] to what must settle (n,) [MPa]."""

STEP = 0.5
"""Share to which one refinement shortens the edges at a place."""

SPHERE = 3.0
"""Radius of a refinement in edges of the mesh before."""

SPACED = 1.5
"""Refinements on one surface are further apart than so many edges."""

HOT = 0.9
"""Points of a surface with this share of its highest value are refined with it: the
highest may lie there on the next mesh."""

REFINED, COARSER = 0.8, 1.1
"""A place counts as refined if its edges shrank to the first share or less, and as
another place if they grew to more than the second."""


@dataclass(frozen=True, kw_only=True)
class RefinedPlace:
    """A place on the meshes on which it was refined, the first one first.

    Attributes
    ----------
    place : str or sequence of float
        As given.
    position : ndarray (3,)
        Where it is on the last mesh [mm].
    edges : tuple of float
        Mean edge of the cells there [mm].
    values : tuple of float
        What must settle [MPa].
    estimate : float
        Estimated relative error of the last stress, see ``Solution.error_at``.
    """

    place: Place
    position: FloatArray
    edges: tuple[float, ...]
    values: tuple[float, ...]
    estimate: float

    @property
    def value(self) -> float:
        """Value on the last mesh [MPa]."""
        return self.values[-1]

    @property
    def bar(self) -> float:
        """Relative error bar of the value."""
        if len(self.values) == 1:
            return max(UNREFINED * self.estimate, LEAST_BAR)
        scale = max(abs(self.value), 1e-300)
        index = grid_convergence(self.edges, self.values, scale)
        return max(index, self.estimate, LEAST_BAR)

    def settled(self, tolerance: float) -> bool:
        """Whether it was refined and its bar is within the tolerance."""
        return len(self.values) > 1 and self.bar <= tolerance


@dataclass(frozen=True, kw_only=True)
class Refined:
    """What a refinement ended with.

    Attributes
    ----------
    solution : Solution
        On the last mesh.
    places : tuple of RefinedPlace
        In the order in which they were given.
    settled : bool
        Whether all of them have settled.
    given_up : tuple of CoarseSpot
        Where cells had to stay whole since their parts would be unsound.
    """

    solution: Solution
    places: tuple[RefinedPlace, ...]
    settled: bool
    given_up: tuple[CoarseSpot, ...] = ()


def refined(
    solution: Solution,
    places: Sequence[Place],
    tolerance: float = 0.03,
    most: int = 5,
    measure: Measure = von_mises,
) -> Refined:
    """Refine a solved case about some places until their values have settled.

    Parameters
    ----------
    solution : Solution
        From ``solve_static`` or ``solve_cases``.  Supports and loads must be given by
        surface names or by functions of position, which hold on any mesh.
    places : sequence of str or position
        Names of surfaces, of whose values the highest counts, and positions [mm].
    tolerance : float
        Largest error bar, relative; at least ``LEAST_BAR``.
    most : int
        Most meshes, the first one included.
    measure : callable
        From stresses (n, 6) [MPa] to what must settle (n,); von Mises stress if not
        given.

    Returns
    -------
    Refined
        Not settled where the last mesh still changes too much, as at a sharp notch,
        whose stress has no limit.

    Raises
    ------
    ModelError
        If a position lies outside the body, the tolerance is too small, or a support
        or load is tied to points of the first mesh.
    """
    if tolerance < LEAST_BAR:
        raise ModelError(
            f"tolerance = {tolerance:g}: must be {LEAST_BAR:g} or more, the least "
            "error bar: the mesh elsewhere and its geometry have errors of their own"
        )
    if not places or most < 1:
        raise ModelError(
            f"{len(places)} places, {most} meshes: name at least one of each"
        )
    _check_movable(solution)
    given_up: dict[tuple[float, ...], CoarseSpot] = {}
    tracks = [_seen(solution, place, measure) for place in places]
    for _ in range(most - 1):
        open_ones = [track for track in tracks if not track.settled(tolerance)]
        if not open_ones:
            break
        mesh, cyclic = solution.mesh, solution.body.cyclic
        spheres = _spheres(solution, open_ones, measure)
        now = np.array([sphere.size / STEP for sphere in spheres])
        done = halve_about(mesh, cyclic, spheres, now)
        given_up |= {spot.centre: spot for spot in done.given_up}
        if not done.halved.any():
            break
        body = replace(solution.body, mesh=done.mesh, cyclic=done.cyclic)
        solution = _again(solution, body)
        tracks = [_seen(solution, t.place, measure, t) for t in tracks]
    return Refined(
        solution=solution,
        places=tuple(tracks),
        settled=all(track.settled(tolerance) for track in tracks),
        given_up=tuple(given_up.values()),
    )


def _again(solution: Solution, body: Body) -> Solution:
    """The same case on another mesh."""
    return solve_cases(body, solution.held.given, {"": solution.loads})[""]


def _check_movable(solution: Solution) -> None:
    """Raise if a support or a load holds for one mesh only."""
    tied = [
        f"{type(s).__name__} on {len(s.where)} point numbers"
        for s in solution.held.given
        if not isinstance(s, Foundation) and isinstance(s.where, np.ndarray)
    ]
    tied += ["PointForces" for load in solution.loads if isinstance(load, PointForces)]
    if tied:
        raise ModelError(
            f"{'; '.join(tied)}: cannot follow a finer mesh; give a surface name or a "
            "function of position"
        )


def _point_edges(mesh: Mesh) -> FloatArray:
    """Mean edge (n_points,) [mm] of the cells at each point."""
    return mean_at(mesh.cells, mean_edges(mesh), mesh.n_points)


def _seen(
    solution: Solution,
    place: Place,
    measure: Measure,
    before: RefinedPlace | None = None,
) -> RefinedPlace:
    """A place on the mesh now, with what it was on those before.

    Where the mesh stayed as it was, the value takes the place of the last.
    Where the highest value has moved to longer edges, what it was elsewhere says
    nothing, and its meshes begin anew.
    """
    number, position, found, error = _reading(solution, place, measure)
    edge = float(_point_edges(solution.mesh)[number])
    edges: tuple[float, ...] = (edge,)
    values: tuple[float, ...] = (found,)
    if before is not None and edge <= REFINED * before.edges[-1]:
        edges, values = (*before.edges, edge), (*before.values, found)
    elif before is not None and edge <= COARSER * before.edges[-1]:
        edges, values = before.edges, (*before.values[:-1], found)
    return RefinedPlace(
        place=place,
        position=position,
        edges=edges,
        values=values,
        estimate=error / abs(found) if found else float("inf"),
    )


def _reading(
    solution: Solution, place: Place, measure: Measure
) -> tuple[int, FloatArray, float, float]:
    """Nearest point, position, value and estimated error [MPa] of a place."""
    mesh = solution.mesh
    if isinstance(place, str):
        nodes = mesh.nodes(place)
        value = np.asarray(measure(solution.stress[nodes]))
        top = int(np.argmax(np.abs(value)))
        number = int(nodes[top])
        error = float(solution.error[number])
        return number, mesh.points[number], float(value[top]), error
    position = np.asarray(place, dtype=float)
    stress = np.atleast_2d(solution.stress_at(position))
    size = float(np.sqrt(stress**2 @ SHEAR_WEIGHT)[0])
    error = size * float(solution.error_at(position)) if size else float("inf")
    number = int(cKDTree(mesh.points).query(position)[1])
    return number, position, float(np.asarray(measure(stress))[0]), error


def _spheres(
    solution: Solution, tracks: Sequence[RefinedPlace], measure: Measure
) -> list[Sphere]:
    """Where to halve cells for some places."""
    mesh, edges = solution.mesh, _point_edges(solution.mesh)
    found = []
    for track in tracks:
        centres, sizes = track.position[None], np.array(track.edges[-1:])
        if isinstance(track.place, str):
            nodes = mesh.nodes(track.place)
            value = np.abs(measure(solution.stress[nodes]))
            hot = nodes[np.argsort(-value)][: int((value >= HOT * value.max()).sum())]
            kept = _apart(mesh.points[hot], SPACED * edges[hot])
            centres, sizes = mesh.points[hot[kept]], edges[hot[kept]]
        for centre, edge in zip(centres.tolist(), sizes.tolist(), strict=True):
            found.append(Sphere(tuple(centre), STEP * edge, SPHERE * edge))
    return found


def _apart(points: FloatArray, gaps: FloatArray) -> IntArray:
    """Numbers of points, the first ones first, each a gap [mm] away from all others."""
    kept: list[int] = []
    left = np.ones(len(points), dtype=bool)
    while left.any():
        first = int(np.argmax(left))
        kept.append(first)
        left &= np.linalg.norm(points - points[first], axis=1) >= gaps[first]
    return np.array(kept)
