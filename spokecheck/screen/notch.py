"""Notch support at a hot spot: critical distance, or the FKM support factor.

Off unless the design asks for it; the margin without it is always reported too.

References
----------
Taylor, The Theory of Critical Distances, 2007: point method at L / 2, line method over
2 L below the surface (from memory).
FKM guideline 2012, ch. 4.3.1, for the support factor (secondary transcription).
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.fatigue.assess import Assessment
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.measures import ellipse_amplitude
from spokecheck.fatigue.support import support_factor
from spokecheck.fem.probe import locate
from spokecheck.screen.hotspots import MERGE_RADIUS, Surface
from spokecheck.screen.loaded import LoadedCase
from spokecheck.units import FloatArray
from spokecheck.wheel.build import Wheel

SOURCE = "Taylor 2007 (from memory); FKM guideline 2012 (secondary transcription)"

GRADIENT_DEPTH = 1.0
"""Depth [mm] over which the stress gradient is taken; own choice, below half a cell."""

LINE_POINTS = 5
"""Gauss points of the line method."""

HIGHLY_STRESSED = 0.9
"""Share of the local maximum that bounds the highly stressed area (FKM)."""


@dataclass(frozen=True)
class Place:
    """A hot spot on the surface of a loaded wheel.

    Attributes
    ----------
    wheel, surface, loaded
        Where it lies.
    index : int
        Point, numbered within the surface.
    load : float
        Level of the test [N mm or N].
    """

    wheel: Wheel
    surface: Surface
    loaded: LoadedCase
    index: int
    load: float

    def inward(self) -> FloatArray:
        """Unit vector (3,) into the metal."""
        faces = self.surface.faces[(self.surface.faces == self.index).any(axis=1)]
        a, b, c = np.moveaxis(self._points()[faces[:, :3]], 1, 0)
        normal = np.cross(b - a, c - a)
        normal = (normal / np.linalg.norm(normal, axis=1, keepdims=True)).sum(axis=0)
        return np.asarray(-normal / np.linalg.norm(normal))

    def below(self, depths: FloatArray, weights: FloatArray) -> StressHistory:
        """Weighted mean of the history (one point) at depths [mm] below the surface.

        The surface's own stress, and from there on the change of the recovered field.

        Raises
        ------
        ModelError
            If a depth lies outside the sector.
        """
        mesh, start = self.wheel.mesh, self._points()[self.index]
        node = self.surface.nodes[[self.index]]
        top = self.loaded.history(self.load, node)
        smooth = self.loaded.recovered(mesh, self.load, node)
        inward, total = self.inward(), (top.stress - smooth.stress)[:, 0]
        for depth, weight in zip(depths, weights, strict=True):
            spot = locate(mesh, start + depth * inward)
            nodes = mesh.cells[spot.cell]
            there = self.loaded.recovered(mesh, self.load, nodes)
            total += weight * np.einsum("a,mav->mv", spot.weights, there.stress)
        return StressHistory(top.orders, total[:, None])

    def highly_stressed_area(self, utilisation: FloatArray) -> float:
        """Surface [mm2] around the spot above 90 % of its utilisation."""
        faces, points = self.surface.faces, self._points()
        near = np.linalg.norm(points[faces].mean(axis=1) - points[self.index], axis=1)
        high = utilisation[faces].mean(axis=1) >= (
            HIGHLY_STRESSED * utilisation[self.index]
        )
        a, b, c = np.moveaxis(points[faces[(near < MERGE_RADIUS) & high, :3]], 1, 0)
        return float(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum())

    def _points(self) -> FloatArray:
        return self.wheel.mesh.points[self.surface.nodes]


def history_at_distance(place: Place, method: str, distance: float) -> StressHistory:
    """History by the point or the line method.

    Parameters
    ----------
    place : Place
        Hot spot.
    method : {"point", "line"}
        Stress at L / 2, or its mean over 2 L.
    distance : float
        Critical distance L [mm].

    Returns
    -------
    StressHistory
        One point.
    """
    if method == "point":
        return place.below(np.array([distance / 2.0]), np.ones(1))
    x, w = np.polynomial.legendre.leggauss(LINE_POINTS)
    return place.below(distance * (x + 1.0), w / 2.0)


def fkm_factor(
    place: Place, assessment: Assessment, point: int, utilisation: FloatArray
) -> tuple[float, str]:
    """FKM support factor of a hot spot, and how it was found.

    An area below that of the reference bar would earn a statistical credit of up to a
    third; this project does not give it, since hot spots come in many equal copies.

    Parameters
    ----------
    place : Place
        Hot spot.
    assessment : Assessment
        Assessment of its zone.
    point : int
        Its point within that assessment.
    utilisation : ndarray (n_nodes,)
        On the surface.
    """
    # relative gradient G of the amplitude over the first millimetre
    deep = ellipse_amplitude(place.below(np.array([GRADIENT_DEPTH]), np.ones(1)))[0]
    top = ellipse_amplitude(assessment.history.take([point]))[0]
    gradient = max(float(1.0 - deep / top) / GRADIENT_DEPTH, 0.0)
    # highly stressed area, at least that of the reference bar
    area, alloy = place.highly_stressed_area(utilisation), assessment.alloy
    counted = max(area, alloy.group.reference_area)
    modulus = alloy.youngs_modulus
    factor = support_factor(gradient, counted, alloy.rm, modulus, alloy.group)
    note = f"n of FKM = {factor:.4g} at G = {gradient:.3g} 1/mm, A90 = {area:.4g} mm2"
    if counted > area:
        note += f" counted as {counted:g}: a smaller one earns no credit here"
    return factor, note
