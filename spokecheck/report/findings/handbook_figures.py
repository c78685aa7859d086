"""Figures of a handbook case: how it converges, and how the part deforms."""

from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.figure import Figure
from mpl_toolkits.mplot3d.art3d import (  # type: ignore[import-untyped]
    Line3DCollection,
    Poly3DCollection,
)

from spokecheck.fem.solution import Solution
from spokecheck.fem.stress import von_mises
from spokecheck.handbook.case import Case
from spokecheck.handbook.convergence import ConvergenceStudy, Trend
from spokecheck.mesh.record import Mesh, boundary_faces
from spokecheck.report.whole_files import write_whole
from spokecheck.units import FloatArray, IntArray

MARKERS = "osD^vPX*"
SUB_TRIANGLES = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""Corners of the four flat triangles of a TRI6 face."""

MOVED = 0.08
"""Largest drawn displacement over the size of the part."""

FLAT = 0.2
"""Parts thinner along z than this share of their size are drawn from above."""

MANY_FACES = 12000
"""Above this the faces are drawn flat, without their mid-side points."""

SHARP = np.cos(np.radians(40.0))
"""Edges between faces whose normals differ more are drawn as outline."""


def save_figures(case: Case, study: ConvergenceStudy, folder: Path) -> list[Path]:
    """Draw a convergence study and the deformed part of its finest run.

    Parameters
    ----------
    case : Case
        The case.
    study : ConvergenceStudy
        Its runs and trends.
    folder : Path
        Made if need be.

    Returns
    -------
    list of Path
        The files written; no deformed part where the case has none.
    """
    plot = folder / f"{case.id}-convergence.png"
    paths = [save_convergence_plot(case, study, plot)]
    solution = study.runs[-1].study.get("solution")
    if isinstance(solution, Solution):
        picture = folder / f"{case.id}-deformed.png"
        paths.append(save_deformed(case, solution, picture))
    return paths


def save_convergence_plot(case: Case, study: ConvergenceStudy, path: Path) -> Path:
    """Draw error against target, and distance to the limit, over cell size.

    Parameters
    ----------
    case : Case
        The case.
    study : ConvergenceStudy
        Its runs and trends.
    path : Path
        PNG file to write.

    Returns
    -------
    Path
        ``path``.
    """
    figure = Figure(figsize=(11.0, 5.2), layout="constrained")
    left, right = figure.subplots(1, 2)
    for k, trend in enumerate(study.trends):
        _draw_trend(left, right, trend, f"C{k % 10}", MARKERS[k % len(MARKERS)])
    left.axhline(0.0, color="0.4", linewidth=0.8)
    left.set(xlabel="relative cell size 1/n", ylabel="error against target [%]")
    left.set_xlim(left=0.0)
    right.set(
        xscale="log",
        yscale="log",
        xlabel="relative cell size 1/n",
        ylabel="distance to the limit over target",
    )
    levels = [run.fineness for run in study.runs]
    right.set_xticks([1.0 / n for n in levels], [f"1/{n}" for n in levels], minor=False)
    right.set_xticks([], minor=True)
    right.set_title("dashed: theoretical slope", fontsize=9)
    handles, labels = left.get_legend_handles_labels()
    if handles:
        figure.legend(handles, labels, loc="outside lower center", ncols=2, fontsize=8)
    figure.suptitle(f"{case.id}  {case.title}")
    return _write_png(path, figure)


def _write_png(path: Path, figure: Figure) -> Path:
    """Write a figure whole or not at all, without the drawing library's signature."""
    unsigned = {"Software": None}

    def write(part: Path) -> None:
        figure.savefig(part, dpi=130, format="png", metadata=unsigned)

    return write_whole(path, write)


def _draw_trend(left: Any, right: Any, trend: Trend, colour: str, mark: str) -> None:
    if trend.target == 0.0:
        return
    style = {"color": colour, "marker": mark, "markersize": 5}
    h = trend.sizes
    gap = 100.0 * (trend.values - trend.target) / abs(trend.target)
    left.plot(h, gap, label=trend.name, **style)
    distance = np.abs(trend.values - trend.limit) / abs(trend.target)
    seen = distance > 1e-12
    if seen.sum() < 2 or np.isnan(trend.observed):
        return
    right.plot(h[seen], distance[seen], **style)
    if trend.theoretical is not None:
        slope = distance[seen][0] * (h[seen] / h[seen][0]) ** trend.theoretical
        right.plot(h[seen], slope, "--", color=colour, linewidth=0.9)


def save_deformed(case: Case, solution: Solution, path: Path) -> Path:
    """Draw the deformed part, coloured by von Mises stress.

    Parameters
    ----------
    case : Case
        The case.
    solution : Solution
        What to draw.
    path : Path
        PNG file to write.

    Returns
    -------
    Path
        ``path``.

    Notes
    -----
    The outline is that of the part at rest; displacements are magnified.
    """
    mesh = solution.mesh
    faces = boundary_faces(mesh.cells)
    scale = _magnification(mesh, solution.u)
    triangles = faces[:, :3]
    if len(faces) <= MANY_FACES:
        triangles = faces[:, SUB_TRIANGLES].reshape(-1, 3)
    corners = (mesh.points + scale * solution.u)[triangles]
    colours = von_mises(solution.stress)[triangles].mean(axis=1)
    rest = mesh.points[_outline(mesh.points, faces)]
    extent = np.ptp(mesh.points, axis=0)
    units = {p.unit for p in case.parameters} | {q.unit for q in case.quantities}
    length, stress = ("in", "psi") if "psi" in units else ("mm", "MPa")
    figure = Figure(figsize=(8.0, 6.0))
    draw = _draw_plan if extent[2] < FLAT * extent[:2].min() else _draw_solid
    skin = draw(figure, corners, colours, rest)
    figure.colorbar(
        skin,
        cax=figure.add_axes((0.87, 0.2, 0.02, 0.55)),
        label=f"von Mises stress [{stress}]",
    )
    size = " x ".join(f"{e:.4g}" for e in extent)
    title = f"{case.id}  {case.title}\n{size} {length}, displacements times {scale:g}"
    figure.suptitle(title, fontsize=10)
    return _write_png(path, figure)


def _draw_plan(
    figure: Figure, corners: FloatArray, colours: FloatArray, rest: FloatArray
) -> Any:
    """Draw a thin part from above, in plane axes."""
    axes = figure.add_axes((0.09, 0.09, 0.74, 0.76))
    order = np.argsort(corners[:, :, 2].mean(axis=1), kind="stable")
    skin = PolyCollection(list(corners[order][:, :, :2]), linewidths=0.2)
    skin.set_array(colours[order])
    skin.set_edgecolor("face")
    axes.add_collection(skin)
    axes.add_collection(LineCollection(list(rest[:, :, :2]), colors="0.35", lw=0.7))
    axes.set_aspect("equal")
    axes.autoscale_view()
    axes.set_axis_off()
    return skin


def _draw_solid(
    figure: Figure, corners: FloatArray, colours: FloatArray, rest: FloatArray
) -> Any:
    """Draw a part from the front, the right and above, at equal scales."""
    axes: Any = figure.add_axes(
        (0.0, 0.0, 0.86, 0.92), projection="3d", proj_type="ortho"
    )
    skin = Poly3DCollection(corners, linewidths=0.0)
    skin.set_array(colours)
    axes.add_collection3d(skin)
    skin.set_edgecolor("face")
    axes.add_collection3d(Line3DCollection(rest, colors="0.35", linewidths=0.7))
    points = np.vstack([corners.reshape(-1, 3), rest.reshape(-1, 3)])
    low, high = points.min(axis=0), points.max(axis=0)
    extent = np.maximum(high - low, 0.02 * (high - low).max())
    for name, m, e in zip("xyz", (low + high) / 2.0, extent, strict=True):
        getattr(axes, f"set_{name}lim")(m - e / 2.0, m + e / 2.0)
    axes.set_box_aspect(extent)
    axes.set_axis_off()
    axes.view_init(elev=24.0, azim=-60.0)
    return skin


def _magnification(mesh: Mesh, u: FloatArray) -> float:
    """A factor 1, 2 or 5 times a power of ten that makes the motion visible."""
    size = float(np.ptp(mesh.points, axis=0).max())
    largest = float(np.linalg.norm(u, axis=1).max())
    if largest <= 1e-12 * size:
        return 1.0
    wanted = MOVED * size / largest
    power = 10.0 ** np.floor(np.log10(wanted))
    return float(power * max(k for k in (1.0, 2.0, 5.0) if k * power <= wanted))


def _outline(points: FloatArray, faces: IntArray) -> IntArray:
    """Ends (n_lines, 2) of the half edges along which the surface has a kink."""
    sides = np.stack([faces[:, [0, 3, 1]], faces[:, [1, 4, 2]], faces[:, [2, 5, 0]]], 1)
    normal = np.cross(
        points[faces[:, 1]] - points[faces[:, 0]],
        points[faces[:, 2]] - points[faces[:, 0]],
    )
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    flat = sides.reshape(-1, 3)
    owner = np.repeat(np.arange(len(faces)), 3)
    order = np.argsort(flat[:, 1], kind="stable")
    first, second = order[0::2], order[1::2]
    turn = (normal[owner[first]] * normal[owner[second]]).sum(axis=1)
    kinks = flat[first[turn < SHARP]]
    return np.concatenate([kinks[:, :2], kinks[:, 1:]])
