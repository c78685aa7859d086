"""A rendered picture, where points of the wheel lie on it, and which are visible."""

from dataclasses import dataclass

import numpy as np

from spokecheck.report.pictures.picture_job import PictureJob
from spokecheck.units import FloatArray, IntArray

DEPTH_SLACK = 3.0
"""A point further than this [mm] behind what the camera sees is hidden."""

LEAST_FACING = 0.2
"""Points turned further away from the camera than this cosine get no number."""


@dataclass(frozen=True)
class Snapshot:
    """One rendered picture and what is needed to write on it.

    Attributes
    ----------
    image : ndarray (height, width, 3)
        Colours.
    depth : ndarray (height, width)
        Distance from the camera [mm]; NaN where there is nothing.
    to_clip : ndarray (4, 4)
        From the wheel's coordinates to the view volume.
    eye, along : ndarray (3,)
        Camera and the unit direction it looks in.
    """

    image: IntArray
    depth: FloatArray
    to_clip: FloatArray
    eye: FloatArray
    along: FloatArray

    def pixels(self, points: FloatArray) -> FloatArray:
        """Pixels (n, 2), counted from the upper left, of points (n, 3)."""
        clip = np.column_stack([points, np.ones(len(points))]) @ self.to_clip.T
        size = np.array(self.image.shape[1::-1], dtype=float)
        unit = clip[:, :2] / clip[:, 3:] * np.array([0.5, -0.5]) + 0.5
        return np.asarray(unit * size)

    def sees(self, points: FloatArray, normals: FloatArray) -> FloatArray:
        """How squarely each point faces the camera: 0 if hidden or outside."""
        size = np.array(self.image.shape[1::-1])
        column, row = np.rint(self.pixels(points)).astype(int).T
        inside = (column >= 0) & (row >= 0) & (column < size[0]) & (row < size[1])
        column, row = np.clip(column, 0, size[0] - 1), np.clip(row, 0, size[1] - 1)
        gap = (points - self.eye) @ self.along - self.depth[row, column]
        facing = np.maximum(-(normals @ self.along), 0.0)
        return np.asarray(np.where(inside & (np.abs(gap) < DEPTH_SLACK), facing, 0.0))


def visible_images(
    job: PictureJob, normals: FloatArray, shot: Snapshot
) -> tuple[IntArray, FloatArray]:
    """One visible place for each mark that has one, far from those of other marks.

    Returns
    -------
    marks : ndarray (n,)
        Marks that are visible.
    pixels : ndarray (n, 2)
        Where.
    """
    facing = shot.sees(job.images, normals)
    pixels = shot.pixels(job.images)
    marks: list[int] = []
    taken = np.empty((0, 2))
    for mark in range(len(job.labels)):
        own = np.flatnonzero((facing > LEAST_FACING) & (job.owner == mark))
        if not len(own):
            continue
        gaps = np.linalg.norm(pixels[own, None] - taken, axis=2)
        room = gaps.min(axis=1) if len(taken) else facing[own]
        marks.append(mark)
        taken = np.vstack([taken, pixels[own[np.argmax(room)]]])
    return np.array(marks, dtype=int), taken
