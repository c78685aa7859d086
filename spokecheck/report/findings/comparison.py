"""Several designs side by side, the one with the greatest margin first."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path

from spokecheck.errors import SpokecheckError
from spokecheck.report import caution
from spokecheck.report.findings.json_report import Json
from spokecheck.report.findings.tool import PACKAGE, tool_version
from spokecheck.screen.findings import FORMAT, Findings
from spokecheck.screen.json_numbers import rounded
from spokecheck.screen.verdict import CLEARS


@dataclass(frozen=True)
class Entry:
    """One design of a comparison.

    Attributes
    ----------
    stem : str
        File name without suffix; distinguishes designs of one name.
    findings : Findings
    picture : bytes or None
        Small picture (JPEG), if there is one.
    """

    stem: str
    findings: Findings
    picture: bytes | None = field(default=None, repr=False)


@dataclass(frozen=True)
class Failure:
    """A design that could not be screened."""

    source: str
    message: str


@dataclass(frozen=True)
class Comparison:
    """Designs ranked by worst margin, and those that could not be screened."""

    entries: tuple[Entry, ...]
    failures: tuple[Failure, ...] = ()

    @property
    def departures(self) -> list[str]:
        """What is not drawn as asked for, by design."""
        return [
            f"{entry.stem}: {departure.text}"
            for entry in self.entries
            for departure in entry.findings.wheel.departures
        ]

    @property
    def clears_from_margin(self) -> float:
        """Margin from which the designs clear, the same for all of one run."""
        required = [e.findings.verdict.clears_from_margin for e in self.entries]
        return max(required, default=CLEARS)


def compare(
    designs: Mapping[str, Findings],
    failures: Mapping[str, SpokecheckError] | None = None,
    pictures: Mapping[str, bytes] | None = None,
) -> Comparison:
    """Rank several screenings.

    Parameters
    ----------
    designs : mapping of str to Findings
        By file stem.
    failures : mapping of str to SpokecheckError, optional
        Designs that could not be screened, by file.
    pictures : mapping of str to bytes, optional
        Small pictures by stem.

    Returns
    -------
    Comparison
        Greatest worst margin first; ties, to five digits, by mass and then by stem.
    """
    pictures = pictures or {}
    entries = [
        Entry(stem, found, pictures.get(stem)) for stem, found in designs.items()
    ]
    failed = [
        Failure(where, str(error).removeprefix(f"{where}: "))
        for where, error in (failures or {}).items()
    ]
    return Comparison(tuple(sorted(entries, key=_order)), tuple(failed))


def _order(entry: Entry) -> tuple[float, float, str]:
    """Key to sort by: falling margin, rising mass, stem."""
    findings = entry.findings
    margin = float(f"{findings.worst.margin:.5g}")
    return -margin, findings.wheel.mass_kg, entry.stem


def comparison_to_dict(comparison: Comparison) -> Json:
    """A comparison as plain values, in the form of ``json_report``.

    Failed designs are named by file, without folders.
    """
    return {
        "kind": "comparison",
        "format": FORMAT,
        "tool": {"name": PACKAGE, "version": tool_version()},
        "caution": caution.FULL,
        "clears_from_margin": comparison.clears_from_margin,
        "designs": [_plain(k, e) for k, e in enumerate(comparison.entries, 1)],
        "not_screened": [
            {"source": Path(f.source).name, "message": f.message}
            for f in comparison.failures
        ],
    }


def _plain(rank: int, entry: Entry) -> Json:
    findings, worst = entry.findings, entry.findings.worst
    return {
        "rank": rank,
        "file": entry.stem,
        "name": findings.name,
        "mass_kg": rounded(findings.wheel.mass_kg),
        "worst_margin": rounded(worst.margin),
        "verdict": str(findings.verdict.word),
        "worst_test": worst.test,
        "worst_place": worst.place,
        "stress_error": rounded(worst.stress_error),
        "departures": [asdict(d) for d in findings.wheel.departures],
    }
