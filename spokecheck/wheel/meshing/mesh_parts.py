"""Mesh both parts of a wheel and join copies of them on their ring."""

from dataclasses import dataclass, replace

import numpy as np

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import rotation
from spokecheck.fem.joined import RING, Joined, RingSector, join
from spokecheck.mesh.quality import MeshQuality
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.unfold import unfold
from spokecheck.units import FloatArray, IntArray
from spokecheck.wheel.meshing.kernel.task import RawMesh
from spokecheck.wheel.meshing.mesh_check import FLAT_CELL, MeshProof, check_mesh
from spokecheck.wheel.shape.drawing import DISC, WHOLE, Drawing

SNAP = 1.0e-6
"""Points of two strips of the ring nearer than this [mm] are meant to be one."""


@dataclass(frozen=True)
class SoundSector:
    """One sector of a part, unfolded and checked.

    Attributes
    ----------
    sector : RingSector
    quality : MeshQuality
    proof : MeshProof
    volume : float
        Of its solid [mm^3].
    """

    sector: RingSector
    quality: MeshQuality
    proof: MeshProof
    volume: float


def sound_sector(raw: RawMesh, drawing: Drawing) -> SoundSector:
    """Open the folded cells of a sector, its ring left as it is, and check it.

    Raises
    ------
    MeshError
        If the ring had to be touched, or a requirement is missed.
    """
    ring = raw.mesh.nodes(RING)
    before = raw.mesh.points[ring]
    # points paired with themselves stay where they are, as those of cuts do
    own = np.column_stack([ring, ring])
    unfolded = unfold(raw.mesh, np.vstack([raw.cyclic.pairs, own]), FLAT_CELL)
    pairs = unfolded.pairs[: len(raw.cyclic.pairs)]
    ring = unfolded.pairs[len(pairs) :, 0]
    mesh = unfolded.mesh
    kept = len(mesh.surfaces[RING]) == len(raw.mesh.surfaces[RING])
    if not kept or not np.array_equal(mesh.points[ring], before):
        raise MeshError("folded cells at the ring could not be opened beside it")
    cyclic = replace(raw.cyclic, pairs=pairs)
    strips = _by_strip(mesh, ring, drawing)
    proof = check_mesh(mesh, cyclic, unfolded.quality)
    sector = RingSector(mesh, cyclic, strips)
    return SoundSector(sector, unfolded.quality, proof, raw.solid_volume)


def _by_strip(mesh: Mesh, ring: IntArray, drawing: Drawing) -> IntArray:
    """Points of the ring (n_strips, n_each), alike in all strips.

    Raises
    ------
    MeshError
        If the strips differ.
    """
    assert drawing.ring is not None
    strips, pitch = drawing.ring.strips, drawing.span / drawing.ring.strips
    x, y, z = mesh.points[ring].T
    turn = (np.arctan2(y, x) - drawing.low_angle + 0.01 * pitch) % (2.0 * np.pi)
    strip = np.floor(turn / pitch).astype(int)
    share = turn / pitch - strip
    inside = strip < strips
    order = np.lexsort((z.round(4), share.round(4), strip))
    order = order[inside[order]]
    counts = np.bincount(strip[inside], minlength=strips)
    if (counts != counts[0]).any():
        raise MeshError("the strips of the ring are meshed differently")
    return np.asarray(ring[order].reshape(strips, -1))


def joined_sectors(outer: SoundSector, inner: SoundSector, first: int) -> Joined:
    """Join the sectors of both parts, the ring of each put onto one strip's points.

    Raises
    ------
    MeshError
        If the two do not conform.
    """
    sectors = outer.sector, inner.sector
    if outer.sector.ring.shape[1] != inner.sector.ring.shape[1]:
        raise MeshError("the two parts mesh their ring differently")
    pitch = 2.0 * np.pi / outer.sector.strips
    strip = outer.sector.mesh.points[outer.sector.ring[0]]
    snapped = [
        _snapped(sector, strip, start, pitch)
        for sector, start in zip(sectors, (0, first), strict=True)
    ]
    if DISC in outer.sector.mesh.zones:
        snapped[1] = _in_disc(snapped[1])
    return join(snapped[0], snapped[1], first)


def _snapped(
    sector: RingSector, strip: FloatArray, first: int, pitch: float
) -> RingSector:
    """A sector whose strips all have the points of one, turned."""
    points = sector.mesh.points.copy()
    for k, ring in enumerate(sector.ring):
        points[ring] = strip @ rotation((first + k) * pitch).T
    low, high = sector.cyclic.pairs.T
    border = np.isin(low, sector.ring)
    points[high[border]] = points[low[border]] @ rotation(sector.cyclic.alpha).T
    moved = float(np.abs(points - sector.mesh.points).max())
    if moved > SNAP:
        raise MeshError(
            f"the ring's strips differ by {moved:.2g} mm (limit {SNAP:g} mm)"
        )
    return replace(sector, mesh=replace(sector.mesh, points=points))


def _in_disc(sector: RingSector) -> RingSector:
    """The hub's sector as part of the disc of a wheel with two zones."""
    zones = {DISC: sector.mesh.zones[WHOLE]}
    return replace(sector, mesh=replace(sector.mesh, zones=zones))


def joined_quality(
    joined: Joined, outer: MeshQuality, inner: MeshQuality
) -> MeshQuality:
    """Quality of all copies together, each dent at its copies."""
    qualities = [outer, inner]
    copies = [len(part.number) for part in joined.parts]
    dents = []
    for part, quality in zip(joined.parts, qualities, strict=True):
        alpha = part.sector.cyclic.alpha
        for j in range(len(part.number)):
            for dent in quality.dents:
                x, y, z = rotation(j * alpha) @ np.array(dent.place)
                dents.append(replace(dent, place=(float(x), float(y), float(z))))
    counts = list(zip(copies, qualities, strict=True))
    return MeshQuality(
        min(quality.least_jacobian for quality in qualities),
        min(quality.least_shape for quality in qualities),
        sum(n * quality.straightened for n, quality in counts),
        max(quality.deviation for quality in qualities),
        sum(n * quality.peeled for n, quality in counts),
        tuple(dents),
    )


def joined_proof(outer: MeshProof, inner: MeshProof) -> MeshProof:
    """Proof for all copies: each is a sector, turned."""
    proofs = [outer, inner]
    return MeshProof(
        min(proof.least_jacobian for proof in proofs),
        min(proof.least_shape for proof in proofs),
        max(proof.cut_gap for proof in proofs),
    )
