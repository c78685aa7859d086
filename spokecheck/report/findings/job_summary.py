"""Summary of a run in Markdown, for the page of a job or a comment of a review.

What needs a look stands first, and what is long is cut, since such places have a limit
of size.
"""

import os
import string
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from spokecheck.report import caution
from spokecheck.report.findings import numbers
from spokecheck.report.findings.design_result import (
    DesignResult,
    counted,
    printable,
    worst_first,
)
from spokecheck.report.findings.tool import PACKAGE, tool_version
from spokecheck.report.whole_files import write_text
from spokecheck.screen.findings import Findings

MOST_ROWS, MOST_FAULTS, MOST_PICTURES = 100, 10, 3
"""Designs in the table, lines below one file that was not screened, and pictures."""

HEAD = (
    "| Design | Verdict | Margin | Less error bar | Before | Mass | Worst place |\n"
    "|---|---|---:|---:|---:|---:|---|"
)

ESCAPED = {ord(c): f"&#{ord(c)};" for c in string.punctuation if c not in ".,;:/'-+%="}
"""Characters that Markdown, HTML or a table could take for markup."""


@dataclass(frozen=True)
class Summary:
    """What the summary says besides the results.

    Attributes
    ----------
    file : Path
        Where it is written; links are relative to its folder.
    link_base : str
        Address of the folder of results, in place of relative links.
    notes : tuple of str
        Sentences on the run, such as which designs changed.
    compared : bool
        Whether there is an earlier run.
    """

    file: Path
    link_base: str = ""
    notes: tuple[str, ...] = ()
    compared: bool = False

    def link(self, target: Path) -> str:
        """Address of a file of results."""
        if self.link_base:
            return f"{self.link_base.rstrip('/')}/{quote(target.name)}"
        folder = self.file.resolve().parent
        relative = os.path.relpath(target.resolve(), folder)
        return quote(Path(relative).as_posix())


def write_summary(summary: Summary, results: Sequence[DesignResult]) -> Path:
    """Write the summary, whole or not at all."""
    return write_text(summary.file, summary_text(summary, results))


def summary_text(summary: Summary, results: Sequence[DesignResult]) -> str:
    """Markdown of a run.

    Parameters
    ----------
    summary : Summary
        Where it goes, and what it says besides.
    results : sequence of DesignResult
        All designs of the run.

    Returns
    -------
    str
        Headline, table, margins that fell, designs not screened, worst pictures by
        link, caution.
    """
    ordered = worst_first(results)
    blocks = [f"### {PACKAGE}: {counted(results)}"]
    blocks += [_plain(note) for note in summary.notes]
    if ordered:
        rows = [_row(summary, result) for result in ordered[:MOST_ROWS]]
        blocks.append("\n".join([HEAD, *rows]))
    if len(ordered) > MOST_ROWS:
        blocks.append(f"{len(ordered) - MOST_ROWS} more in the files of the run.")
    blocks += _fallen(ordered)
    if summary.compared:
        blocks += _not_compared(ordered)
    blocks += _not_screened(ordered) + _pictures(summary, ordered)
    blocks.append(f"> **Caution.** {caution.SHORT}")
    blocks.append(f"<sub>{PACKAGE} {tool_version()}</sub>")
    return "\n\n".join(blocks) + "\n"


def _row(summary: Summary, result: DesignResult) -> str:
    found = result.outcome
    design, word = _plain(result.path), result.word
    if result.page is not None:
        design = f"[{design}]({summary.link(result.page)})"
    word = word if result.passed else f"**{word}**"
    if not isinstance(found, Findings):
        return f"| {design} | {word} | | | | | |"
    if result.falls:
        word += ", **margin fell**"
    worst = found.worst
    cells = (
        design,
        word,
        numbers.margin(found.verdict.worst_margin),
        numbers.margin(found.verdict.worst_margin_less_bar),
        _before(result),
        numbers.mass(found.wheel.mass_kg),
        _plain(f"{worst.place}, {worst.test}"),
    )
    return f"| {' | '.join(cells)} |"


def _before(result: DesignResult) -> str:
    """Worst margin of the earlier run."""
    return "" if result.earlier is None else numbers.margin(result.earlier.worst)


def _fallen(results: Sequence[DesignResult]) -> list[str]:
    lines = [
        f"- {_plain(result.path)}: {_plain(fall.words)}"
        for result in results
        for fall in result.falls
    ]
    return ["#### Margins that fell", "\n".join(lines[:MOST_ROWS])] if lines else []


def _not_compared(results: Sequence[DesignResult]) -> list[str]:
    names = [_plain(result.path) for result in results if result.is_new]
    text = ", ".join(names[:MOST_ROWS])
    return [f"New, with nothing to compare with: {text}."] if names else []


def _not_screened(results: Sequence[DesignResult]) -> list[str]:
    lines = []
    failed = [r for r in results if not isinstance(r.outcome, Findings)]
    for result in failed[:MOST_ROWS]:
        lines.append(f"- {_plain(result.path)}")
        found = result.error_lines
        lines += [f"  - {_plain(line)}" for line in found[:MOST_FAULTS]]
        if len(found) > MOST_FAULTS:
            lines.append(f"  - {len(found) - MOST_FAULTS} more")
    return ["#### Not screened", "\n".join(lines)] if lines else []


def _pictures(summary: Summary, results: Sequence[DesignResult]) -> list[str]:
    """The worst designs that have a picture; the worst of all if all pass."""
    with_picture = [(r, r.picture) for r in results if r.picture is not None]
    shown = [pair for pair in with_picture if not pair[0].passed][:MOST_PICTURES]
    lines = [
        f"{_plain(result.path)}\n\n![utilisation and hot spots]({summary.link(file)})"
        for result, file in shown or with_picture[:1]
    ]
    return ["#### Worst places", *lines] if lines else []


def _plain(text: str) -> str:
    """Text that stays text in Markdown.

    Examples
    --------
    >>> _plain("a|b <b> [x](y)")
    'a&#124;b &#60;b&#62; &#91;x&#93;&#40;y&#41;'
    """
    return printable(text).translate(ESCAPED)
