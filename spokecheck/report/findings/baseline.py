"""Margins of an earlier run, and which of them fell since.

A design is known by the stem of its result files, else by its name if that is unique
among the earlier results.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from spokecheck.errors import InputError
from spokecheck.report.findings import numbers
from spokecheck.screen.findings import Findings

ALLOWED_FALL = 0.05
"""Share by which a margin may fall unless the user says otherwise: the width an error
bar has by default (own choice)."""

WORST = "worst margin"


@dataclass(frozen=True)
class Earlier:
    """One design of the earlier run.

    Attributes
    ----------
    name : str
        Of the design.
    margins : dict of str to float
        By test; by ``WORST`` alone where the file has no more.
    """

    name: str
    margins: Mapping[str, float]

    @property
    def worst(self) -> float | None:
        """Least margin; None if it had none."""
        return min(self.margins.values(), default=None)


@dataclass(frozen=True)
class Fall:
    """A margin that is lower than before.

    Attributes
    ----------
    test : str
    before, now : float
    """

    test: str
    before: float
    now: float

    @property
    def share(self) -> float:
        """Fall as a share of the margin before."""
        return 1.0 - self.now / self.before

    @property
    def words(self) -> str:
        """The fall in words."""
        return (
            f"{self.test}: margin {numbers.margin(self.now)}, "
            f"{numbers.margin(self.before)} before, a fall of "
            f"{numbers.percent(self.share)}"
        )


@dataclass(frozen=True)
class Baseline:
    """Results of an earlier run.

    Attributes
    ----------
    place : str
        Folder or file they were read from.
    designs : mapping of str to Earlier
        By stem of the result files.
    allowed_fall : float
        Share by which a margin may fall.
    """

    place: str
    designs: Mapping[str, Earlier] = field(default_factory=dict)
    allowed_fall: float = ALLOWED_FALL

    def of(self, stem: str, findings: Findings) -> Earlier | None:
        """Earlier results of a design; None if there are none."""
        if stem in self.designs:
            return self.designs[stem]
        named = [e for e in self.designs.values() if e.name == findings.name]
        return named[0] if len(named) == 1 else None

    def falls(self, stem: str, findings: Findings) -> tuple[Fall, ...]:
        """Margins of a design that fell by more than is allowed."""
        earlier = self.of(stem, findings)
        if earlier is None:
            return ()
        now = {test.name: test.margin for test in findings.tests}
        now[WORST] = findings.worst.margin
        both = [Fall(t, m, now[t]) for t, m in earlier.margins.items() if t in now]
        return tuple(fall for fall in both if fall.share > self.allowed_fall)


def read_baseline(place: Path, allowed_fall: float = ALLOWED_FALL) -> Baseline:
    """Read the results of an earlier run.

    Parameters
    ----------
    place : Path
        Folder of results, the JSON of one screening, or that of a comparison.
    allowed_fall : float
        Share by which a margin may fall.

    Returns
    -------
    Baseline

    Raises
    ------
    InputError
        If there is no such place, or nothing in it is a result.

    Notes
    -----
    A comparison has the worst margin of each design only.
    In a folder, what is no screening is passed over.
    """
    if place.is_dir():
        designs: dict[str, Earlier] = {}
        for file in sorted(place.glob("*.json")):
            document = _document(file)
            if document.get("kind") == "screening":
                designs |= _designs(file.stem, document)
    else:
        designs = _designs(place.stem, _document(place))
    if not designs:
        raise InputError(
            f"{place}: no results of an earlier run; give a folder that screen wrote, "
            "or a JSON file of it"
        )
    return Baseline(str(place), designs, allowed_fall)


def _document(file: Path) -> dict[str, Any]:
    try:
        document = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(f"{file}: {error.strerror}; check the path") from error
    except (ValueError, RecursionError) as error:
        raise InputError(f"{file}: is no JSON text; check the file") from error
    return document if isinstance(document, dict) else {}


def _designs(stem: str, document: dict[str, Any]) -> dict[str, Earlier]:
    """Designs of one JSON document of this program."""
    try:
        if document.get("kind") == "screening":
            margins = [(test["name"], test["margin"]) for test in document["tests"]]
            return {stem: Earlier(str(document["name"]), _positive(margins))}
        if document.get("kind") == "comparison":
            return {
                str(entry["file"]): Earlier(
                    str(entry["name"]), _positive([(WORST, entry["worst_margin"])])
                )
                for entry in document["designs"]
            }
    except (KeyError, TypeError) as error:
        raise InputError(
            f"{stem}.json: not the form this release writes ({error}); make it again"
        ) from error
    return {}


def _positive(margins: Sequence[tuple[str, Any]]) -> dict[str, float]:
    """Margins that are numbers; a margin without bound has no share to fall by."""
    return {str(t): float(m) for t, m in margins if isinstance(m, int | float) and m}
