"""The commands, each a thin layer over the rooms."""

import json
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from spokecheck.cli.console import (
    NOT_CLEAR,
    code_of,
    out,
    print_error,
    reported,
    shown_progress,
    verdict_code,
)
from spokecheck.cli.new_command import new
from spokecheck.cli.running import (
    check_writable,
    open_store,
    run_designs,
)
from spokecheck.cli.screen_command import screen
from spokecheck.cli.settings import Given, find_designs, settle
from spokecheck.cli.shared_options import (
    DEFAULT_OUT,
    CacheDir,
    Designs,
    FinenessFactor,
    MostMeshes,
    NoCache,
    OutDir,
    PatchAngle,
    ProcedureFile,
    Procedures,
    Tolerance,
    Whole,
    Workers,
)
from spokecheck.errors import SpokecheckError
from spokecheck.screen.request import MOST_MESHES, Request

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.report.sheet.drawn_facts import DrawnFacts

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


app.command()(screen)
app.command()(new)


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
    whole: Whole = False,
    pictures: Annotated[bool, typer.Option(help="Draw pictures.")] = True,
    cache: CacheDir = None,
    no_cache: NoCache = False,
) -> None:
    """Screen designs and print one table, best worst margin first."""
    from spokecheck.report.findings.comparison import compare as rank_designs
    from spokecheck.report.findings.comparison_page import write_comparison
    from spokecheck.report.findings.terminal import render_comparison
    from spokecheck.report.stems import unique_stems
    from spokecheck.run.designs import Batch
    from spokecheck.run.one_drawing import on_one_drawing

    given = Given(procedures=tuple(procedure or ()), procedure_file=procedure_file)
    settings = settle(designs, given)
    request = Request(
        fineness=fineness,
        tolerance=tolerance / 100.0,
        meshes=meshes,
        patch_half_angle=patch_angle,
        procedures=settings.procedures,
        procedure_file=settings.procedure_file,
        required_margin=settings.required_margin,
        whole=whole,
        pictures=pictures,
    )
    paths = settings.selection.designs
    stems = unique_stems(paths)
    batch = Batch(
        paths=paths,
        stems=stems,
        request=request,
        out_dir=out_dir,
        store=open_store(cache, no_cache),
        workers=workers,
        allowed_alloys=settings.allowed_alloys,
    )
    outcomes = on_one_drawing(batch, run_designs)
    failures = {str(o.path): o.error for o in outcomes if o.error is not None}
    good = {stems[o.path]: o.value for o in outcomes if o.value is not None}
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
def draw(
    designs: Designs,
    out_dir: OutDir = DEFAULT_OUT,
    check: Annotated[
        bool, typer.Option("--check", help="Only report faults; write no file.")
    ] = False,
    designs_only: Annotated[
        bool,
        typer.Option(
            "--designs-only",
            help="Skip named files that are no designs or are ignored, too.",
        ),
    ] = False,
) -> None:
    """Draw designs as dimensioned sheets, SVG and PNG, without a mesh.

    Mass, roundings and what is not drawn as asked for are printed.
    """
    from spokecheck.report.sheet.drawn_facts import render_facts
    from spokecheck.report.stems import unique_stems

    if not check:
        check_writable(out_dir)
    _, selection = find_designs(designs, named_too=designs_only)
    stems = unique_stems(selection.designs)
    codes, facts, files = [0], list["DrawnFacts"](), list[Path]()
    for path in selection.designs:
        try:
            found, written = _drawn(path, None if check else out_dir, stems[path])
        except SpokecheckError as error:
            print_error(error)
            codes.append(code_of(error))
            continue
        facts += found
        files += written
    if facts:
        out.print(render_facts(facts), highlight=False)
    for file in files:
        out.print(str(file), highlight=False, soft_wrap=True)
    raise typer.Exit(max(codes))


def _drawn(
    path: Path, out_dir: Path | None, stem: str
) -> tuple[Sequence["DrawnFacts"], Sequence[Path]]:
    """Facts of a design, and the files of its sheet; no sheet without a folder.

    A sidecar is only read.
    """
    from spokecheck.report.sheet.drawn_facts import drawn_facts
    from spokecheck.wheel.reading.read import read_brief, read_design
    from spokecheck.wheel.shape.wheel_shape import draw_wheel
    from spokecheck.wheel.tables.design import Design

    design = read_brief(path) if out_dir is None else read_design(path)
    if not isinstance(design, Design):
        return (), ()
    shape = draw_wheel(design)
    facts = drawn_facts(shape, path.name)
    if out_dir is None:
        return (facts,), ()
    from spokecheck.report.sheet.design_sheet import write_sheet

    files = write_sheet(shape, facts, out_dir, stem)
    return (facts,), (files.svg, files.png)


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

    given = Given(procedures=tuple(procedure or ()), procedure_file=procedure_file)
    settings = settle(designs, given)
    overrides = Request(
        patch_half_angle=patch_angle, procedures=settings.procedures
    ).overrides
    with reported():
        book = read_procedures(settings.procedure_file)
    codes = [0]
    for path in settings.selection.designs:
        try:
            design = read_design(path, overrides)
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
    from spokecheck.run.design_schema import design_schema

    text = json.dumps(design_schema(), indent=2, ensure_ascii=False)
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
