"""From a design to a sound mesh, by fallback geometry where the first drawing fails."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from spokecheck.errors import MeshError
from spokecheck.fem.cyclic import Cyclic
from spokecheck.mesh.quality import MeshQuality, bulk
from spokecheck.mesh.record import Mesh
from spokecheck.mesh.unfold import unfold
from spokecheck.wheel.meshing.dents import least_dented
from spokecheck.wheel.meshing.kernel.task import Refinement
from spokecheck.wheel.meshing.mesh_check import FLAT_CELL, MeshProof, check_mesh
from spokecheck.wheel.meshing.mesher import mesh_shape
from spokecheck.wheel.meshing.sizing import Fineness
from spokecheck.wheel.shape.drawing import Drawing
from spokecheck.wheel.shape.fallbacks import FALLBACKS, Fallback
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
    """A drawing, its sound mesh, and the volume [mm^3] of its solid."""

    shape: WheelShape
    mesh: Mesh
    cyclic: Cyclic
    solid_volume: float
    quality: MeshQuality
    proof: MeshProof


def mesh_soundly(
    design: Design,
    fineness: Fineness,
    fallbacks: Sequence[Fallback] = FALLBACKS,
) -> Meshed:
    """Mesh the first drawing of a design that has a sound mesh.

    Parameters
    ----------
    design : Design
        Must have passed ``limits``.
    fineness : Fineness
        How fine to mesh.
    fallbacks : sequence of Fallback, optional
        Drawings in the order they are tried.

    Returns
    -------
    Meshed

    Raises
    ------
    MeshError
        If every drawing fails, with the reason of the first.
    TimeLimitError
        If the mesher takes too long over one.
    """
    wheels, failures = 0.0, list[MeshError]()
    for shape in _drawings(design, fallbacks):
        if wheels > MOST_WHEELS - 1e-9:
            break
        try:
            return _sound_mesh(shape, fineness.finer(shape.fallback.finer))
        except MeshError as failure:
            failures.append(failure)
            wheels += 1.0 / shape.count
    if len(failures) == 1:
        raise failures[0]
    raise MeshError(
        f"{failures[0]} (nor did {len(failures) - 1} other drawings of this wheel give "
        "a sound mesh)"
    )


def _drawings(design: Design, fallbacks: Sequence[Fallback]) -> Iterator[WheelShape]:
    """Drawings of a wheel, none twice; fallbacks without room are left out."""
    tried: list[tuple[Drawing, float]] = []
    for fallback in fallbacks:
        try:
            shape = draw_wheel(design, fallback)
        except ValueError:
            if not tried:
                raise
            continue
        if (shape.drawing, fallback.finer) not in tried:
            tried.append((shape.drawing, fallback.finer))
            yield shape


def _sound_mesh(shape: WheelShape, fineness: Fineness) -> Meshed:
    """Mesh of a drawing, unfolded, that meets the mesh requirements."""
    return least_dented(partial(_once, shape, fineness))


def _once(
    shape: WheelShape, fineness: Fineness, refinements: Sequence[Refinement]
) -> Meshed:
    raw = mesh_shape(shape, fineness, refinements)
    unfolded = unfold(raw.mesh, raw.cyclic.pairs, FLAT_CELL)
    mesh, quality = unfolded.mesh, unfolded.quality
    cyclic = replace(raw.cyclic, pairs=unfolded.pairs)
    proof = check_mesh(mesh, cyclic, quality)
    _check_volume(mesh, raw.solid_volume)
    return Meshed(shape, mesh, cyclic, raw.solid_volume, quality, proof)


def _check_volume(mesh: Mesh, solid: float) -> None:
    gap = bulk(mesh, 1.0).volume / solid - 1.0
    if abs(gap) > LARGEST_GAP:
        raise MeshError(
            f"the mesh differs by {100.0 * gap:+.2f} % in volume from the solid (limit "
            f"{100.0 * LARGEST_GAP:g} %): cells reach across curved faces; mesh finer"
        )
