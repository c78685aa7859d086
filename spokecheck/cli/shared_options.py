"""Options that several commands share."""

from pathlib import Path
from typing import Annotated, Literal, TypeAlias

import typer

from spokecheck.screen.verdict import LEAST_REQUIRED, MOST_REQUIRED

DEFAULT_OUT = Path("spokecheck-out")

Designs: TypeAlias = Annotated[
    list[Path], typer.Argument(help="Design files, or folders of them.")
]
OutDir: TypeAlias = Annotated[
    Path, typer.Option("--out", help="Folder for the results; made if need be.")
]
FinenessFactor: TypeAlias = Annotated[
    float, typer.Option("--fineness", min=1.0, max=4.0, help="2 halves every edge.")
]
Workers: TypeAlias = Annotated[
    int | None,
    typer.Option("--workers", min=1, help="Designs at a time; default: all cores."),
]
PatchAngle: TypeAlias = Annotated[
    float | None,
    typer.Option(
        "--patch-angle",
        help="Half-angle of the tyre's patch [deg], 10 to 90; default: the design's.",
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
        min=0.5, max=50, help="Refine until error bars are no wider than this [%]."
    ),
]
MostMeshes: TypeAlias = Annotated[
    int,
    typer.Option(
        "--meshes", min=1, max=8, help="Most meshes tried; 1 refines nothing."
    ),
]
FirstPlaces: TypeAlias = Annotated[
    int,
    typer.Option(
        "--places",
        min=1,
        max=20,
        help="Places that must settle to the tolerance, and all that might be worse.",
    ),
]
OtherCriteria: TypeAlias = Annotated[
    bool,
    typer.Option("--other-criteria", help="Add other criteria at the hot spots."),
]
Impact: TypeAlias = Annotated[
    bool,
    typer.Option("--impact", help="Add the 13-degree impact, an indication only."),
]
Whole: TypeAlias = Annotated[
    bool,
    typer.Option(
        "--whole",
        help="Mesh and solve the whole wheel, whatever its symmetry: a check, slow.",
    ),
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
    typer.Option("--sidecar", help="What no mesh holds; default: MESH.toml."),
]
RequiredMargin: TypeAlias = Annotated[
    float | None,
    typer.Option(
        "--required-margin",
        min=LEAST_REQUIRED,
        max=MOST_REQUIRED,
        help="Margin, less its error bar, from which a design clears; default 1.10.",
    ),
]
AllowedAlloys: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--allowed-alloy", help="Alloy a design may name, may be repeated; default all."
    ),
]
ChangedSince: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--changed-since",
        metavar="REV",
        help="Screen only designs that changed since this git revision.",
    ),
]
Against: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        help="Folder or JSON file of an earlier run: a margin that fell is a failure."
    ),
]
AllowFall: TypeAlias = Annotated[
    float | None,
    typer.Option(
        "--allow-fall",
        min=0.0,
        max=50.0,
        help="With --against, fall of a margin that is let pass [%]; default 5.",
    ),
]
JunitFile: TypeAlias = Annotated[
    Path | None,
    typer.Option("--junit", help="Write a JUnit XML file, as designs finish."),
]
MarkdownFile: TypeAlias = Annotated[
    Path | None,
    typer.Option("--markdown", help="Write a summary in Markdown, as designs finish."),
]
LinkBase: TypeAlias = Annotated[
    str,
    typer.Option(
        "--link-base",
        metavar="URL",
        help="Address of the results, for links of the summary; default: relative.",
    ),
]
Annotate: TypeAlias = Annotated[
    Literal["plain", "workflow"] | None,
    typer.Option(
        "--annotate",
        help="Print remarks on lines of files: path:line: text, or workflow commands.",
    ),
]
