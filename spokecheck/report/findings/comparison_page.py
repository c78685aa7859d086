"""The page of a comparison, and how a comparison is written."""

from collections.abc import Mapping
from pathlib import Path

from markupsafe import Markup

from spokecheck.report.findings.comparison import Comparison, comparison_to_dict
from spokecheck.report.findings.frame import environment, frame, jpeg_uri
from spokecheck.report.findings.json_report import to_text
from spokecheck.report.findings.ruler import ruler_svg
from spokecheck.report.stems import COMPARISON
from spokecheck.report.whole_files import Written, write_text


def comparison_page(comparison: Comparison, pages: Mapping[str, str]) -> str:
    """HTML of a comparison; ``pages`` names the page of each design, by stem."""
    entries = [
        {
            "stem": entry.stem,
            "findings": entry.findings,
            "worst": entry.findings.worst,
            "page": pages.get(entry.stem, ""),
            "picture": jpeg_uri(entry.picture) if entry.picture else "",
        }
        for entry in comparison.entries
    ]
    found = [entry.findings for entry in comparison.entries]
    margins = [(findings.name, findings.worst.margin) for findings in found]
    return (
        environment()
        .get_template("comparison.html")
        .render(
            **frame("Comparison", comparison.clears_from_margin),
            entries=entries,
            failures=comparison.failures,
            departures=comparison.departures,
            ruler=Markup(ruler_svg(margins, comparison.clears_from_margin))
            if margins
            else "",
        )
    )


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
