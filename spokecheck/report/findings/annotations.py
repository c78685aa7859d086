"""Remarks on lines of design files, in the forms that editors and CI services read.

A fault stands at its key; a hot spot at the key that shapes its surface most directly.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from spokecheck.errors import Fault, InputFileError
from spokecheck.report.findings import numbers
from spokecheck.report.findings.design_result import DesignResult, printable
from spokecheck.report.findings.tool import PACKAGE
from spokecheck.screen.findings import Findings
from spokecheck.screen.verdict import Verdict
from spokecheck.toml_file import LARGEST_FILE
from spokecheck.toml_lines import line_in_message, line_of
from spokecheck.wheel.tables.surface_names import key_shaping

SYNTAX = "TOML"
"""Key of a fault in the syntax."""


class Form(StrEnum):
    """How a remark is written."""

    PLAIN = "plain"
    WORKFLOW = "workflow"


@dataclass(frozen=True)
class Annotation:
    """A remark on a line of a file.

    Attributes
    ----------
    path : str
    line : int
        From 1.
    level : str
        ``error`` for what keeps a design from passing, else ``warning``.
    message : str
        Begins with the key.
    """

    path: str
    line: int
    level: str
    message: str

    def text(self, form: Form) -> str:
        """The remark in one line.

        Examples
        --------
        >>> remark = Annotation("a,b.toml", 3, "error", "spokes.count = 2: 9 % short")
        >>> remark.text(Form.PLAIN)
        'a,b.toml:3: error: spokes.count = 2: 9 % short'
        >>> remark.text(Form.WORKFLOW)
        '::error file=a%2Cb.toml,line=3,title=spokecheck::spokes.count = 2: 9 %25 short'
        """
        message = printable(self.message)
        if form is Form.PLAIN:
            return f"{printable(self.path)}:{self.line}: {self.level}: {message}"
        place = f"file={_property(printable(self.path))},line={self.line}"
        return f"::{self.level} {place},title={PACKAGE}::{_data(message)}"


def _data(text: str) -> str:
    """Text of a workflow command; its escapes are percent signs and line ends."""
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    """Value of a property of a workflow command, which colons and commas end."""
    return _data(text).replace(":", "%3A").replace(",", "%2C")


def annotations(result: DesignResult) -> list[Annotation]:
    """Remarks on one design.

    Parameters
    ----------
    result : DesignResult
        What became of it.

    Returns
    -------
    list of Annotation
        One for each fault, each test that does not clear, each margin that fell; as
        warnings, fillets that had to be drawn smaller.
    """
    text = _text(Path(result.path))
    if isinstance(result.outcome, Findings):
        found = _on_findings(result, result.outcome, text)
        return list(dict.fromkeys(found))
    if isinstance(result.outcome, InputFileError):
        source = result.outcome.source
        text = text if source == result.path else _text(Path(source))
        return [on_fault(source, text, fault) for fault in result.outcome.faults]
    message = f"{result.word}: {result.summary}"
    return [Annotation(result.path, 1, "error", message)]


def on_file(error: InputFileError) -> list[Annotation]:
    """Remarks on an input file that is no design, such as a project file."""
    text = _text(Path(error.source))
    return [on_fault(error.source, text, fault) for fault in error.faults]


def on_fault(path: str, text: str, fault: Fault) -> Annotation:
    """Remark on one fault of a file with a text."""
    if fault.key == SYNTAX:
        line = line_in_message(fault.limit)
    else:
        line = line_of(text, fault.key)
    return Annotation(path, line, "error", str(fault))


def _on_findings(
    result: DesignResult, findings: Findings, text: str
) -> Iterator[Annotation]:
    for test in findings.tests:
        if test.verdict is Verdict.CLEARS:
            continue
        worst = findings.spots_of(test)[0]
        key = key_shaping(worst.surface)
        message = (
            f"{key}: {test.verdict} in the {test.name} test, margin "
            f"{numbers.margin(test.margin)}: {worst.place}"
        )
        yield Annotation(result.path, line_of(text, key), "error", message)
    key = key_shaping(findings.worst.surface)
    for fall in result.falls:
        message = f"{key}: {fall.words}"
        yield Annotation(result.path, line_of(text, key), "error", message)
    for departure in findings.wheel.departures:
        line = line_of(text, departure.key)
        yield Annotation(result.path, line, "warning", departure.text)


def _text(path: Path) -> str:
    """Text of a file; empty if it cannot be read."""
    try:
        if path.is_file() and path.stat().st_size <= LARGEST_FILE:
            return path.read_text(encoding="utf-8", errors="replace")
    except (OSError, ValueError):
        pass
    return ""
