"""Places of a wheel that are numbered in the pictures.

One place often leads several tests; it gets one mark that carries all its ranks.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.screen.findings import HotSpot
from spokecheck.screen.hotspots import MERGE_RADIUS, images_at_spokes
from spokecheck.screen.results import Screening
from spokecheck.units import FloatArray

MOST_RANKS = 3
"""Ranks written on one mark; an ellipsis shows that there are more."""


@dataclass(frozen=True)
class Mark:
    """A place with the ranks of the hot spots there.

    Attributes
    ----------
    spot : HotSpot
        The worst of them.
    ranks : tuple of int
        Ascending, counted from 1.
    images : ndarray (n, 3)
        All symmetric copies of the place [mm]; the spot's own first.
    """

    spot: HotSpot
    ranks: tuple[int, ...]
    images: FloatArray

    @property
    def label(self) -> str:
        """Such as ``2, 7, 8``."""
        shown = ", ".join(str(rank) for rank in self.ranks[:MOST_RANKS])
        return shown + (", ..." if len(self.ranks) > MOST_RANKS else "")


def place_marks(screening: Screening, most: int = 10) -> tuple[Mark, ...]:
    """Marks of the hot spots, worst first.

    Parameters
    ----------
    screening : Screening
        Screening with its hot spots.
    most : int
        How many places at most.

    Returns
    -------
    tuple of Mark
        Spots nearer to a worse one, or to a place like it, than the merge radius
        of the ranking share its mark.
    """
    design = screening.fields.wheel.design
    ranks: list[list[int]] = []
    worst: list[tuple[HotSpot, FloatArray]] = []
    for spot in screening.findings.hot_spots:
        place = np.array(spot.position_mm)
        gaps = [np.linalg.norm(images - place, axis=1).min() for _, images in worst]
        if gaps and min(gaps) < MERGE_RADIUS:
            ranks[int(np.argmin(gaps))].append(spot.rank)
            continue
        worst.append((spot, images_at_spokes(design, place)))
        ranks.append([spot.rank])
    marks = [
        Mark(spot, tuple(own), images)
        for (spot, images), own in zip(worst, ranks, strict=True)
    ]
    return tuple(marks[:most])
