"""What became of one design of a run, as job reports show it."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from spokecheck.errors import InputError, InputFileError, SpokecheckError
from spokecheck.report.findings import numbers
from spokecheck.report.findings.baseline import Earlier, Fall
from spokecheck.screen.findings import Findings
from spokecheck.screen.verdict import Verdict

Outcome = Findings | SpokecheckError | None
"""Findings, why there are none, or None for a design that is not finished."""

UNFINISHED, BAD_INPUT, FAILED = "not finished", "bad input", "computation failed"


@dataclass(frozen=True, kw_only=True)
class DesignResult:
    """One design of a run.

    Attributes
    ----------
    path : str
        Its file, as it is named on the command line or found below a folder.
    outcome : Findings, SpokecheckError or None
    earlier : Earlier or None
        Its margins in an earlier run.
    falls : tuple of Fall
        Margins that fell by more than is allowed since.
    page, picture : Path or None
        Files written for it.
    """

    path: str
    outcome: Outcome = None
    earlier: Earlier | None = None
    falls: tuple[Fall, ...] = ()
    page: Path | None = None
    picture: Path | None = None

    @property
    def shown_path(self) -> str:
        """Path in one line of characters that can be printed."""
        return printable(self.path)

    @property
    def word(self) -> str:
        """Verdict, or why there is none."""
        if isinstance(self.outcome, Findings):
            return str(self.outcome.verdict.word)
        if self.outcome is None:
            return UNFINISHED
        return BAD_INPUT if isinstance(self.outcome, InputError) else FAILED

    @property
    def passed(self) -> bool:
        """Whether it clears, and no margin fell too far."""
        return self.word == Verdict.CLEARS and not self.falls

    @property
    def is_new(self) -> bool:
        """Whether it was screened and no earlier run has it."""
        return isinstance(self.outcome, Findings) and self.earlier is None

    @property
    def severity(self) -> int:
        """For sorting: 0 passed, up to 3 where nothing is known."""
        if isinstance(self.outcome, Findings):
            return 0 if self.passed else 1
        return 3 if self.word == BAD_INPUT else 2

    @property
    def summary(self) -> str:
        """Margin and falls, or faults, in one line."""
        if isinstance(self.outcome, Findings):
            verdict = self.outcome.verdict
            falls = (f"; {fall.words}" for fall in self.falls)
            return (
                f"margin {numbers.margin(verdict.worst_margin)}, "
                f"{numbers.margin(verdict.worst_margin_less_bar)} less its error bar"
                + "".join(falls)
            )
        return "; ".join(self.error_lines)

    @property
    def error_lines(self) -> list[str]:
        """Why there are no findings, a line for each fault."""
        if self.outcome is None:
            return ["the run ended before it was screened"]
        if isinstance(self.outcome, InputFileError):
            return [str(fault) for fault in self.outcome.faults]
        return [str(self.outcome)]


def worst_first(results: Iterable[DesignResult]) -> list[DesignResult]:
    """Results with what needs a look first: no result, then the least margin."""
    return sorted(results, key=lambda one: (-one.severity, _margin(one), one.path))


def _margin(result: DesignResult) -> float:
    found = result.outcome
    least = found.verdict.worst_margin_less_bar if isinstance(found, Findings) else 0.0
    return float(least)


def counted(results: Iterable[DesignResult]) -> str:
    """How many designs have each word, in one line.

    Examples
    --------
    >>> counted([DesignResult(path="a"), DesignResult(path="b")])
    '2 designs: 2 not finished'
    """
    found = list(results)
    words = dict.fromkeys(one.word for one in worst_first(found))
    parts = [f"{sum(one.word == word for one in found)} {word}" for word in words]
    fallen = sum(bool(one.falls) for one in found)
    parts += [f"{fallen} fell"] if fallen else []
    plural = "" if len(found) == 1 else "s"
    return f"{len(found)} design{plural}" + (f": {', '.join(parts)}" if parts else "")


def printable(text: str) -> str:
    """Text without line breaks, control characters and parts of no character."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
