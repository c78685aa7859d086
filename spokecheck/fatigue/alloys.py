"""Alloys: the data file ``alloys.toml`` read into records.

Every number of the file carries a unit, a basis and a source, and they stay with it.
"""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, partial
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from spokecheck.errors import FatigueError, Fault, InputFileError
from spokecheck.fatigue import guideline, sn_routes
from spokecheck.fatigue.alloy_form import form_faults
from spokecheck.fatigue.facts import MPA_PER_GPA, Fact, read_facts
from spokecheck.fatigue.guideline import GROUPS
from spokecheck.fatigue.mean_stress import (
    Fkm,
    Gerber,
    Goodman,
    MeanStressRoute,
    Morrow,
    Walker,
)
from spokecheck.fatigue.sn import SNLine
from spokecheck.toml_file import Failure, missing_key, parse_toml, read_text

WHAT = "alloy file"


@dataclass(frozen=True)
class Alloy:
    """An alloy in a temper, made by a process.

    Attributes
    ----------
    id, name, process, note : str
        Key of the file, full name, process and caution.
    group : Group
        Cast or wrought, with the guideline's constants.
    youngs_modulus : float
        E [MPa].
    poisson : float
        nu.
    density : float
        [t/mm3].
    rm, rp02 : float
        Tensile and 0.2 % proof strength [MPa].
    elongation : float
        At fracture, a fraction.
    shear_ratio : float
        Shear over normal fatigue strength, fully reversed.
    surface_rz : float
        Roughness Rz of the process [um].
    casting_factor : float
        Casting or section quality on the S-N amplitude.
    sn : SNLine
        S-N line at R = -1.
    mean_stress : MeanStressRoute
        Mean-stress route.
    tested_ratios : tuple of float or None
        Stress ratios behind the mean-stress route, if a test stands behind it.
    facts : mapping of str to Fact
        Every number, by dotted key.
    """

    id: str
    name: str
    process: str
    note: str
    group: guideline.Group
    youngs_modulus: float
    poisson: float
    density: float
    rm: float
    rp02: float
    elongation: float
    shear_ratio: float
    surface_rz: float
    casting_factor: float
    sn: SNLine
    mean_stress: MeanStressRoute
    tested_ratios: tuple[float, float] | None
    facts: Mapping[str, Fact]


NUMBERS = (
    "youngs_modulus",
    "poisson",
    "density",
    "rm",
    "rp02",
    "elongation",
    "shear_ratio",
    "surface_rz",
    "casting_factor",
)
"""Numbers that stand directly below an alloy."""

ESTIMATE_FROM = 1.0e4
"""First cycle at which the estimated line may be read: below it strain, not stress,
decides (common practice)."""

SN_ROUTES = {
    "basquin": "sn.sigma_f",
    "equivalent-stress": "sn.intercept",
    "log-life": "sn.intercept",
    "fkm-estimate": "rm",
    "two-points": "sn.amplitude_1",
}
"""S-N routes, and the number whose basis and source the line takes."""

MEAN_ROUTES = {
    "fkm": "mean_stress.b",
    "gerber": "rm",
    "goodman": "rm",
    "morrow": "mean_stress.fracture",
    "walker": "mean_stress.gamma",
}
"""Mean-stress routes, and the number whose source they take."""


def read_alloys(path: Path | None = None) -> Mapping[str, Alloy]:
    """Alloys of a data file, by id.

    Parameters
    ----------
    path : Path, optional
        A file of the same form; the one of this package if not given.

    Returns
    -------
    mapping of str to Alloy
        In the order of the file.

    Raises
    ------
    InputFileError
        With every fault of the file: unreadable, a number without unit, basis or
        source, a missing key, an unknown group or route.

    Examples
    --------
    >>> sorted(read_alloys())[0]
    '6061-t6-forged'
    """
    if path is None:
        return _own_alloys()
    failure = partial(InputFileError, str(path), what=WHAT)
    return _read(read_text(path, failure), failure)


def alloy(alloy_id: str) -> Alloy:
    """One alloy of the package by id.

    Raises
    ------
    FatigueError
        If there is none; the message names the closest and lists all.
    """
    alloys = read_alloys()
    if alloy_id in alloys:
        return alloys[alloy_id]
    close = difflib.get_close_matches(alloy_id.lower(), alloys, n=1, cutoff=0.4)
    hint = f"did you mean {close[0]}? " if close else ""
    raise FatigueError(
        f"alloy {alloy_id}: unknown; {hint}choose one of {', '.join(alloys)}"
    )


def with_estimated_line(metal: Alloy) -> Alloy:
    """The same alloy with the guideline's S-N line, estimated from its strength alone.

    A second opinion where the alloy's own line rests on bars unlike the part.

    Parameters
    ----------
    metal : Alloy
        Any alloy; its scatter is kept.

    Returns
    -------
    Alloy

    Examples
    --------
    >>> line = with_estimated_line(alloy("6061-t6-forged")).sn
    >>> round(float(line.amplitude(1.0e6, 0.975)), 1)
    78.6
    """
    provenance = sn_routes.Provenance(
        cycles_min=ESTIMATE_FROM,
        cycles_max=guideline.LIMIT_CYCLES,
        tested=None,
        log_life_std=metal.sn.log_life_std,
        basis=f"estimated, {metal.group.strength_ratio:g} Rm, no test",
        source=guideline.SOURCE,
    )
    line = sn_routes.fkm_estimate(metal.rm, metal.group.strength_ratio, provenance)
    return replace(metal, sn=line)


@cache
def _own_alloys() -> Mapping[str, Alloy]:
    file = resources.files("spokecheck.fatigue").joinpath("alloys.toml")
    failure = partial(InputFileError, "alloys.toml", what=WHAT)
    return _read(file.read_text(encoding="utf-8"), failure)


def _read(text: str, failure: Failure) -> Mapping[str, Alloy]:
    """Alloys of a text, or all its faults in one error."""
    tables = parse_toml(text, failure)
    malformed = form_faults(tables)
    if malformed:
        raise failure(malformed)
    sources = tables.get("sources", {})
    alloys, faults = {}, []
    for key, entry in tables.get("alloy", {}).items():
        facts, its_faults = read_facts(entry, sources, key)
        its_faults += _choice_faults(key, entry)
        faults += its_faults
        if its_faults:
            continue
        try:
            alloys[key] = _alloy(key, entry, facts)
        except KeyError as error:
            faults.append(missing_key(f"{key}.{error.args[0]}"))
        except FatigueError as error:
            faults.append(Fault(key, "", str(error), "correct the table"))
        except (ArithmeticError, ValueError) as error:
            limit = f"its numbers make no S-N line or mean-stress route ({error})"
            faults.append(Fault(key, "", limit, "correct the table"))
    if faults:
        raise failure(faults)
    return MappingProxyType(alloys)


def _choice_faults(key: str, entry: Mapping[str, Any]) -> list[Fault]:
    """Faults of the keys that take one of a few words, where they are given."""
    choices = (
        ("group", entry, "group", GROUPS),
        ("sn.route", entry.get("sn", {}), "route", SN_ROUTES),
        ("mean_stress.route", entry.get("mean_stress", {}), "route", MEAN_ROUTES),
    )
    return [
        Fault(f"{key}.{place}", str(table[name]), "unknown", f"use {', '.join(words)}")
        for place, table, name, words in choices
        if name in table and table[name] not in words
    ]


def _alloy(key: str, entry: Mapping[str, Any], facts: Mapping[str, Fact]) -> Alloy:
    group = GROUPS[entry["group"]]
    return Alloy(
        id=key,
        name=entry["name"],
        process=entry["process"],
        note=entry["note"],
        group=group,
        sn=_line(entry["sn"], facts, group),
        mean_stress=_mean_stress(entry["mean_stress"], facts),
        tested_ratios=_pair(facts, "mean_stress.ratio_min", "mean_stress.ratio_max"),
        facts=facts,
        **{name: facts[name].inside for name in NUMBERS},
    )


def _pair(facts: Mapping[str, Fact], low: str, high: str) -> tuple[float, float] | None:
    """Two limits that are given together, or not at all."""
    if low not in facts and high not in facts:
        return None
    return facts[low].inside, facts[high].inside


def _line(
    table: Mapping[str, Any], facts: Mapping[str, Fact], group: guideline.Group
) -> SNLine:
    """S-N line of an alloy by its route."""

    def number(name: str) -> float:
        return facts[f"sn.{name}"].inside

    route = table["route"]
    lead = facts[SN_ROUTES[route]]
    provenance = sn_routes.Provenance(
        cycles_min=number("cycles_min"),
        cycles_max=number("cycles_max"),
        tested=_pair(facts, "sn.tested_min", "sn.tested_max"),
        log_life_std=number("log_life_std"),
        basis=lead.basis,
        source=lead.source,
    )
    if route == "basquin":
        return sn_routes.from_basquin(number("sigma_f"), number("b"), provenance)
    if route == "equivalent-stress":
        return sn_routes.from_equivalent_stress(
            number("intercept"), number("exponent"), number("walker"), provenance
        )
    if route == "log-life":
        return sn_routes.from_log_life(
            number("intercept"), number("exponent"), provenance
        )
    if route == "two-points":
        return sn_routes.through(
            (number("cycles_1"), number("amplitude_1")),
            (number("cycles_2"), number("amplitude_2")),
            provenance,
        )
    return sn_routes.fkm_estimate(facts["rm"].inside, group.strength_ratio, provenance)


def _mean_stress(
    table: Mapping[str, Any], facts: Mapping[str, Fact]
) -> MeanStressRoute:
    """Mean-stress route of an alloy."""
    route = table["route"]
    credit = bool(table["credit_compression"])
    lead, rm = facts[MEAN_ROUTES[route]], facts["rm"].inside
    if route == "fkm":
        # M = a Rm + b, with Rm in GPa
        M = facts["mean_stress.a"].inside * rm / MPA_PER_GPA + lead.inside
        return Fkm(credit_compression=credit, source=lead.source, sensitivity=M)
    if route == "goodman":
        return Goodman(credit_compression=credit, source=lead.source, rm=rm)
    if route == "gerber":
        return Gerber(credit_compression=credit, source=lead.source, rm=rm)
    if route == "morrow":
        return Morrow(
            credit_compression=credit, source=lead.source, fracture=lead.inside
        )
    return Walker(credit_compression=credit, source=lead.source, gamma=lead.inside)
