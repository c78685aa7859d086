"""Portrait of a meshed wheel: the bare part, as a picture for a page."""

import numpy as np

from spokecheck.report.pictures.picture_job import PictureJob
from spokecheck.report.pictures.picture_process import Pictures, draw_pictures
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.shape.surfaces import CUT_HIGH, CUT_LOW


def draw_portrait(wheel: Wheel) -> Pictures:
    """Have a wheel drawn by the picture child, without any result on it.

    Parameters
    ----------
    wheel : Wheel
        Meshed wheel.

    Returns
    -------
    Pictures
        One image, ``front``; or a note why there is none.
    """
    return draw_pictures(portrait_job(wheel))


def portrait_job(wheel: Wheel) -> PictureJob:
    """Job for a portrait: the outer surface, no marks."""
    mesh = wheel.mesh
    faces = np.concatenate(
        [f for name, f in mesh.surfaces.items() if name not in (CUT_LOW, CUT_HIGH)]
    )
    nodes, numbered = np.unique(faces, return_inverse=True)
    return PictureJob(
        points=mesh.points[nodes],
        faces=numbered.reshape(faces.shape).astype(np.int64),
        utilisation=np.zeros(len(nodes)),
        assessed=np.zeros(len(nodes), dtype=bool),
        sectors=wheel.cyclic.count,
        labels=(),
        images=np.empty((0, 3)),
        owner=np.empty(0, dtype=np.int64),
    )
