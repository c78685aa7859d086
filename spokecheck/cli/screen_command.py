"""The command that screens, at the desk and in CI."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spokecheck.cli.console import err, reported
from spokecheck.cli.running import (
    check_report_places,
    open_store,
    run_designs,
    wheel_files,
)
from spokecheck.cli.settings import Given, RunSettings, settle
from spokecheck.cli.shared_options import (
    DEFAULT_OUT,
    Against,
    AllowedAlloys,
    AllowFall,
    Annotate,
    CacheDir,
    ChangedSince,
    FinenessFactor,
    FirstPlaces,
    Impact,
    JunitFile,
    LinkBase,
    MarkdownFile,
    MeshFile,
    MostMeshes,
    NoCache,
    OtherCriteria,
    OutDir,
    PatchAngle,
    ProcedureFile,
    Procedures,
    RequiredMargin,
    SidecarFile,
    SomeDesigns,
    Tolerance,
    Whole,
    Workers,
)
from spokecheck.screen.request import FIRST_PLACES, MOST_MESHES, Request

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.report.findings.job_summary import Summary


def screen(
    designs: SomeDesigns = None,
    mesh: MeshFile = None,
    sidecar: SidecarFile = None,
    out_dir: OutDir = DEFAULT_OUT,
    fineness: FinenessFactor = 1.0,
    tolerance: Tolerance = 5.0,
    meshes: MostMeshes = MOST_MESHES,
    places: FirstPlaces = FIRST_PLACES,
    workers: Workers = None,
    patch_angle: PatchAngle = None,
    procedure: Procedures = None,
    procedure_file: ProcedureFile = None,
    required_margin: RequiredMargin = None,
    allowed_alloy: AllowedAlloys = None,
    other_criteria: OtherCriteria = False,
    impact: Impact = False,
    whole: Whole = False,
    pictures: Annotated[bool, typer.Option(help="Draw pictures for the page.")] = True,
    vtu: Annotated[
        bool, typer.Option("--vtu", help="Write mesh and utilisation as VTU.")
    ] = False,
    changed_since: ChangedSince = None,
    against: Against = None,
    allow_fall: AllowFall = None,
    junit: JunitFile = None,
    markdown: MarkdownFile = None,
    link_base: LinkBase = "",
    annotate: Annotate = None,
    cache: CacheDir = None,
    no_cache: NoCache = False,
) -> None:
    """Screen designs: mesh, load, rank the hot spots, and say whether they clear.

    With --mesh, a wheel meshed or drawn elsewhere.
    Without designs, those of spokecheck.toml.
    """
    from spokecheck.cli.job_report import JobReport
    from spokecheck.report.findings.annotations import Form
    from spokecheck.report.stems import unique_stems
    from spokecheck.run.designs import Batch

    check_report_places({"--junit": junit, "--markdown": markdown}, (mesh, against))
    form = None if annotate is None else Form(annotate)
    settings = settle(
        wheel_files(designs or [], mesh, sidecar),
        Given(
            required_margin=required_margin,
            procedures=tuple(procedure or ()),
            procedure_file=procedure_file,
            allowed_alloys=tuple(allowed_alloy or ()),
            against=against,
            allow_fall=allow_fall,
        ),
        form,
    )
    request = Request(
        fineness=fineness,
        tolerance=tolerance / 100.0,
        meshes=meshes,
        places=places,
        patch_half_angle=patch_angle,
        procedures=settings.procedures,
        procedure_file=settings.procedure_file,
        required_margin=settings.required_margin,
        other_criteria=other_criteria,
        impact=impact,
        whole=whole,
        pictures=pictures,
        vtu=vtu,
        mesh=mesh,
    )
    all_paths = settings.selection.designs
    paths = _changed(settings, changed_since)
    batch = Batch(
        paths=paths,
        stems=unique_stems(all_paths),  # the same whatever changed
        request=request,
        out_dir=out_dir,
        store=open_store(cache, no_cache),
        workers=workers,
        allowed_alloys=settings.allowed_alloys,
    )
    report = JobReport(
        batch=batch,
        baseline=settings.baseline,
        junit=junit,
        summary=_summary(markdown, link_base, settings, len(paths), changed_since),
        annotate=form,
    )
    report.start()
    run_designs(batch, report.finished, report.work_begins)
    raise typer.Exit(report.close())


def _changed(settings: RunSettings, revision: str | None) -> Sequence[Path]:
    """Designs to screen: all, or those that changed."""
    designs = settings.selection.designs
    if revision is None:
        return designs
    from spokecheck.run.changes import changed_designs

    with reported():
        paths = changed_designs(designs, revision, settings.common_files)
    text = _since(len(paths), len(designs), revision)
    err.print(text, highlight=False, markup=False, soft_wrap=True)
    return paths


def _since(count: int, total: int, revision: str) -> str:
    return f"{count} of {total} designs changed since {revision}"


def _summary(
    markdown: Path | None,
    link_base: str,
    settings: RunSettings,
    count: int,
    revision: str | None,
) -> "Summary | None":
    """What the summary says of the run."""
    if markdown is None:
        return None
    from spokecheck.report.findings.job_summary import Summary

    notes = [f"Clears from margin {settings.required_margin:.2f}, less its error bar."]
    if revision is not None:
        total = len(settings.selection.designs)
        notes.append(_since(count, total, revision) + "; only these were screened.")
    if settings.baseline is not None:
        place, allowed = settings.baseline.place, settings.baseline.allowed_fall
        notes.append(
            f"Margins are compared with {place}; a fall of more than "
            f"{100.0 * allowed:g} % fails."
        )
    if settings.project is not None:
        notes.append(f"{settings.project.words}.")
    compared = settings.baseline is not None
    return Summary(markdown, link_base, tuple(notes), compared)
