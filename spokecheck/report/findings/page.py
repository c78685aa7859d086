"""One self-contained HTML page: no script, no file beside it, fit to print."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.audit import AuditLine
from spokecheck.report.findings import numbers, sentences
from spokecheck.report.findings.frame import environment, frame, jpeg_uri
from spokecheck.report.findings.ruler import ruler_svg
from spokecheck.report.pictures.marks import Mark, place_marks
from spokecheck.report.pictures.picture_process import CAPTIONS, SIDE, Pictures
from spokecheck.report.pictures.section_drawing import face_svg, section_svg
from spokecheck.report.pictures.silhouette import silhouettes
from spokecheck.screen.findings import Findings, HotSpot
from spokecheck.screen.json_numbers import LIFE_WORDS
from spokecheck.screen.results import Screening
from spokecheck.screen.wheel_findings import ZoneMass
from spokecheck.wheel.build import Wheel
from spokecheck.wheel.tables.design import COMMAND_LINE

AUDITED = 3
"""Hot spots whose calculation is on the page; the JSON has all of them."""

MODEL = (
    "Linear elastic, small strain, one stiffness for the whole wheel. "
    "A turning load is a Fourier series in the turn angle: no time steps.",
    "Cornering: one rim flange clamped; the attachment face moves as one rigid fixture "
    "with the load arm, which is stiffer than any real hub.",
    "Radial: the attachment face is held; a cosine patch of pressure on both bead "
    "seats represents the tyre, and inflation is a steady pressure.",
    "Bolt clamp force and centrifugal load enter as steady loads if the design gives a "
    "torque and a speed. The contact under the pad neither opens nor slides. Residual "
    "stress is not in it.",
    "The stress error is the change of a hot spot by its last refinement, or comes "
    "from the jump between neighbouring cells where nothing was refined; "
    "it does not cover the load model or the alloy data.",
)


@dataclass(frozen=True)
class Picture:
    """An image as data URI, with its caption."""

    uri: str
    caption: str


def screening_page(
    screening: Screening, pictures: Pictures, sheets: tuple[str, str] | None = None
) -> str:
    """HTML of one screening.

    Parameters
    ----------
    screening : Screening
        Its findings, and its wheel for the drawings.
    pictures : Pictures
        What the drawing process made of it, or why it did not.
    sheets : tuple of str, optional
        What ``page_sheets`` returns, if it has been drawn.

    Returns
    -------
    str
    """
    findings, wheel = screening.findings, screening.fields.wheel
    marks = place_marks(screening)
    section, face = sheets or page_sheets(screening)
    margins = [(test.name, test.margin) for test in findings.tests]
    return (
        environment()
        .get_template("screening.html")
        .render(
            **frame(findings.name, findings.verdict.clears_from_margin),
            f=findings,
            quick_look=sentences.quick_look(findings).capitalize(),
            worst_of={t.name: findings.spots_of(t)[0] for t in findings.tests},
            ruler=Markup(ruler_svg(margins, findings.verdict.clears_from_margin)),
            images=_images(pictures, marks),
            picture_note=pictures.note,
            has_limit_line=findings.worst.margin < 1.0,
            section=Markup(section),
            face=Markup(face),
            life_words=LIFE_WORDS,
            audits=[
                (spot, *_audit_parts(spot)) for spot in findings.hot_spots[:AUDITED]
            ],
            sensitivities=sentences.sensitivity_lines(findings),
            supports=sentences.support_lines(findings),
            other_criteria=sentences.other_criteria_lines(findings),
            warnings=sentences.warning_lines(findings),
            unsure=sentences.unsure_lines(findings),
            impact_lines=sentences.impact_lines(findings.impact_indication),
            exclusions=sentences.exclusion_lines(findings),
            origins=sentences.origin_lines(findings),
            model=MODEL,
            wheel_facts=_wheel_facts(findings),
            parameters=_parameters(findings),
            alloys=_alloys(wheel),
        )
    )


def page_sheets(screening: Screening) -> tuple[str, str]:
    """Section and face view as ``svg``: as drawn, or the outlines of a mesh."""
    wheel, marks = screening.fields.wheel, place_marks(screening)
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


def _wheel_facts(findings: Findings) -> list[tuple[str, str]]:
    wheel, mesh = findings.wheel, findings.wheel.mesh
    runout = max(wheel.runout_mm.values())
    meshed = "the whole wheel" if wheel.symmetry_sectors == 1 else "one sector"
    balance = max(test.balance_misfit for test in findings.tests)
    return [
        ("Mass", numbers.mass(wheel.mass_kg)),
        *_zone_masses(wheel.zones),
        ("Inertia about the axle", f"{wheel.polar_inertia_kg_m2:.3f} kg m²"),
        ("Inertia about a diameter", f"{wheel.transverse_inertia_kg_m2:.3f} kg m²"),
        ("Centre of mass", f"{numbers.length(wheel.centre_of_mass_mm)} mm outboard of "
                           "the rim centre plane"),
        ("Origin", wheel.origin.words),
        ("Equal sectors", f"N = {wheel.symmetry_sectors}"),
        ("Meshed and solved", sentences.way_line(findings)),
        ("Mesh", f"{mesh.points} points, {mesh.cells} second-order "
                 f"tetrahedra in {meshed}"),
        ("Refinement", sentences.convergence_line(findings)),
        *_solid_gap(wheel.mesh_volume_gap),
        ("Bead seats off the true circle", f"{_at_most(runout, 1e-4)} mm"),
        ("Smallest Jacobian", f"{mesh.least_jacobian:.2f} of the cell's largest"),
        ("Mesh at the hot spots", _requirements(findings)),
        ("Worst cell shape", f"{mesh.least_shape:.2f} (1 is regular)"),
        ("Straightened cells", str(mesh.straightened_cells)),
        ("Surface moved by", f"{_at_most(mesh.surface_moved_mm, 1e-3)} mm"),
        *_peeled(mesh.surface_cells_taken_off),
        ("Misfit of forces and moments", f"{_at_most(balance, 1e-9)} of the load"),
    ]  # fmt: skip


def _solid_gap(gap: float | None) -> list[tuple[str, str]]:
    """What meshing made of the solid's volume, where there was a solid."""
    if gap is None:
        return []
    return [("Mesh volume less drawn volume", f"{100.0 * gap:.3f} %")]


def _peeled(count: int) -> list[tuple[str, str]]:
    return [("Flat or folded cells taken off the surface", str(count))] if count else []


def _requirements(findings: Findings) -> str:
    """What the mesh has to give at the hot spots, and where it does not."""
    limits, short = findings.mesh_requirements.limits, findings.mesh_requirements.short
    required = (
        f"{limits.edges_per_quarter:g} edges on every quarter arc and {limits.layers} "
        "layers of cells through the wall"
    )
    return (
        f"{required}, but for: {'; '.join(short)}"
        if short
        else (f"{required}, at all of them")
    )


def _zone_masses(zones: Sequence[ZoneMass]) -> list[tuple[str, str]]:
    """Mass and alloy of each zone, where there are several."""
    if len(zones) < 2:
        return []
    return [
        (f"Mass of the {zone.zone}", f"{numbers.mass(zone.mass_kg)}, {zone.alloy}")
        for zone in zones
    ]


def _at_most(value: float, floor: float) -> str:
    """Value, or that it is below what matters."""
    return f"below {floor:g}" if value < floor else f"{value:.2g}"


def _parameters(findings: Findings) -> list[tuple[str, list[tuple[str, str]]]]:
    """Tables of the design file with their keys; the top-level ones first."""
    design, overrides = findings.design, findings.options.overrides
    top = [(key, _text(v)) for key, v in design.items() if not isinstance(v, dict)]
    tables = [
        (
            table,
            [
                (key, _text(value) + _mark(f"{table}.{key}" in overrides))
                for key, value in entries.items()
                if value is not None
            ],
        )
        for table, entries in design.items()
        if isinstance(entries, dict)
    ]
    return [("design", top), *tables]


def _mark(given: bool) -> str:
    return f" ({COMMAND_LINE})" if given else ""


def _text(value: object) -> str:
    return numbers.plain(value) if isinstance(value, int | float) else str(value)


def _alloys(wheel: Wheel) -> list[tuple[str, Alloy]]:
    """Alloys of the wheel with what they serve for, each once."""
    if wheel.alloy.id == wheel.rim_alloy.id:
        return [("whole wheel", wheel.alloy)]
    return [("hub and spokes", wheel.alloy), ("rim", wheel.rim_alloy)]


def _audit_parts(spot: HotSpot) -> tuple[list[AuditLine], list[AuditLine]]:
    """Audit lines of a spot: the stress components given, and the steps after them."""
    given = [line for line in spot.audit if line.what.startswith("stress ")]
    return given, [line for line in spot.audit if line not in given]
