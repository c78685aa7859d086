"""One self-contained HTML page: no script, no file beside it, fit to print."""

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from spokecheck.fatigue.audit import AuditLine
from spokecheck.report.findings import assumptions, numbers, rows
from spokecheck.report.findings.frame import environment, frame, jpeg_uri
from spokecheck.report.findings.ruler import ruler_svg
from spokecheck.report.pictures.marks import Mark, place_marks
from spokecheck.report.pictures.picture_process import CAPTIONS, SIDE, Pictures
from spokecheck.report.pictures.section_drawing import face_svg, section_svg
from spokecheck.report.pictures.silhouette import silhouettes
from spokecheck.screen.local_mesh import shortfalls
from spokecheck.screen.results import HotSpot, Screening
from spokecheck.units import KG_PER_TONNE, MM_PER_METRE
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.meshing.mesh_check import FILLET_EDGES, WALL_LAYERS

AUDITED = 3
"""Hot spots whose calculation stands on the page; the JSON has all of them."""

MODEL = (
    "Linear elastic, small strain, one stiffness for the whole wheel. "
    "A turning load is a Fourier series in the turn angle: no time steps.",
    "Cornering: one rim flange clamped; the attachment face moves as one rigid fixture "
    "with the load arm, which is stiffer than any real hub.",
    "Radial: the attachment face is held; a cosine patch of pressure on both bead "
    "seats stands for the tyre, and inflation presses steadily.",
    "Bolt clamp force and centrifugal load enter as steady loads if the design gives a "
    "torque and a speed. The contact under the pad neither opens nor slides. Residual "
    "stress is not in it.",
    "The stress error is the move of a hot spot in the last refinement, or comes from "
    "the jump between neighbouring cells where nothing was refined; "
    "it knows nothing of the load model or of the alloy data.",
)


@dataclass(frozen=True)
class Picture:
    """An image as data URI, with its caption."""

    uri: str
    caption: str


def screening_page(screening: Screening, pictures: Pictures) -> str:
    """HTML of one screening.

    Parameters
    ----------
    screening : Screening
        What was found.
    pictures : Pictures
        What the drawing process made of it, or why it did not.

    Returns
    -------
    str
    """
    marks = place_marks(screening)
    section, face = _sheets(screening.wheel, marks)
    return (
        environment()
        .get_template("screening.html")
        .render(
            **frame(screening.name),
            s=screening,
            headline=rows.headline(screening),
            worst=rows.spot_rows(screening)[0],
            mass=numbers.mass(screening.wheel.weight.mass),
            ruler=Markup(
                ruler_svg([(t.requirement.name, t.margin) for t in screening.tests])
            ),
            images=_images(pictures, marks),
            picture_note=pictures.note,
            has_limit_line=screening.worst.margin < 1.0,
            section=Markup(section),
            face=Markup(face),
            life_words=numbers.LIFE_WORDS,
            tests=list(zip(rows.test_rows(screening), screening.tests, strict=True)),
            spots=rows.spot_rows(screening),
            audits=[
                (rank, *_audit_parts(spot), spot.place, spot.requirement)
                for rank, spot in enumerate(screening.spots[:AUDITED], 1)
            ],
            zones=assumptions.zone_rows(screening),
            sensitivities=assumptions.sensitivity_lines(screening),
            supports=assumptions.support_lines(screening),
            besides=assumptions.other_criteria_lines(screening),
            warnings=assumptions.warning_lines(screening),
            drawn=assumptions.drawing_lines(screening),
            doubts=assumptions.doubt_lines(screening),
            impact=screening.impact,
            impact_lines=assumptions.impact_lines(screening.impact),
            impact_rows=assumptions.impact_rows(screening.impact),
            exclusions=rows.exclusion_lines(screening),
            origins=rows.origin_lines(screening),
            reduced_radii=screening.wheel.landmarks.reduced_radii,
            model=MODEL,
            wheel_facts=_wheel_facts(screening),
            parameters=_parameters(screening),
            alloys=_alloys(screening),
        )
    )


def _sheets(wheel: Wheel, marks: tuple[Mark, ...]) -> tuple[str, str]:
    """Section and face view: as drawn, or the outlines of a mesh."""
    if wheel.shape is None:
        return silhouettes(wheel, marks)
    return section_svg(wheel.shape, marks), face_svg(wheel.shape, marks)


def _images(pictures: Pictures, marks: tuple[Mark, ...]) -> dict[str, list[Picture]]:
    """Large and small pictures, in order; a close-up's caption names its place."""
    found: dict[str, list[Picture]] = {"views": [], "closes": []}
    for name, jpeg in pictures.images.items():
        caption, kind = CAPTIONS[name], "views"
        if name.startswith("close-"):
            mark = marks[int(name.removeprefix("close-")) - 1]
            caption, kind = f"Close-up {mark.label}: {mark.spot.place}.", "closes"
        elif name == SIDE:
            kind = "closes"
        found[kind].append(Picture(jpeg_uri(jpeg), caption))
    return found


def _wheel_facts(screening: Screening) -> list[tuple[str, str]]:
    wheel = screening.wheel
    per_metre = KG_PER_TONNE / MM_PER_METRE**2
    weight, quality = wheel.weight, wheel.quality
    runout = max(wheel.runout.values())
    meshed = "the whole wheel" if wheel.cyclic.count == 1 else "one sector"
    balance = max(test.balance for test in screening.tests)
    return [
        ("Mass", numbers.mass(weight.mass)),
        *_zone_masses(wheel),
        ("Inertia about the axle", f"{weight.polar * per_metre:.3f} kg m²"),
        ("Inertia about a diameter", f"{weight.transverse * per_metre:.3f} kg m²"),
        ("Centre of mass", f"{numbers.length(weight.centre)} mm outboard of the "
                           "rim centre plane"),
        ("Origin", wheel.origin.told),
        ("Equal sectors", f"N = {wheel.cyclic.count}"),
        ("Mesh", f"{wheel.mesh.n_points} points, {wheel.mesh.n_cells} second-order "
                 f"tetrahedra in {meshed}"),
        ("Refinement", rows.convergence_line(screening)),
        *_solid_gap(weight.solid_gap),
        ("Bead seats off the true circle", f"{_at_most(runout, 1e-4)} mm"),
        ("Smallest Jacobian", f"{quality.least_jacobian:.2f} of the cell's largest"),
        *_contract_rows(screening),
        ("Worst cell shape", f"{quality.least_shape:.2f} (1 is regular)"),
        ("Straightened cells", str(quality.straightened)),
        ("Surface moved by", f"{_at_most(quality.deviation, 1e-3)} mm"),
        *_peeled(quality.peeled),
        ("Misfit of forces and moments", f"{_at_most(balance, 1e-9)} of the load"),
    ]  # fmt: skip


def _solid_gap(gap: float | None) -> list[tuple[str, str]]:
    """What meshing made of the solid's volume, where there was a solid."""
    if gap is None:
        return []
    return [("Mesh volume less drawn volume", f"{100.0 * gap:.3f} %")]


def _peeled(count: int) -> list[tuple[str, str]]:
    return [("Flat or folded cells taken off the surface", str(count))] if count else []


def _contract_rows(screening: Screening) -> list[tuple[str, str]]:
    """Whether the mesh keeps its contract at the hot spots, or where it does not."""
    if all(spot.local is None for spot in screening.spots):
        return []
    short = shortfalls(screening)
    wanted = (
        f"{FILLET_EDGES:g} edges on every quarter arc and {WALL_LAYERS} layers of "
        "cells through the wall"
    )
    if not short:
        return [("Mesh at the hot spots", f"{wanted}, at all of them")]
    return [("Mesh at the hot spots", f"{wanted}, but for: {'; '.join(short)}")]


def _zone_masses(wheel: Wheel) -> list[tuple[str, str]]:
    """Mass and alloy of each zone, where there are several."""
    masses = wheel.weight.zones
    if len(masses) < 2:
        return []
    return [
        (f"Mass of the {zone}", f"{numbers.mass(mass)}, {wheel.alloy_of(zone).id}")
        for zone, mass in masses.items()
    ]


def _at_most(value: float, floor: float) -> str:
    """Value, or that it is below what matters."""
    return f"below {floor:g}" if value < floor else f"{value:.2g}"


def _parameters(screening: Screening) -> list[tuple[str, list[tuple[str, str]]]]:
    """Tables of the design file with their keys; the top-level ones first."""
    told = screening.wheel.design.model_dump(mode="json", exclude_none=True)
    top = [(k, _text(v)) for k, v in told.items() if not isinstance(v, dict)]
    tables = [
        (table, [(key, _text(value)) for key, value in entries.items()])
        for table, entries in told.items()
        if isinstance(entries, dict)
    ]
    return [("design", top), *tables]


def _text(value: object) -> str:
    return numbers.plain(value) if isinstance(value, int | float) else str(value)


def _alloys(screening: Screening) -> list[tuple[str, Any]]:
    """Alloys of the wheel with what they serve for, each once."""
    wheel = screening.wheel
    if wheel.alloy.id == wheel.rim_alloy.id:
        return [("whole wheel", wheel.alloy)]
    return [("hub and spokes", wheel.alloy), ("rim", wheel.rim_alloy)]


def _audit_parts(spot: HotSpot) -> tuple[list[AuditLine], list[AuditLine]]:
    """Audit lines of a spot: the stress components given, and the steps after them."""
    given = [line for line in spot.audit if line.what.startswith("stress ")]
    return given, [line for line in spot.audit if line not in given]
