"""Everything a screening leaves in its folder."""

from collections.abc import Callable
from pathlib import Path

import numpy as np

from spokecheck.mesh.named_files import write_vtu
from spokecheck.report.findings.json_report import findings_to_dict, to_text
from spokecheck.report.findings.page import page_sheets, screening_page
from spokecheck.report.pictures.marks import place_marks
from spokecheck.report.pictures.picture_job import picture_job
from spokecheck.report.pictures.picture_process import DrawingProcess, Pictures
from spokecheck.report.stems import slug
from spokecheck.report.whole_files import Written, write_bytes, write_whole
from spokecheck.screen.results import Fields, Screening
from spokecheck.units import FloatArray

NOT_ASKED = Pictures(note="no pictures: not asked for")


def write_outputs(
    screening: Screening,
    out_dir: Path,
    drawing: DrawingProcess | None = None,
    vtu: bool = False,
    stem: str | None = None,
    keep: Callable[[str, bytes], None] = lambda suffix, content: None,
) -> Written:
    """Write the JSON, the page and, on request, the VTU of a screening.

    Parameters
    ----------
    screening : Screening
        What was found.
    out_dir : Path
        Folder; made if need be.
    drawing : DrawingProcess, optional
        What draws the pictures for the page; it has none without.
    vtu : bool
        Whether to write the mesh with its utilisation for a viewer.
    stem : str, optional
        File name without suffix; made from the design's name if not given.
    keep : callable
        Called with suffix and content of each file written.

    Returns
    -------
    Written

    Raises
    ------
    OSError
        If the folder cannot be written to.

    Notes
    -----
    The JSON is written first: whatever happens to pictures and page, the numbers are
    there.
    """
    base = out_dir / (stem or slug(screening.findings.name))
    numbers = to_text(findings_to_dict(screening.findings)).encode("utf-8")
    json_file = write_bytes(base.with_name(f"{base.name}.json"), numbers)
    keep(".json", numbers)
    if drawing is not None:
        drawing.begin(picture_job(screening.fields, place_marks(screening)))
    sheets = page_sheets(screening)
    drawn = NOT_ASKED if drawing is None else drawing.finish()
    text = screening_page(screening, drawn, sheets).encode("utf-8")
    page = write_bytes(base.with_name(f"{base.name}.html"), text)
    keep(".html", text)
    grid = None
    if vtu:
        grid = write_grid(screening.fields, base.with_name(f"{base.name}.vtu"), keep)
    notes = (drawn.note,) if drawing is not None and drawn.note else ()
    return Written(json_file, page, grid, drawn.small, notes)


def write_grid(
    fields: Fields,
    path: Path,
    keep: Callable[[str, bytes], None] = lambda suffix, content: None,
) -> Path:
    """Write the sector's mesh with the utilisation in each test as VTU.

    Points inside the wheel were not assessed and have NaN.
    """

    def put(part: Path) -> None:
        write_vtu(part, mesh, columns)
        keep(".vtu", part.read_bytes())

    mesh, columns = fields.wheel.mesh, dict[str, FloatArray]()
    for test, utilisation in fields.utilisation.items():
        values = np.full(mesh.n_points, np.nan)
        values[fields.surface.nodes] = utilisation
        columns[f"utilisation, {test}"] = values
    return write_whole(path, put)
