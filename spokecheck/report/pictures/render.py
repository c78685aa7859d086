"""Pictures of a wheel; run as a child process: ``python -m ... JOB.npz FOLDER``.

pyvista lives here alone.
A missing graphics driver ends the process with a segmentation fault; it must never end
the screening, hence the child.
"""

import sys
from pathlib import Path
from time import sleep
from typing import Any

import numpy as np
import pyvista
from PIL import Image
from pyvista import Plotter
from vtkmodules.vtkCommonCore import vtkFloatArray

from spokecheck.fem.cyclic import rotation
from spokecheck.report.pictures.lettering import (
    COLOURS,
    TOP,
    compose,
    compose_close,
    compose_small,
)
from spokecheck.report.pictures.picture_job import PictureJob, load_job
from spokecheck.report.pictures.snapshot import Snapshot, visible_images
from spokecheck.units import FloatArray

NOT_ASSESSED = "#b9b4ad"
WINDOW = 1100
"""Edge of the rendered square [px]."""

SIDE = "side"
VIEWS = {
    "front": (0.50, 0.20, 0.90),
    "back": (-0.46, 0.20, -0.90),
    SIDE: (-0.92, 0.12, -0.30),
}
"""Direction from the wheel to the camera."""

LOOKS = 0.05
"""Seconds between two looks for the job."""

UP = np.array([0.0, 1.0, 0.0])

CLOSE_UPS = 3
CLOSE_RADIUS = 75.0
"""Half the width of a close-up [mm]."""

SUB_TRIANGLES = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""Corners of the four flat triangles of a TRI6 face."""

METAL = "#e3e7ec"
PORTRAIT = 640
"""Edge of a portrait [px]."""

PORTRAIT_VIEW = (0.42, 0.16, 0.89)
"""Direction from the wheel to the camera of a portrait."""

PORTRAIT_LIGHTS = (
    ((-0.5, 0.4, 1.0), 0.92),
    ((0.3, 1.0, 0.3), 0.32),
    ((1.0, -0.5, 0.5), 0.16),
)
"""Places of its lights about the camera, and their strength."""

SHARP = 55.0
"""Edges sharper than this [deg] are shaded as edges."""


def whole_surface(job: PictureJob) -> pyvista.PolyData:
    """Surface of the whole wheel: the sector's, turned; with normals."""
    flat = job.faces[:, SUB_TRIANGLES].reshape(-1, 3)
    turns = [rotation(2.0 * np.pi * k / job.sectors) for k in range(job.sectors)]
    points = np.concatenate([job.points @ turn.T for turn in turns])
    triangles = np.concatenate([flat + k * len(job.points) for k in range(job.sectors)])
    mesh = pyvista.PolyData.from_regular_faces(points, triangles)
    mesh["utilisation"] = np.tile(job.utilisation, job.sectors)
    mesh["assessed"] = np.tile(job.assessed, job.sectors).astype(float)
    mesh = mesh.clean(tolerance=1e-6)
    shaded: pyvista.PolyData = mesh.compute_normals(
        cell_normals=False,
        split_vertices=True,
        feature_angle=SHARP,
        consistent_normals=False,
    )
    return shaded


class Studio:
    """One plotter for all views; only the camera moves."""

    def __init__(self, job: PictureJob) -> None:
        self.job = job
        self.mesh = whole_surface(job)
        nearest = [self.mesh.find_closest_point(image) for image in job.images]
        self.normals = np.asarray(self.mesh.point_normals)[nearest]
        self._plotter: Any = Plotter(
            off_screen=True, window_size=[WINDOW, WINDOW], lighting="none"
        )
        self._plotter.background_color = pyvista.Color("white")
        self._add_surfaces()
        for position, intensity in (
            ((0.4, 1.0, 1.0), 0.85),
            ((-1.0, 0.3, 0.7), 0.55),
            ((0.7, -0.8, 0.6), 0.35),
        ):
            light = pyvista.Light(
                position=position, light_type="camera light", intensity=intensity
            )
            self._plotter.add_light(light)
        self.top = TOP
        self._shown = False

    def _add_surfaces(self) -> None:
        """Assessed surface in colour, the rest in grey, and the line of 1."""
        look: dict[str, Any] = {"ambient": 0.45, "diffuse": 0.7, "specular": 0.08}
        part = self.mesh.clip_scalar(scalars="assessed", value=0.5, invert=False)
        rest = self.mesh.clip_scalar(scalars="assessed", value=0.5, invert=True)
        self._plotter.add_mesh(
            part,
            scalars="utilisation",
            cmap=COLOURS,
            clim=(0.0, TOP),
            show_scalar_bar=False,
            interpolate_before_map=True,
            **look,
        )
        if rest.n_cells:
            self._plotter.add_mesh(rest, color=NOT_ASSESSED, scalars=None, **look)
        for actor in self._plotter.actors.values():
            actor.prop.interpolation = "Phong"
        line = part.contour([1.0], scalars="utilisation")
        if line.n_points:
            self._plotter.add_mesh(line, color="black", line_width=3)

    def rescale(self) -> None:
        """Stretch the colours to the highest utilisation, if the scale falls short."""
        self.top = max(TOP, float(self.job.utilisation[self.job.assessed].max()))
        for actor in self._plotter.actors.values():
            if actor.mapper.scalar_visibility:
                actor.mapper.scalar_range = (0.0, self.top)

    def shoot(
        self, focus: FloatArray, direction: FloatArray, up: FloatArray, radius: float
    ) -> Snapshot:
        """Render the sphere of ``radius`` [mm] about ``focus``."""
        direction = direction / np.linalg.norm(direction)
        distance = max(2600.0, 10.0 * radius)
        camera = self._plotter.camera
        camera.position = tuple(focus + distance * direction)
        camera.focal_point = tuple(focus)
        camera.up = tuple(up)
        camera.view_angle = 2.0 * np.degrees(np.arctan(radius / distance))
        self._plotter.reset_camera_clipping_range()
        if not self._shown:
            self._plotter.show(auto_close=False)
            self._shown = True
        else:
            self._plotter.render()
        image = self._plotter.screenshot(return_img=True)
        matrix = camera.GetCompositeProjectionTransformMatrix(1.0, -1.0, 1.0)
        entries = [[matrix.GetElement(i, j) for j in range(4)] for i in range(4)]
        return Snapshot(
            np.asarray(image),
            self._depth(),
            np.array(entries),
            focus + distance * direction,
            -direction,
        )

    def _depth(self) -> FloatArray:
        """Distance [mm] of each pixel of the picture just rendered, NaN for none."""
        width, height = self._plotter.window_size
        buffer = vtkFloatArray()
        # pyvista's own depth image renders the scene anew
        window = self._plotter.render_window
        window.GetZbufferData(0, 0, width - 1, height - 1, buffer)
        z = np.asarray(pyvista.convert_array(buffer)).reshape(height, width)[::-1]
        near, far = self._plotter.camera.clipping_range
        depth = near * far / (far - z.astype(float) * (far - near))
        return np.where(z < 1.0, depth, np.nan)


def close_direction(mesh: pyvista.PolyData, spot: FloatArray) -> FloatArray:
    """Direction from a spot to a camera that sees it and what is around it.

    Rays in directions spread over the sphere are cast from the spot and from a ring
    about it; those that meet the wheel are worth nothing.
    """
    normal = np.asarray(mesh.point_normals[mesh.find_closest_point(spot)])
    k = np.arange(200) + 0.5
    polar, turn = np.arccos(1.0 - 2.0 * k / 200), np.pi * (1.0 + 5.0**0.5) * k
    sphere = np.column_stack(
        [np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)]
    )
    facing = sphere @ normal
    tangent = np.cross(normal, [0.0, 0.0, 1.0] if abs(normal[2]) < 0.9 else [1, 0, 0])
    tangent /= np.linalg.norm(tangent)
    beside = np.cross(normal, tangent)
    ring = [
        spot + 12.0 * normal + 28.0 * (np.cos(a) * tangent + np.sin(a) * beside)
        for a in np.arange(6) * np.pi / 3.0
    ]
    best, highest = normal, -1.0
    for direction in sphere[facing > 0.3]:
        if _meets(mesh, spot + 1.5 * normal, direction):
            continue
        free = sum(not _meets(mesh, start, direction) for start in ring) / len(ring)
        square = 1.0 - abs(float(direction @ normal) - 0.75)
        score = square + 0.8 * free
        if score > highest:
            best, highest = direction, score
    return np.asarray(best)


def _meets(mesh: pyvista.PolyData, start: FloatArray, direction: FloatArray) -> bool:
    points, _ = mesh.ray_trace(start, start + 900.0 * direction, first_point=True)
    return len(points) > 0


def draw_all(job: PictureJob, folder: Path) -> list[Path]:
    """Draw front, back, close-ups and a small picture.

    A side view is added when a place that gets a close-up is hidden in front and back.

    Parameters
    ----------
    job : PictureJob
        What to draw.
    folder : Path
        Where to write; must exist.

    Returns
    -------
    list of Path
    """
    studio = Studio(job)
    written, hidden = [], set(range(min(CLOSE_UPS, len(job.labels))))
    radius = 1.04 * float(np.linalg.norm(job.points, axis=1).max())
    for name, direction in VIEWS.items():
        if name == SIDE and not hidden:
            continue
        shot = studio.shoot(np.zeros(3), np.array(direction), UP, radius)
        marks, spots = visible_images(job, studio.normals, shot)
        hidden -= set(marks.tolist())
        path = folder / f"{name}.jpg"
        compose(shot.image, [job.labels[k] for k in marks], spots, path)
        written.append(path)
        if name == "front":
            written.append(compose_small(shot.image, folder / "small.jpg"))
    studio.rescale()
    written += [
        _close_up(studio, mark, folder / f"close-{mark + 1}.jpg")
        for mark in range(min(CLOSE_UPS, len(job.labels)))
    ]
    return written


def _close_up(studio: Studio, mark: int, path: Path) -> Path:
    """Draw one place from near by, the axle below it where that can be."""
    spot = studio.job.images[np.flatnonzero(studio.job.owner == mark)[0]]
    direction = close_direction(studio.mesh, spot)
    radial = spot * np.array([1.0, 1.0, 0.0]) / np.hypot(spot[0], spot[1])
    upright = abs(float(direction @ radial)) < 0.85
    up = radial if upright else np.array([0.0, 0.0, 1.0])
    shot = studio.shoot(spot, direction, up, CLOSE_RADIUS)
    label, pixel = studio.job.labels[mark], shot.pixels(spot[None])[0]
    millimetre = WINDOW / (2.0 * CLOSE_RADIUS)
    compose_close(shot.image, label, pixel, path, millimetre, studio.top)
    return path


def draw_portrait(job: PictureJob, path: Path) -> Path:
    """Draw the bare wheel as ``PORTRAIT_VIEW`` sees it, in the colour of its metal."""
    plotter: Any = Plotter(
        off_screen=True, window_size=[PORTRAIT, PORTRAIT], lighting="none"
    )
    plotter.background_color = pyvista.Color("white")
    plotter.add_mesh(
        whole_surface(job), color=METAL, ambient=0.12, diffuse=0.8, specular=0.3,
        specular_power=18.0, smooth_shading=True,
    )  # fmt: skip
    for position, intensity in PORTRAIT_LIGHTS:
        plotter.add_light(
            pyvista.Light(
                position=position, light_type="camera light", intensity=intensity
            )
        )
    plotter.enable_anti_aliasing("ssaa")
    direction = np.array(PORTRAIT_VIEW) / np.linalg.norm(PORTRAIT_VIEW)
    radius = 1.02 * float(np.linalg.norm(job.points, axis=1).max())
    camera = plotter.camera
    camera.position, camera.focal_point = tuple(1800.0 * direction), (0.0, 0.0, 0.0)
    camera.up = (0.0, 1.0, 0.0)
    camera.view_angle = 2.0 * np.degrees(np.arctan(radius / 1800.0))
    plotter.reset_camera_clipping_range()
    image = plotter.screenshot(return_img=True)
    Image.fromarray(np.asarray(image)).save(path, quality=84, optimize=True)
    return path


def main(arguments: list[str]) -> None:
    """Draw the job file named first, once it is there, into the folder named second.

    A job without marks and without assessed points gets its portrait only.
    """
    job_file, folder = map(Path, arguments)
    while not job_file.exists():
        sleep(LOOKS)
    job = load_job(job_file)
    if job.labels or job.assessed.any():
        draw_all(job, folder)
    else:
        draw_portrait(job, folder / "front.jpg")


if __name__ == "__main__":
    main(sys.argv[1:])
