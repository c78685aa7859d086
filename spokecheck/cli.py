"""The command line: the only place that prints and exits.

Exit codes: 0 all designs clear; 1 some design does not clear (a borderline one counts
as not clear); 2 bad input; 3 a computation failed.
Of several designs the highest code counts.
"""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeAlias

import typer
from rich.console import Console
from rich.progress import (
    Progress,
    SpinnerColumn,
    TaskID,
    TextColumn,
    TimeElapsedColumn,
)

from spokecheck.errors import DesignError, InputError, SpokecheckError
from spokecheck.fem.threads import keep_to_one_thread

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.report.stored import Screened
    from spokecheck.report.summary import Summary
    from spokecheck.screen.cache import Store

from spokecheck.screen.request import Request

NOT_CLEAR, BAD_INPUT, FAILED = 1, 2, 3
DEFAULT_OUT = Path("spokecheck-out")

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Screen aluminium road-wheel spoke designs for fatigue hot spots. "
    "It does not replace certified testing.",
)
out, err = Console(), Console(stderr=True)

Designs: TypeAlias = Annotated[
    list[Path], typer.Argument(help="Design files, or folders of them.")
]
OutDir: TypeAlias = Annotated[
    Path, typer.Option("--out", help="Folder for the results; made if need be.")
]
FinenessFactor: TypeAlias = Annotated[
    float, typer.Option("--fineness", min=0.3, max=4.0, help="2 halves every edge.")
]
Workers: TypeAlias = Annotated[
    int | None,
    typer.Option("--workers", min=1, help="Designs at a time; default: all cores."),
]
PatchAngle: TypeAlias = Annotated[
    float | None,
    typer.Option(
        "--patch-angle",
        min=10,
        max=90,
        help="Half-angle of the tyre's patch [deg]; default: the design's.",
    ),
]
Procedures: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--procedure", help="Test procedure, may be repeated; default: the design's."
    ),
]
ProcedureFile: TypeAlias = Annotated[
    Path | None,
    typer.Option("--procedure-file", help="TOML file of your own procedures."),
]
Tolerance: TypeAlias = Annotated[
    float,
    typer.Option(
        min=0.5, max=50, help="Refine until the hot spots move less than this [%]."
    ),
]
Passes: TypeAlias = Annotated[
    int, typer.Option(min=1, max=8, help="Most meshes tried; 1 refines nothing.")
]
Besides: TypeAlias = Annotated[
    bool, typer.Option("--beside", help="Tell other criteria at the hot spots.")
]
Impact: TypeAlias = Annotated[
    bool,
    typer.Option("--impact", help="Add the 13-degree impact, an indication only."),
]
CacheDir: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--cache",
        envvar="SPOKECHECK_CACHE",
        help="Folder of stored results; default: the user's cache folder.",
    ),
]
NoCache: TypeAlias = Annotated[
    bool, typer.Option("--no-cache", help="Neither show stored results nor store any.")
]


SomeDesigns: TypeAlias = Annotated[
    list[Path] | None,
    typer.Argument(help="Design or sidecar files, or folders of them."),
]
MeshFile: TypeAlias = Annotated[
    Path | None,
    typer.Option("--mesh", help="A mesh or STEP file in place of a design."),
]
SidecarFile: TypeAlias = Annotated[
    Path | None,
    typer.Option("--sidecar", help="What the mesh does not tell; default: MESH.toml."),
]


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
    passes: Passes = 3,
    workers: Workers = None,
    patch_angle: PatchAngle = None,
    procedure: Procedures = None,
    procedure_file: ProcedureFile = None,
    beside: Besides = False,
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
    from spokecheck.report.junit import write_junit
    from spokecheck.report.terminal import render_screening

    request = Request(
        fineness,
        tolerance / 100.0,
        passes,
        patch_angle,
        tuple(procedure or ()),
        procedure_file,
        beside,
        impact,
        pictures,
        vtu,
        mesh,
    )
    codes = [0]
    told: dict[str, Summary | SpokecheckError] = {}
    wheels, store = _wheels(designs or [], mesh, sidecar), _store(cache, no_cache)
    for path, value in _run(wheels, workers, request, out_dir, store):
        if isinstance(value, SpokecheckError):
            _tell(value)
            codes.append(_code(value))
            told[str(path)] = value
            continue
        summary, written = value.summary, value.written
        told[str(path)] = summary
        out.print(render_screening(summary))
        for note in written.notes:
            err.print(note, style="yellow")
        out.print(f"{written.page}\n{written.json}\n", highlight=False, soft_wrap=True)
        codes.append(0 if summary.verdict == "clears" else NOT_CLEAR)
    if junit is not None:
        with _reported():
            write_junit(dict(sorted(told.items())), junit)
    raise typer.Exit(max(codes))


@app.command()
def compare(
    designs: Designs,
    out_dir: OutDir = DEFAULT_OUT,
    fineness: FinenessFactor = 1.0,
    tolerance: Tolerance = 5.0,
    passes: Passes = 3,
    workers: Workers = None,
    patch_angle: PatchAngle = None,
    procedure: Procedures = None,
    procedure_file: ProcedureFile = None,
    pictures: Annotated[bool, typer.Option(help="Draw pictures.")] = True,
    cache: CacheDir = None,
    no_cache: NoCache = False,
) -> None:
    """Screen designs and print one table, best worst margin first."""
    from spokecheck.report.compare import compare as rank_designs
    from spokecheck.report.compare_page import write_comparison
    from spokecheck.report.stems import unique_stems
    from spokecheck.report.terminal import render_comparison

    request = Request(
        fineness,
        tolerance / 100.0,
        passes,
        patch_angle,
        tuple(procedure or ()),
        procedure_file,
        pictures=pictures,
    )
    found = dict(_run(designs, workers, request, out_dir, _store(cache, no_cache)))
    stems = unique_stems(list(found))
    failures = {str(p): v for p, v in found.items() if isinstance(v, SpokecheckError)}
    good = {stems[p]: v for p, v in found.items() if not isinstance(v, SpokecheckError)}
    comparison = rank_designs(
        {stem: value.summary for stem, value in good.items()},
        failures,
        {s: v.written.small for s, v in good.items() if v.written.small},
    )
    out.print(render_comparison(comparison))
    with _reported():
        pages = {stem: value.written.page.name for stem, value in good.items()}
        written = write_comparison(comparison, out_dir, pages)
        out.print(f"{written.page}\n{written.json}", highlight=False, soft_wrap=True)
    codes = [_code(error) for error in failures.values()]
    codes += [0 if v.summary.verdict == "clears" else NOT_CLEAR for v in good.values()]
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
    """Write the whole wheel of a design: .step for the solid, .msh, .vtu ... meshes."""
    from spokecheck.report.export import check_suffixes, export_design
    from spokecheck.wheel.read import read_design
    from spokecheck.wheel.sizing import Fineness

    with _reported():
        check_suffixes(files)
        for path in export_design(read_design(design), files, Fineness(fineness)):
            out.print(str(path), highlight=False, soft_wrap=True)


@app.command()
def draw(designs: Designs, out_dir: OutDir = DEFAULT_OUT) -> None:
    """Draw designs as dimensioned sheets, SVG and PNG, without a mesh."""
    from spokecheck.report.design_sheet import draw_file
    from spokecheck.report.stems import unique_stems

    _check_writable(out_dir)
    paths = _found(designs)
    stems = unique_stems(paths)
    codes = [0]
    for path in paths:
        try:
            files = draw_file(path, out_dir, stems[path])
        except SpokecheckError as error:
            _tell(error)
            codes.append(_code(error))
            continue
        out.print(f"{files.svg}\n{files.png}", highlight=False, soft_wrap=True)
    raise typer.Exit(max(codes))


@app.command()
def loads(
    designs: Designs,
    procedure: Procedures = None,
    procedure_file: ProcedureFile = None,
) -> None:
    """Print how the test loads of designs are derived, number by number."""
    from spokecheck.cases.impact import drops
    from spokecheck.cases.library import read_procedures
    from spokecheck.cases.procedure import requirements
    from spokecheck.report.loads import render_requirements
    from spokecheck.wheel.read import read_design

    with _reported():
        book = read_procedures(procedure_file)
    codes = [0]
    for path in _found(designs):
        try:
            design = read_design(path)
            found = requirements(design, procedure or (), book)
            falls = drops(design, procedure or (), book)
        except SpokecheckError as error:
            _tell(error)
            codes.append(_code(error))
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
    from spokecheck.report.loads import render_procedure, render_procedures

    with _reported():
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
    from spokecheck.report.alloys import render_alloy, render_alloys

    with _reported():
        if name is None:
            out.print(render_alloys(read_alloys().values()))
        else:
            out.print(render_alloy(alloy(name)))


@app.command()
def schema() -> None:
    """Print the JSON Schema of a design file."""
    from spokecheck.wheel.design import Design

    text = json.dumps(Design.model_json_schema(), indent=2, ensure_ascii=False)
    sys.stdout.write(text + "\n")


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
    from spokecheck.report.handbook_job import Request, answer, answer_all

    request = Request(case, changes or (), fineness, convergence, out_dir)
    with _reported(), _progress() as progress:
        if everything:
            task = progress.add_task("handbook", total=None)
            found = answer_all(request, workers, lambda _: progress.advance(task))
        else:
            found = answer(request)
    out.print(found.text)
    for path in found.files:
        out.print(str(path), highlight=False, soft_wrap=True)
    raise typer.Exit(0 if found.passed else NOT_CLEAR)


def _wheels(designs: list[Path], mesh: Path | None, sidecar: Path | None) -> list[Path]:
    """Files to read: designs, or the sidecar of a mesh."""
    from spokecheck.wheel.beside import sidecar_of

    with _reported():
        if mesh is not None and not designs:
            return [sidecar_of(mesh, sidecar)]
        if mesh is None and sidecar is None and designs:
            return designs
        raise InputError(
            "screen: give design files, or one --mesh, with a --sidecar if need be"
        )


def _store(cache: Path | None, no_cache: bool) -> "Store | None":
    """Where stored results lie; None for no cache."""
    from spokecheck.screen.cache import Store, default_folder

    folder = None if no_cache else cache or default_folder()
    return None if folder is None else Store(folder)


def _check_writable(out_dir: Path) -> None:
    """Find out now, rather than after the work."""
    with _reported():
        out_dir.mkdir(parents=True, exist_ok=True)
        (out_dir / ".writable").touch()
        (out_dir / ".writable").unlink(missing_ok=True)


def _found(designs: list[Path]) -> list[Path]:
    from spokecheck.screen.batch import find_designs

    with _reported():
        return find_designs(designs)


def _run(
    designs: list[Path],
    workers: int | None,
    request: Request,
    out_dir: Path,
    store: "Store | None",
) -> "list[tuple[Path, Screened | SpokecheckError]]":
    """Screen all designs, with progress on a terminal; in the order given."""
    from spokecheck.report.run import screen_designs

    _check_writable(out_dir)
    paths = _found(designs)
    with _reported(), _progress() as progress:
        task = progress.add_task("screening", total=len(paths))
        outcomes = screen_designs(
            paths,
            request,
            out_dir,
            store,
            workers,
            lambda path: progress.update(
                task, advance=1, description=f"done {path.name}"
            ),
            partial(_show_stage, progress, task, paths[0].name),
        )
    stored = sum(o.value.stored for o in outcomes if o.value is not None)
    if stored:
        err.print(
            f"stored result shown for {stored} of {len(paths)}: nothing that could "
            "change it has changed (--no-cache screens again)",
            highlight=False,
        )
    pairs = [(o.path, o.value if o.error is None else o.error) for o in outcomes]
    return [(path, value) for path, value in pairs if value is not None]


def _show_stage(progress: Progress, task: TaskID, name: str, stage: str) -> None:
    progress.update(task, description=f"{name}: {stage}")


def _progress() -> Progress:
    """Progress on standard error; nothing at all unless that is a terminal."""
    return Progress(
        SpinnerColumn(),
        TextColumn("{task.description}"),
        TextColumn("{task.completed}/{task.total}"),
        TimeElapsedColumn(),
        console=err,
        transient=True,
        disable=not err.is_terminal,
    )


@contextmanager
def _reported() -> Iterator[None]:
    """Turn errors into a message and an exit code."""
    try:
        yield
    except SpokecheckError as error:
        _tell(error)
        raise typer.Exit(_code(error)) from error
    except OSError as error:
        where = error.filename or "a file"
        err.print(
            f"--out {where}: {error.strerror or error}; choose another place",
            style="red",
        )
        raise typer.Exit(BAD_INPUT) from error


def _tell(error: SpokecheckError) -> None:
    from spokecheck.report.terminal import render_faults

    if isinstance(error, DesignError):
        err.print(render_faults(error))
    else:
        err.print(str(error), style="red", highlight=False, markup=False)


def _code(error: SpokecheckError) -> int:
    return BAD_INPUT if isinstance(error, InputError) else FAILED


def main() -> None:
    """Run the command line."""
    keep_to_one_thread()
    app(prog_name="spokecheck")
