"""Input of the drawing process: plain arrays in one npz file."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from spokecheck.report.pictures.marks import Mark
from spokecheck.screen.hotspots import EDGE_RADIUS, near
from spokecheck.screen.results import Fields
from spokecheck.units import BoolArray, FloatArray, IntArray
from spokecheck.wheel.tables.surface_names import ATTACHMENT


@dataclass(frozen=True)
class PictureJob:
    """Surface of one sector, its utilisation, and the places to number.

    Attributes
    ----------
    points : ndarray (n_points, 3)
        Surface points [mm] of one sector.
    faces : ndarray (n_faces, 6)
        TRI6 faces.
    utilisation : ndarray (n_points,)
        Worst over the tests.
    assessed : ndarray (n_points,) of bool
        Points the ranking may list; others are drawn in grey.
    sectors : int
        Times the sector is turned to make the wheel.
    labels : ndarray (n_marks,) of str
        Text of each mark, worst first.
    images : ndarray (n_images, 3)
        Places [mm] of all marks with their symmetric copies; a mark's own comes first.
    owner : ndarray (n_images,)
        Mark that each of these belongs to.
    """

    points: FloatArray
    faces: IntArray
    utilisation: FloatArray
    assessed: BoolArray
    sectors: int
    labels: tuple[str, ...]
    images: FloatArray
    owner: IntArray

    def save(self, path: Path) -> Path:
        """Write the job as an npz file."""
        np.savez(
            path,
            points=self.points,
            faces=self.faces,
            utilisation=self.utilisation,
            assessed=self.assessed,
            sectors=self.sectors,
            labels=np.array(self.labels, dtype=str),
            images=self.images,
            owner=self.owner,
        )
        return path


def load_job(path: Path) -> PictureJob:
    """Read a job; pickled objects in the file are refused."""
    with np.load(path, allow_pickle=False) as arrays:
        return PictureJob(
            arrays["points"],
            arrays["faces"],
            arrays["utilisation"],
            arrays["assessed"],
            int(arrays["sectors"]),
            tuple(str(label) for label in arrays["labels"]),
            arrays["images"],
            arrays["owner"],
        )


def picture_job(fields: Fields, marks: tuple[Mark, ...]) -> PictureJob:
    """Job for the pictures of a screening."""
    surface, mesh = fields.surface, fields.wheel.mesh
    points = mesh.points[surface.nodes]
    # the attachment face is held in every test, hence assessed in none
    held = mesh.points[mesh.nodes(ATTACHMENT)]
    owner = np.repeat(np.arange(len(marks)), [len(mark.images) for mark in marks])
    return PictureJob(
        points=points,
        faces=surface.faces,
        utilisation=np.max(list(fields.utilisation.values()), axis=0),
        assessed=~near(points, held, EDGE_RADIUS),
        sectors=fields.wheel.cyclic.count,
        labels=tuple(mark.label for mark in marks),
        images=np.concatenate([mark.images for mark in marks]),
        owner=owner,
    )
