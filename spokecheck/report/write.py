"""Everything a screening leaves in its folder."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from spokecheck.mesh.files import write_vtu
from spokecheck.report.compare import Comparison, comparison_to_dict
from spokecheck.report.drawing import Pictures, draw_pictures
from spokecheck.report.files import write_text, write_whole
from spokecheck.report.json_report import to_text, write_json
from spokecheck.report.marks import place_marks
from spokecheck.report.page import comparison_page, screening_page
from spokecheck.report.picture_job import picture_job
from spokecheck.screen.results import Screening
from spokecheck.units import FloatArray

LONGEST_STEM = 60
"""Characters of a file stem made from a design's name."""

COMPARISON = "comparison"


@dataclass(frozen=True)
class Written:
    """Files written.

    Attributes
    ----------
    json, page : Path
        Always there.
    vtu : Path or None
        On request.
    small : bytes or None
        Small picture (JPEG), for comparisons.
    notes : tuple of str
        What could not be done, such as ``no pictures: ...``.
    """

    json: Path
    page: Path
    vtu: Path | None = None
    small: bytes | None = field(default=None, repr=False)
    notes: tuple[str, ...] = ()


def slug(name: str) -> str:
    """File stem from a name: letters, digits and hyphens only; never empty.

    Examples
    --------
    >>> slug("Aspen 5, cast"), slug("../Öl & <b>"), slug("???")
    ('aspen-5-cast', 'öl-b', 'design')
    """
    text = unicodedata.normalize("NFC", unicodedata.normalize("NFKC", name).lower())
    short = re.sub(r"[\W_]+", "-", text).strip("-")[:LONGEST_STEM].strip("-")
    return short or "design"


def unique_stems(files: Sequence[Path]) -> dict[Path, str]:
    """Stem for each design file; files of one name get their folder's name in front.

    The comparison's own stem is never given away.

    Examples
    --------
    >>> files = [Path("a/x.toml"), Path("b/x.toml"), Path("y.toml")]
    >>> list(unique_stems(files).values())
    ['a-x', 'b-x', 'y']
    """
    stems: dict[Path, str] = {}
    taken = {COMPARISON}
    plain = [file.stem.lower() for file in files]
    for file in files:
        own = file.stem
        if plain.count(own.lower()) > 1:
            own = f"{slug(file.parent.name)}-{own}"
        stem, k = own, 2
        while stem.lower() in taken:
            stem, k = f"{own}-{k}", k + 1
        taken.add(stem.lower())
        stems[file] = stem
    return stems


def write_outputs(
    screening: Screening,
    out_dir: Path,
    pictures: bool = True,
    vtu: bool = False,
    stem: str | None = None,
) -> Written:
    """Write the JSON, the page and, on request, the VTU of a screening.

    Parameters
    ----------
    screening : Screening
        What was found.
    out_dir : Path
        Folder; made if need be.
    pictures : bool
        Whether to have pictures drawn for the page.
    vtu : bool
        Whether to write the mesh with its utilisation for a viewer.
    stem : str, optional
        File name without suffix; made from the design's name if not given.

    Returns
    -------
    Written

    Raises
    ------
    OSError
        If the folder cannot be written to.

    Notes
    -----
    The JSON is written first: whatever befalls pictures and page, the numbers stand.
    """
    base = out_dir / (stem or slug(screening.name))
    json_file = write_json(screening, base.with_name(f"{base.name}.json"))
    drawn = Pictures(note="no pictures: not asked for")
    if pictures:
        drawn = draw_pictures(picture_job(screening, place_marks(screening)))
    page = base.with_name(f"{base.name}.html")
    write_text(page, screening_page(screening, drawn))
    grid = write_grid(screening, base.with_name(f"{base.name}.vtu")) if vtu else None
    notes = (drawn.note,) if pictures and drawn.note else ()
    return Written(json_file, page, grid, drawn.small, notes)


def write_grid(screening: Screening, path: Path) -> Path:
    """Write the sector's mesh with the utilisation in each test as VTU.

    Points inside the wheel were not assessed and have NaN.
    """
    fields: dict[str, FloatArray] = {}
    for test in screening.tests:
        values = np.full(screening.wheel.mesh.n_points, np.nan)
        values[screening.surface.nodes] = test.utilisation
        fields[f"utilisation, {test.requirement.name}"] = values
    return write_whole(path, lambda part: _put_grid(part, screening, fields))


def _put_grid(path: Path, screening: Screening, fields: dict[str, FloatArray]) -> None:
    write_vtu(path, screening.wheel.mesh, fields)


def write_comparison(
    comparison: Comparison,
    out_dir: Path,
    pages: Mapping[str, str] | None = None,
    stem: str = COMPARISON,
) -> Written:
    """Write a comparison as page and JSON.

    Parameters
    ----------
    comparison : Comparison
        Ranked designs.
    out_dir : Path
        Folder; made if need be.
    pages : mapping of str to str, optional
        File name of each design's own page in that folder, by stem, to link to.
    stem : str
        File name without suffix.

    Returns
    -------
    Written
    """
    json_file = out_dir / f"{stem}.json"
    write_text(json_file, to_text(comparison_to_dict(comparison)))
    page = write_text(
        out_dir / f"{stem}.html", comparison_page(comparison, pages or {})
    )
    return Written(json_file, page)
