"""From a design to a sound mesh, by fallback geometry where the first drawing fails."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import Cyclic
from spokecheck.fem.joined import Joined
from spokecheck.mesh.quality import MeshQuality, bulk
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.unfold import unfold
from spokecheck.wheel.meshing.dents import least_dented
from spokecheck.wheel.meshing.kernel.task import RawMesh, Refinement
from spokecheck.wheel.meshing.mesh_check import FLAT_CELL, MeshProof, check_mesh
from spokecheck.wheel.meshing.mesh_parts import (
    SoundSector,
    joined_proof,
    joined_quality,
    joined_sectors,
    sound_sector,
)
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness, longest_on_ring
from spokecheck.wheel.meshing.sound_trial import sound_trial
from spokecheck.wheel.shape.drawing import Drawing
from spokecheck.wheel.shape.fallbacks import FAITHFUL, FALLBACKS, Fallback
from spokecheck.wheel.shape.ring import Ring
from spokecheck.wheel.shape.two_parts import part_drawing
from spokecheck.wheel.shape.way import Way, choose_way, without_parts
from spokecheck.wheel.shape.wheel_shape import WheelShape, draw_wheel
from spokecheck.wheel.tables.design import Design

LARGEST_GAP = 2.0e-3
"""Largest difference of mesh and solid in volume: flat facets of coarse cells stand for
curved surfaces; 1e-3 and less on the examples."""

MOST_WHEELS = 4.0
"""No other drawing is begun once the sectors that were drawn in vain make up so many
wheels: of a wheel of five sectors all drawings are tried, of one meshed as a whole, a
minute's work each, four."""


@dataclass(frozen=True)
class Meshed:
    """A drawing, its sound mesh, and how that came about.

    Attributes
    ----------
    shape : WheelShape
    mesh : Mesh
    cyclic : Cyclic
    solid_volume : float
        Volume of the solid [mm^3].
    quality : MeshQuality
    proof : MeshProof
    way : Way
        One sector, two parts joined, or the whole.
    joined : Joined or None
        The two parts, where they were joined.
    """

    shape: WheelShape
    mesh: Mesh
    cyclic: Cyclic
    solid_volume: float
    quality: MeshQuality
    proof: MeshProof
    way: Way
    joined: Joined | None = None


def mesh_soundly(
    design: Design,
    fineness: Fineness,
    fallbacks: Sequence[Fallback] = FALLBACKS,
    whole: bool = False,
) -> Meshed:
    """Mesh the first drawing of a design that has a sound mesh.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    fineness : Fineness
        How fine to mesh.
    fallbacks : sequence of Fallback, optional
        Drawings in the order they are tried.  Two parts are joined only in drawings of
        exactly the design's shape.
    whole : bool, optional
        Mesh the whole wheel, whatever its symmetry.

    Returns
    -------
    Meshed

    Raises
    ------
    MeshError
        If every drawing fails, with the reason of the first.
    TimeLimitError, MemoryLimitError
        If the mesher takes too long over one, or too much memory.
    """
    apart = _joined_soundly(design, fineness, fallbacks, whole)
    if isinstance(apart, Meshed):
        return apart
    wheels, failures = 0.0, list[MeshError]()
    for shape in _drawings(design, fallbacks, whole):
        if wheels > MOST_WHEELS - 1e-9:
            break
        way = choose_way(shape)
        if way.ring is not None:
            way = without_parts(way, shape, apart)
        finer = fineness.finer(shape.fallback.finer)
        try:
            return least_dented(partial(_once, shape, way, finer))
        except MeshError as failure:
            failures.append(failure)
            wheels += 1.0 / shape.count
    if len(failures) == 1:
        raise failures[0]
    raise MeshError(
        f"{failures[0]} (nor did {len(failures) - 1} other drawings of this wheel give "
        "a sound mesh)"
    )


def _joined_soundly(
    design: Design, fineness: Fineness, fallbacks: Sequence[Fallback], whole: bool
) -> Meshed | str:
    """Mesh of two parts of exactly the design's shape; else why there is none."""
    why = "drawings of its very shape were not asked for"
    for fallback in FAITHFUL:
        if fallback not in fallbacks:
            continue
        try:
            shape = draw_wheel(design, fallback, whole)
            way = choose_way(shape)
            if way.ring is None:
                return ""
            finer = fineness.finer(fallback.finer)
            return least_dented(partial(_two_parts, shape, way, way.ring, finer))
        except (MeshError, ValueError) as failure:
            why = why or str(failure)
    return why


def _drawings(
    design: Design, fallbacks: Sequence[Fallback], whole: bool
) -> Iterator[WheelShape]:
    """Drawings of a wheel, none twice; fallbacks without room are left out."""
    tried: list[tuple[Drawing, float]] = []
    for fallback in fallbacks:
        try:
            shape = draw_wheel(design, fallback, whole)
        except ValueError:
            if not tried:
                raise
            continue
        if (shape.drawing, fallback.finer) not in tried:
            tried.append((shape.drawing, fallback.finer))
            yield shape


def _once(
    shape: WheelShape, way: Way, fineness: Fineness, refinements: Sequence[Refinement]
) -> Meshed:
    """Mesh of a drawing, unfolded, that meets the mesh requirements."""

    def sound(raw: RawMesh) -> Meshed:
        unfolded = unfold(raw.mesh, raw.cyclic.pairs, FLAT_CELL)
        mesh, quality = unfolded.mesh, unfolded.quality
        cyclic = replace(raw.cyclic, pairs=unfolded.pairs)
        proof = check_mesh(mesh, cyclic, quality)
        _check_volume(mesh, raw.solid_volume)
        return Meshed(shape, mesh, cyclic, raw.solid_volume, quality, proof, way)

    return sound_trial(
        lambda trial: mesh_shape(shape, fineness, refinements, trial=trial), sound
    )


def _two_parts(
    shape: WheelShape,
    way: Way,
    ring: Ring,
    fineness: Fineness,
    refinements: Sequence[Refinement],
) -> Meshed:
    """Mesh of the copies of one sector of the spokes and one of the hub, joined."""
    design = shape.design
    parts = part_drawing(
        shape.drawing,
        ring,
        design.spokes.repeats,
        design.bolts.count,
        longest_on_ring(shape, ring, fineness),
        shape.fallback.cut,
    )
    outer, inner = (
        _sound_part(shape, drawing, fineness, refinements)
        for drawing in (parts.outer, parts.inner)
    )
    joined = joined_sectors(outer, inner, parts.first)
    copies = [len(part.number) for part in joined.parts]
    return Meshed(
        replace(shape, drawing=replace(shape.drawing, low_angle=parts.outer.low_angle)),
        joined.mesh,
        joined.cyclic,
        copies[0] * outer.volume + copies[1] * inner.volume,
        joined_quality(joined, outer.quality, inner.quality),
        joined_proof(outer.proof, inner.proof),
        way,
        joined,
    )


def _sound_part(
    shape: WheelShape,
    drawing: Drawing,
    fineness: Fineness,
    refinements: Sequence[Refinement],
) -> SoundSector:
    """Mesh of one sector of a part, unfolded, that meets the mesh requirements."""

    def sound(raw: RawMesh) -> SoundSector:
        sector = sound_sector(raw, drawing)
        _check_volume(sector.sector.mesh, raw.solid_volume)
        return sector

    return sound_trial(
        lambda trial: mesh_shape(shape, fineness, refinements, drawing, trial), sound
    )


def _check_volume(mesh: Mesh, solid: float) -> None:
    gap = bulk(mesh, 1.0).volume / solid - 1.0
    if abs(gap) > LARGEST_GAP:
        raise MeshError(
            f"the mesh differs by {100.0 * gap:+.2f} % in volume from the solid (limit "
            f"{100.0 * LARGEST_GAP:g} %): cells reach across curved faces; mesh finer"
        )
