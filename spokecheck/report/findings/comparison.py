"""Several designs side by side, the one with the greatest margin first."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from spokecheck.errors import SpokecheckError
from spokecheck.report import caution
from spokecheck.report.findings.json_model import Json
from spokecheck.report.findings.json_report import FORMAT
from spokecheck.report.findings.numbers import rounded
from spokecheck.report.findings.rows import PACKAGE, tool_version
from spokecheck.report.findings.summary import Summary
from spokecheck.screen.verdict import CLEARS, Verdict
from spokecheck.units import KG_PER_TONNE


@dataclass(frozen=True)
class Entry:
    """One design of a comparison.

    Attributes
    ----------
    stem : str
        File name without suffix; tells designs of one name apart.
    name : str
        Name of the design.
    mass : float
        [t].
    margin : float
        Worst margin over all tests.
    verdict : Verdict
    test, place, copies : str
        Of the worst hot spot.
    stress_error : float
        Estimated relative error of the stress there.
    picture : bytes or None
        Small picture (JPEG), if there is one.
    """

    stem: str
    name: str
    mass: float
    margin: float
    verdict: Verdict
    test: str
    place: str
    copies: str
    stress_error: float
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


def compare(
    summaries: Mapping[str, Summary],
    failures: Mapping[str, SpokecheckError] | None = None,
    pictures: Mapping[str, bytes] | None = None,
) -> Comparison:
    """Rank several screenings.

    Parameters
    ----------
    summaries : mapping of str to Summary
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
    entries = [_entry(stem, s, pictures.get(stem)) for stem, s in summaries.items()]
    entries.sort(key=lambda e: (-float(f"{e.margin:.5g}"), e.mass, e.stem))
    told = [
        Failure(where, str(error).removeprefix(f"{where}: "))
        for where, error in (failures or {}).items()
    ]
    return Comparison(tuple(entries), tuple(told))


def _entry(stem: str, summary: Summary, picture: bytes | None) -> Entry:
    worst = summary.worst
    return Entry(
        stem,
        summary.name,
        summary.mass,
        worst.margin,
        summary.verdict,
        worst.test,
        worst.place,
        worst.copies,
        worst.stress_error,
        picture,
    )


def comparison_to_dict(comparison: Comparison) -> Json:
    """A comparison as plain values, in the form of ``json_report``.

    Failed designs are told by file name, without folders.
    """
    return {
        "kind": "comparison",
        "format": FORMAT,
        "tool": {"name": PACKAGE, "version": tool_version()},
        "caution": caution.FULL,
        "clears_from_margin": CLEARS,
        "designs": [_plain(k, e) for k, e in enumerate(comparison.entries, 1)],
        "not_screened": [
            {"source": Path(f.source).name, "message": f.message}
            for f in comparison.failures
        ],
    }


def _plain(rank: int, entry: Entry) -> Json:
    return {
        "rank": rank,
        "file": entry.stem,
        "name": entry.name,
        "mass_kg": rounded(entry.mass * KG_PER_TONNE),
        "worst_margin": rounded(entry.margin),
        "verdict": str(entry.verdict),
        "worst_test": entry.test,
        "worst_place": entry.place,
        "stress_error": rounded(entry.stress_error),
    }
