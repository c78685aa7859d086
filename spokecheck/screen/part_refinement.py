"""Local refinement of a wheel joined of two parts: of their sectors, then joined again.

All copies of a place become finer together: with places that no symmetry makes equal,
most copies of most places are asked for at first, and the finer mesh is solved as a
whole at the price of two sectors.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from spokecheck.fem.body import Elastic
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.joined import Joined, JoinedPart, RingSector, join
from spokecheck.fem.local_halving import CoarseSpot
from spokecheck.screen.adapt import merged
from spokecheck.screen.local_refinement import refine_locally
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.mesh_check import MeshProof
from spokecheck.wheel.shape.drawing import Drawing
from spokecheck.wheel.shape.true_surface import TrueSurfaces, drawn_true_surfaces


@dataclass(frozen=True)
class RefinedParts:
    """A wheel whose two parts have finer cells.

    Attributes
    ----------
    wheel : Wheel
    given_up : tuple of CoarseSpot
        Refinements about whose centre cells had to stay whole.
    left : int
        Places that were left for a later round, since the ring is in the way.
    """

    wheel: Wheel
    given_up: tuple[CoarseSpot, ...]
    left: int


def refine_parts(
    wheel: Wheel, joined: Joined, elastic: Elastic, spheres: Sequence[Refinement]
) -> RefinedParts | None:
    """Halve cells of both parts about hot spots, the ring left as it is.

    Parameters
    ----------
    wheel : Wheel
        Joined of two parts.
    joined : Joined
        Its parts.
    elastic : Elastic
        Constants of its cells.
    spheres : sequence of Refinement
        Places on any copy.

    Returns
    -------
    RefinedParts or None
        None if the ring is in the way of more than half of the places; a few are left
        to a later round.
    """
    proof = wheel.proof
    assert wheel.shape is not None
    assert proof is not None
    sectors, quality, given_up = list[RingSector](), wheel.quality, list[CoarseSpot]()
    asked = stopped = 0
    for part in joined.parts:
        sector = part.sector
        own = _on_sector(part, spheres)
        if not own:
            sectors.append(sector)
            continue
        refined = refine_locally(
            sector.mesh,
            sector.cyclic,
            elastic.of(np.arange(part.cells.start, part.cells.stop)),
            own,
            _true_surfaces(wheel.shape.drawing, part),
            sector.ring_middles,  # points keep their numbers, so the ring is known
        )
        asked, stopped = asked + len(own), stopped + len(refined.stopped)
        quality, sound = refined.checked(quality)
        proof = _both(proof, sound)
        given_up += [spot for spot in refined.given_up if spot not in refined.stopped]
        sectors.append(replace(sector, mesh=refined.mesh, cyclic=refined.cyclic))
    if 2 * stopped > asked:
        return None
    outer, inner = sectors
    again = join(outer, inner, joined.parts[1].first)
    finer = replace(
        wheel,
        mesh=again.mesh,
        cyclic=again.cyclic,
        joined=again,
        quality=quality,
        proof=proof,
    )
    return RefinedParts(finer, tuple(given_up), stopped)


def _both(before: MeshProof, after: MeshProof) -> MeshProof:
    return MeshProof(
        min(before.least_jacobian, after.least_jacobian),
        min(before.least_shape, after.least_shape),
        max(before.cut_gap, after.cut_gap),
    )


def _on_sector(
    part: JoinedPart, spheres: Sequence[Refinement]
) -> tuple[Refinement, ...]:
    """Spheres that reach a part, turned to where its sector is meshed."""
    mesh, cyclic = part.sector.mesh, part.sector.cyclic
    tree, turned = cKDTree(mesh.points), list[Refinement]()
    for sphere in spheres:
        images = np.stack(
            [
                rotation(-k * cyclic.alpha) @ np.array(sphere.centre)
                for k in range(cyclic.count)
            ]
        )
        gaps, _ = tree.query(images)
        nearest = int(gaps.argmin())
        if gaps[nearest] < sphere.radius:
            x, y, z = images[nearest]
            turned.append(replace(sphere, centre=(float(x), float(y), float(z))))
    return merged(turned)


def _true_surfaces(drawing: Drawing, part: JoinedPart) -> TrueSurfaces:
    """Surfaces that the faces of a part's sector stand for, its own cuts among them."""
    sector = part.sector
    low = drawing.low_angle + part.first * 2.0 * np.pi / sector.strips
    own = replace(drawing, count=sector.cyclic.count, low_angle=low)
    return drawn_true_surfaces(own)
