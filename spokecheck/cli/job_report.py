"""Reports of a run, kept up to date as its designs finish.

A job ended by its time limit leaves the lines, the JUnit file and the summary of all
that were finished; the others stand there as not finished.
"""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from spokecheck.cli.console import (
    NOT_CLEAR,
    code_of,
    err,
    out,
    print_error,
    reported,
    verdict_code,
)
from spokecheck.errors import SpokecheckError
from spokecheck.report.findings.annotations import Form, annotations
from spokecheck.report.findings.baseline import Baseline, Earlier, Fall
from spokecheck.report.findings.design_result import DesignResult
from spokecheck.report.findings.job_lines import render_results, result_line
from spokecheck.report.findings.job_summary import Summary, write_summary
from spokecheck.report.findings.junit import write_junit
from spokecheck.report.findings.terminal import render_screening
from spokecheck.report.whole_files import write_bytes
from spokecheck.run.batch import Outcome
from spokecheck.run.designs import Batch

if TYPE_CHECKING:
    from pathlib import Path

    from spokecheck.run.stored import Screened


@dataclass(kw_only=True)
class JobReport:
    """Reports of one run.

    Attributes
    ----------
    batch : Batch
        The designs.
    baseline : Baseline or None
        Results of an earlier run.
    junit : Path or None
        JUnit file.
    summary : Summary or None
        Summary in Markdown.
    annotate : Form or None
        Form of remarks on lines of files.
    """

    batch: Batch
    baseline: Baseline | None = None
    junit: "Path | None" = None
    summary: Summary | None = None
    annotate: Form | None = None
    _results: "dict[Path, DesignResult]" = field(default_factory=dict)
    _codes: list[int] = field(default_factory=lambda: [0])
    _working: bool = False

    def start(self) -> None:
        """Write what is known before the work: a place not writable is found now."""
        for path in self.batch.paths:
            self._results[path] = DesignResult(path=str(path))
        self._write_reported()

    def finished(self, outcome: "Outcome[Screened]") -> None:
        """Report one design."""
        result = self._result(outcome)
        self._results[outcome.path] = result
        self._codes.append(_code(outcome, result))
        self._print(outcome, result)
        if self.annotate is not None:
            for remark in annotations(result):
                _line(remark.text(self.annotate))
        if self._working:
            self._write_quietly()

    def work_begins(self) -> None:
        """Write all that was known without work; from now on, at each design.

        A thousand stored results are not held up so by a thousand writings.
        """
        self._working = True
        self._write_quietly()

    def close(self) -> int:
        """Print the closing table, write the reports; exit code of the run."""
        if not self._alone:
            out.print(render_results(self._all))
        new = sum(result.is_new for result in self._all)
        if self.baseline is not None and new:
            place = self.baseline.place
            text = f"new, with nothing to compare with in {place}: {new} of the designs"
            err.print(text, style="yellow", markup=False, soft_wrap=True)
        self._write_reported()
        return max(self._codes)

    @property
    def _alone(self) -> bool:
        return len(self.batch.stems) == 1

    @property
    def _all(self) -> Sequence[DesignResult]:
        return list(self._results.values())

    def _result(self, outcome: "Outcome[Screened]") -> DesignResult:
        path, value = outcome.path, outcome.value
        if value is None:
            return DesignResult(path=str(path), outcome=outcome.error)
        stem, findings = self.batch.stems[path], value.findings
        earlier: Earlier | None = None
        falls: tuple[Fall, ...] = ()
        if self.baseline is not None:
            earlier = self.baseline.of(stem, findings)
            falls = self.baseline.falls(stem, findings)
        picture = None
        if self.summary is not None and value.written.small is not None:
            picture = self.batch.out_dir / f"{stem}.jpg"
            with reported():
                write_bytes(picture, value.written.small)
        return DesignResult(
            path=str(path),
            outcome=findings,
            earlier=earlier,
            falls=falls,
            page=value.written.page,
            picture=picture,
        )

    def _print(self, outcome: "Outcome[Screened]", result: DesignResult) -> None:
        value = outcome.value
        if not self._alone:
            done, total = len(self._codes) - 1, len(self.batch.paths)
            line = result_line(result, done, total)
            out.print(line, highlight=False, soft_wrap=True)
        elif value is not None:
            out.print(render_screening(value.findings))
            for fall in result.falls:
                out.print(fall.words, style="bold red", highlight=False)
        if outcome.error is not None and self.annotate is None:
            print_error(outcome.error)
        if value is None:
            return
        for note in value.written.notes:
            err.print(note, style="yellow", markup=False, soft_wrap=True)
        if self._alone:
            _line(f"{value.written.page}\n{value.written.json}\n")

    def _write_quietly(self) -> None:
        with suppress(OSError):  # reported when the run is closed
            self._write()

    def _write(self) -> None:
        if self.junit is not None:
            write_junit(self._all, self.junit)
        if self.summary is not None:
            write_summary(self.summary, self._all)

    def _write_reported(self) -> None:
        with reported("--junit" if self.summary is None else "--junit or --markdown"):
            self._write()


def _code(outcome: "Outcome[Screened]", result: DesignResult) -> int:
    """Exit code of one design."""
    if isinstance(outcome.error, SpokecheckError):
        return code_of(outcome.error)
    assert outcome.value is not None, "an outcome has a value or an error"
    code = verdict_code(outcome.value.findings)
    return max(code, NOT_CLEAR) if result.falls else code


def _line(text: str) -> None:
    """Print text as it is, in as many lines as it has."""
    out.print(text, highlight=False, markup=False, soft_wrap=True)
