"""The complete result as JSON: the same bytes for the same input.

Keys are sorted, and every number is rounded to six significant digits, so that neither
the order of a sum nor the clock shows.
Wall times, dates and paths are left out for the same reason.
A life outside the S-N line is ``null``; ``..._range`` beside it says ``beyond`` (past
the last cycle) or ``below`` (before the first).
Units stand in the keys; ``value`` goes with the ``unit`` beside it.
"""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spokecheck.report import caution
from spokecheck.report.findings.json_model import (
    LENGTH_NOISE,
    SHARE_NOISE,
    STRESS_NOISE,
    Json,
    convergence_json,
    local_mesh_json,
    mesh_requirements_json,
    options_json,
    wheel_json,
)
from spokecheck.report.findings.numbers import LIFE_WORDS, WITHIN, life_range, rounded
from spokecheck.report.findings.rows import PACKAGE, tool_version
from spokecheck.report.whole_files import write_text
from spokecheck.screen.verdict import CLEARS, judge

if TYPE_CHECKING:  # records are only read here: the command line stays fast
    from spokecheck.cases.procedure import Requirement
    from spokecheck.cases.sourced import Sourced
    from spokecheck.fatigue.audit import AuditLine
    from spokecheck.screen.impact_indication import ImpactIndication
    from spokecheck.screen.results import (
        Excluded,
        HotSpot,
        NotchSupport,
        Screening,
        TestResult,
        Zone,
    )

# History of the format; the number rises when a reader would misread a new file.
# 1: first form.
FORMAT = 1


def screening_to_dict(screening: "Screening") -> Json:
    """Everything a screening found, as plain values.

    Parameters
    ----------
    screening : Screening
        What was found.

    Returns
    -------
    dict
        Nothing but str, int, float, bool, None, list and dict.
    """
    spots = [_spot(k, spot) for k, spot in enumerate(screening.spots, 1)]
    worst = screening.worst
    return {
        "kind": "screening",
        "format": FORMAT,
        "tool": {"name": PACKAGE, "version": tool_version()},
        "caution": caution.FULL,
        "units": {
            "base": "mm, N, MPa; keys that differ end in their unit",
            "value": "in the unit that stands beside it",
            "null": f"a life outside the S-N line; {LIFE_WORDS}",
        },
        "name": screening.name,
        "design": _clean(screening.wheel.design.model_dump(mode="json")),
        "wheel": wheel_json(screening.wheel),
        "verdict": {
            "word": str(screening.verdict),
            "rule": screening.verdict.rule,
            "clears_from_margin": CLEARS,
            "worst_margin": rounded(worst.margin),
            "worst_test": worst.requirement,
            "worst_place": worst.place,
            "worst_copies": worst.copies,
        },
        "tests": [_test(test, screening) for test in screening.tests],
        "hot_spots": spots,
        "impact_indication": _impact(screening.impact),
        "options": options_json(screening),
        "convergence": convergence_json(screening),
        "mesh_contract": mesh_requirements_json(screening),
    }


def _test(test: "TestResult", screening: "Screening") -> Json:
    own = [k for k, spot in enumerate(screening.spots, 1) if spot in test.spots]
    worst = test.spots[0]
    return {
        "name": test.requirement.name,
        "procedure": test.requirement.procedure,
        "test": test.requirement.test,
        **_load(test.requirement),
        "cycles": rounded(test.requirement.cycles),
        "margin": rounded(worst.margin),
        "verdict": str(judge(worst.margin)),
        "place": worst.place,
        "hot_spot_ranks": own,
        "derivation": [_sourced(line) for line in test.requirement.derivation],
        "excluded": [_excluded(gone) for gone in test.excluded],
        "notes": list(test.notes),
        "warnings": list(test.warnings),
        "zones": [_zone(zone) for zone in test.zones],
        "sensitivities": [
            {
                "assumption": other.assumption.name,
                "value": rounded(other.assumption.value),
                "unit": other.assumption.unit,
                "margin": rounded(other.margin),
                "place": other.place,
            }
            for other in test.sensitivities
        ],
        "balance_misfit": rounded(test.balance, SHARE_NOISE),
    }


def _zone(zone: "Zone") -> Json:
    return {
        "zone": zone.name,
        "alloy": zone.alloy,
        "margin": rounded(zone.margin),
        **_life("life_median", zone.life_median),
        "survival": rounded(zone.survival, SHARE_NOISE),
        "place": zone.place,
    }


def _load(requirement: "Requirement") -> Json:
    key = "moment_n_mm" if requirement.test == "cornering" else "force_n"
    return {key: rounded(requirement.load)}


def _sourced(line: "Sourced") -> Json:
    value = line.value if isinstance(line.value, str) else rounded(line.value)
    return {
        "symbol": line.symbol,
        "value": value,
        "unit": line.unit,
        "clause": line.clause,
        "basis": line.basis,
    }


def _excluded(gone: "Excluded") -> Json:
    return {
        "rule": gone.rule,
        "points": gone.points,
        "highest_utilisation": rounded(gone.highest),
        "place": gone.place,
    }


def _spot(rank: int, spot: "HotSpot") -> Json:
    return {
        "rank": rank,
        "test": spot.requirement,
        "margin": rounded(spot.margin),
        "place": spot.place,
        "surface": spot.surface,
        "node": spot.node,
        "position_mm": [rounded(x, LENGTH_NOISE) for x in spot.position],
        "radius_mm": rounded(spot.radius),
        "copies": spot.copies,
        "alloy": spot.alloy,
        "amplitude_mpa": rounded(spot.amplitude, STRESS_NOISE),
        "mean_mpa": rounded(spot.mean, STRESS_NOISE),
        "equivalent_mpa": rounded(spot.equivalent, STRESS_NOISE),
        "allowable_mpa": rounded(spot.allowable),
        "von_mises_mpa": rounded(spot.von_mises, STRESS_NOISE),
        **_life("life_median", spot.life_median),
        **_life("life_at_survival", spot.life_at_survival),
        "survival": rounded(spot.survival, SHARE_NOISE),
        "margin_uncorrected": rounded(spot.margin_uncorrected),
        "support": None if spot.support is None else _support(spot.support),
        "beside": [
            {
                "criterion": other.name,
                "margin": rounded(other.margin),
                "told": other.told,
            }
            for other in spot.beside
        ],
        "stress_error": rounded(spot.stress_error, SHARE_NOISE),
        "mesh": local_mesh_json(spot),
        "audit": [_audit(line) for line in spot.audit],
    }


def _support(support: "NotchSupport") -> Json:
    return {
        "method": support.method,
        "factor": rounded(support.factor),
        "told": support.told,
    }


def _life(key: str, value: float) -> Json:
    where = life_range(value)
    number = rounded(value) if where == WITHIN else None
    return {f"{key}_cycles": number, f"{key}_range": where}


def _impact(found: "ImpactIndication | None") -> Json | None:
    if found is None:
        return None
    return {
        "warning": found.warning,
        "procedure": found.fall.procedure,
        "derivation": [_sourced(line) for line in found.fall.derivation],
        "balance_misfit": rounded(found.balance, SHARE_NOISE),
        "strikes": [
            {
                "where": strike.where,
                "wheel_stiffness_n_per_mm": rounded(strike.stiffness),
                "peak_force_n": rounded(strike.force),
                "peak_force_rigid_mounts_n": rounded(strike.force_rigid),
                "places": [
                    {
                        "place": spot.place,
                        "alloy": spot.alloy,
                        "von_mises_mpa": rounded(spot.von_mises),
                        "of_yield": rounded(spot.of_yield),
                    }
                    for spot in strike.spots
                ],
            }
            for strike in found.strikes
        ],
    }


def _audit(line: "AuditLine") -> Json:
    told = {
        "symbol": line.symbol,
        "what": line.what,
        "value": rounded(line.value, STRESS_NOISE if line.unit == "MPa" else 0.0),
        "unit": line.unit,
        "source": line.source,
    }
    if line.unit == "cycles" and life_range(line.value) != WITHIN:
        told |= {"value": None, "value_range": life_range(line.value)}
    return told


def _clean(value: Any) -> Any:
    """The same nest of values with every float rounded."""
    if isinstance(value, dict):
        return {key: _clean(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_clean(item) for item in value]
    return rounded(value) if isinstance(value, float) else value


def to_text(document: Json) -> str:
    """Text of a JSON document: sorted keys, two spaces, a newline at the end."""
    text = json.dumps(
        document, sort_keys=True, indent=2, ensure_ascii=False, allow_nan=False
    )
    return text + "\n"


def write_json(screening: "Screening", path: Path) -> Path:
    """Write the JSON of a screening, whole or not at all."""
    return write_text(path, to_text(screening_to_dict(screening)))
