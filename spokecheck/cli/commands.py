"""The commands, each a thin layer over the rooms."""

import json
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spokecheck.cli.console import (
    NOT_CLEAR,
    code_of,
    err,
    out,
    print_error,
    reported,
    shown_progress,
    verdict_code,
)
from spokecheck.cli.running import (
    check_writable,
    design_files,
    open_store,
    run_designs,
    wheel_files,
)
from spokecheck.cli.shared_options import (
    DEFAULT_OUT,
    CacheDir,
    Designs,
    FinenessFactor,
    FirstPlaces,
    Impact,
    MeshFile,
    MostMeshes,
    NoCache,
    OtherCriteria,
    OutDir,
    PatchAngle,
    ProcedureFile,
    Procedures,
    SidecarFile,
    SomeDesigns,
    Tolerance,
    Workers,
)
from spokecheck.errors import SpokecheckError
from spokecheck.screen.request import FIRST_PLACES, MOST_MESHES, Request

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.run.stored import Screened

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Screen aluminium road-wheel spoke designs for fatigue hot spots. "
    "It does not replace certified testing.",
)


@app.callback(invoke_without_command=True)
def _front(
    show_version: Annotated[
        bool, typer.Option("--version", help="Show the version and end.")
    ] = False,
) -> None:
    if show_version:
        out.print(f"spokecheck {version('spokecheck')}", highlight=False)
        raise typer.Exit


@app.command()
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
    other_criteria: OtherCriteria = False,
    impact: Impact = False,
    pictures: Annotated[bool, typer.Option(help="Draw pictures for the page.")] = True,
    vtu: Annotated[
        bool, typer.Option("--vtu", help="Write mesh and utilisation as VTU.")
    ] = False,
    junit: Annotated[
        Path | None, typer.Option(help="Write a JUnit XML file for CI.")
    ] = None,
    cache: CacheDir = None,
    no_cache: NoCache = False,
) -> None:
    """Screen designs: mesh, load, rank the hot spots, and say whether they clear.

    With --mesh, a wheel meshed or drawn elsewhere.
    """
    from spokecheck.report.findings.junit import write_junit

    request = Request(
        fineness=fineness,
        tolerance=tolerance / 100.0,
        meshes=meshes,
        places=places,
        patch_half_angle=patch_angle,
        procedures=tuple(procedure or ()),
        procedure_file=procedure_file,
        other_criteria=other_criteria,
        impact=impact,
        pictures=pictures,
        vtu=vtu,
        mesh=mesh,
    )
    wheels = wheel_files(designs or [], mesh, sidecar)
    store = open_store(cache, no_cache)
    done = run_designs(wheels, workers, request, out_dir, store)
    codes = [_print_outcome(value) for _, value in done]
    if junit is not None:
        outcomes = {
            str(path): value if isinstance(value, SpokecheckError) else value.findings
            for path, value in done
        }
        with reported("--junit"):
            write_junit(dict(sorted(outcomes.items())), junit)
    raise typer.Exit(max(codes, default=0))


def _print_outcome(value: "Screened | SpokecheckError") -> int:
    """Print what became of one design; its exit code."""
    from spokecheck.report.findings.terminal import render_screening

    if isinstance(value, SpokecheckError):
        print_error(value)
        return code_of(value)
    out.print(render_screening(value.findings))
    for note in value.written.notes:
        err.print(note, style="yellow")
    files = f"{value.written.page}\n{value.written.json}\n"
    out.print(files, highlight=False, soft_wrap=True)
    return verdict_code(value.findings)


@app.command()
def compare(
    designs: Designs,
    out_dir: OutDir = DEFAULT_OUT,
    fineness: FinenessFactor = 1.0,
    tolerance: Tolerance = 5.0,
    meshes: MostMeshes = MOST_MESHES,
    workers: Workers = None,
    patch_angle: PatchAngle = None,
    procedure: Procedures = None,
    procedure_file: ProcedureFile = None,
    pictures: Annotated[bool, typer.Option(help="Draw pictures.")] = True,
    cache: CacheDir = None,
    no_cache: NoCache = False,
) -> None:
    """Screen designs and print one table, best worst margin first."""
    from spokecheck.report.findings.comparison import compare as rank_designs
    from spokecheck.report.findings.comparison_page import write_comparison
    from spokecheck.report.findings.terminal import render_comparison
    from spokecheck.report.stems import unique_stems

    request = Request(
        fineness=fineness,
        tolerance=tolerance / 100.0,
        meshes=meshes,
        patch_half_angle=patch_angle,
        procedures=tuple(procedure or ()),
        procedure_file=procedure_file,
        pictures=pictures,
    )
    found = dict(
        run_designs(designs, workers, request, out_dir, open_store(cache, no_cache))
    )
    stems = unique_stems(list(found))
    failures = {str(p): v for p, v in found.items() if isinstance(v, SpokecheckError)}
    good = {stems[p]: v for p, v in found.items() if not isinstance(v, SpokecheckError)}
    comparison = rank_designs(
        {stem: value.findings for stem, value in good.items()},
        failures,
        {s: v.written.small for s, v in good.items() if v.written.small},
    )
    out.print(render_comparison(comparison))
    with reported():
        pages = {stem: value.written.page.name for stem, value in good.items()}
        written = write_comparison(comparison, out_dir, pages)
        out.print(f"{written.page}\n{written.json}", highlight=False, soft_wrap=True)
    codes = [code_of(error) for error in failures.values()]
    codes += [verdict_code(value.findings) for value in good.values()]
    raise typer.Exit(max(codes))


@app.command()
def export(
    design: Annotated[Path, typer.Argument(help="Design file.")],
    files: Annotated[
        list[Path],
        typer.Argument(help="Files to write, each in the format of its suffix."),
    ],
    fineness: FinenessFactor = 1.0,
) -> None:
    """Write the whole wheel of a design: the solid as STEP, the mesh as MSH, VTU, VTK.

    The suffix of each file says which: .step, .msh, .vtu, .vtk.
    """
    from spokecheck.run.export import check_suffixes, export_design
    from spokecheck.wheel.meshing.sizing import Fineness
    from spokecheck.wheel.reading.read import read_design

    with reported():
        check_suffixes(files)
        for path in export_design(read_design(design), files, Fineness(fineness)):
            out.print(str(path), highlight=False, soft_wrap=True)


@app.command()
def draw(designs: Designs, out_dir: OutDir = DEFAULT_OUT) -> None:
    """Draw designs as dimensioned sheets, SVG and PNG, without a mesh."""
    from spokecheck.report.sheet.design_sheet import draw_file
    from spokecheck.report.stems import unique_stems

    check_writable(out_dir)
    paths = design_files(designs)
    stems = unique_stems(paths)
    codes = [0]
    for path in paths:
        try:
            files = draw_file(path, out_dir, stems[path])
        except SpokecheckError as error:
            print_error(error)
            codes.append(code_of(error))
            continue
        out.print(f"{files.svg}\n{files.png}", highlight=False, soft_wrap=True)
    raise typer.Exit(max(codes))


@app.command()
def loads(
    designs: Designs,
    patch_angle: PatchAngle = None,
    procedure: Procedures = None,
    procedure_file: ProcedureFile = None,
) -> None:
    """Print how the test loads of designs are derived, number by number."""
    from spokecheck.cases.impact import drops
    from spokecheck.cases.library import read_procedures
    from spokecheck.cases.procedure import requirements
    from spokecheck.report.findings.load_tables import render_requirements
    from spokecheck.wheel.reading.read import read_design

    given = Request(
        patch_half_angle=patch_angle, procedures=tuple(procedure or ())
    ).overrides
    with reported():
        book = read_procedures(procedure_file)
    codes = [0]
    for path in design_files(designs):
        try:
            design = read_design(path, given)
            found = requirements(design, book=book)
            falls = drops(design, (), book)
        except SpokecheckError as error:
            print_error(error)
            codes.append(code_of(error))
            continue
        out.print(render_requirements(design, found, falls))
    raise typer.Exit(max(codes))


@app.command()
def procedures(
    name: Annotated[str | None, typer.Argument(help="One procedure in full.")] = None,
    procedure_file: ProcedureFile = None,
) -> None:
    """List the test procedures, or one with clause and basis of every number."""
    from spokecheck.cases.library import chosen, read_procedures
    from spokecheck.report.findings.load_tables import (
        render_procedure,
        render_procedures,
    )

    with reported():
        book = read_procedures(procedure_file)
        if name is None:
            out.print(render_procedures(book))
        else:
            out.print(render_procedure(name, chosen((name,), book)[name]))


@app.command()
def alloys(
    name: Annotated[str | None, typer.Argument(help="One alloy in detail.")] = None,
) -> None:
    """List the alloys, or one with the basis and source of every number."""
    from spokecheck.fatigue.alloys import alloy, read_alloys
    from spokecheck.report.findings.alloy_tables import render_alloy, render_alloys

    with reported():
        if name is None:
            out.print(render_alloys(read_alloys().values()))
        else:
            out.print(render_alloy(alloy(name)))


@app.command()
def schema() -> None:
    """Print the JSON Schema of a design file."""
    from spokecheck.wheel.tables.design import Design

    text = json.dumps(Design.model_json_schema(), indent=2, ensure_ascii=False)
    out.print(text, highlight=False, soft_wrap=True)


@app.command()
def handbook(
    case: Annotated[
        str | None, typer.Argument(help="Case to run; all are listed without one.")
    ] = None,
    fineness: Annotated[
        int | None, typer.Option(help="Cells go with this number: 1, 2, 3 ...")
    ] = None,
    changes: Annotated[
        list[str] | None, typer.Option("--set", help="Parameter, as name=value.")
    ] = None,
    convergence: Annotated[
        bool, typer.Option("--convergence", help="Refine, fit the rate, draw both.")
    ] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="Run all cases and end with one table.")
    ] = False,
    workers: Annotated[int, typer.Option(min=1, help="Processes for --all.")] = 2,
    out_dir: OutDir = DEFAULT_OUT,
) -> None:
    """List handbook cases, or run one beside its closed form."""
    from spokecheck.run.handbook_job import HandbookRequest, answer, answer_all

    request = HandbookRequest(case, changes or (), fineness, convergence, out_dir)
    with reported(), shown_progress() as progress:
        if everything:
            task = progress.add_task("handbook", total=None)
            found = answer_all(request, workers, lambda _: progress.advance(task))
        else:
            found = answer(request)
    out.print(found.text)
    for path in found.files:
        out.print(str(path), highlight=False, soft_wrap=True)
    raise typer.Exit(0 if found.passed else NOT_CLEAR)
