"""Alloys: the data file ``alloys.toml`` read into records.

Every number of the file carries a unit, a basis and a source, and they stay with it.
"""

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from spokecheck.errors import FatigueError
from spokecheck.fatigue import guideline, sn_routes
from spokecheck.fatigue.facts import MPA_PER_GPA, Fact, read_facts
from spokecheck.fatigue.mean_stress import Fkm, MeanStressRoute, Walker
from spokecheck.fatigue.sn import SNLine


@dataclass(frozen=True)
class Alloy:
    """An alloy in a temper, made by a process.

    Attributes
    ----------
    id, name, process, note : str
        Key of the file, full name, process, and what to bear in mind.
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
}
"""S-N routes, and the number whose basis and source stand for the line."""


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
    FatigueError
        If the file cannot be read, or a number lacks unit, basis or source.

    Examples
    --------
    >>> sorted(read_alloys())[0]
    '6061-t6-forged'
    """
    if path is None:
        return _own_alloys()
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise FatigueError(
            f"alloy file {path}: cannot be read ({error.strerror}); check the path"
        ) from error
    return _parsed(text, str(path))


def alloy(alloy_id: str) -> Alloy:
    """One alloy of the package by id.

    Raises
    ------
    FatigueError
        If there is none; the message names the closest and lists all.
    """
    known = read_alloys()
    if alloy_id in known:
        return known[alloy_id]
    close = difflib.get_close_matches(alloy_id.lower(), known, n=1, cutoff=0.4)
    hint = f"did you mean {close[0]}? " if close else ""
    raise FatigueError(f"alloy {alloy_id}: unknown; {hint}known are {', '.join(known)}")


def with_estimated_line(known: Alloy) -> Alloy:
    """The same alloy with the guideline's S-N line, estimated from its strength alone.

    A second opinion where the alloy's own line rests on bars unlike the part.

    Parameters
    ----------
    known : Alloy
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
    told = sn_routes.Provenance(
        cycles_min=ESTIMATE_FROM,
        cycles_max=guideline.LIMIT_CYCLES,
        tested=None,
        log_life_std=known.sn.log_life_std,
        basis=f"estimated, {known.group.strength_ratio:g} Rm, no test",
        source=guideline.SOURCE,
    )
    line = sn_routes.fkm_estimate(known.rm, known.group.strength_ratio, told)
    return replace(known, sn=line)


@cache
def _own_alloys() -> Mapping[str, Alloy]:
    file = resources.files("spokecheck.fatigue").joinpath("alloys.toml")
    return _parsed(file.read_text(encoding="utf-8"), "alloys.toml")


def _parsed(text: str, where: str) -> Mapping[str, Alloy]:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FatigueError(f"alloy file {where}: not TOML ({error})") from error
    sources = data.get("sources", {})
    entries = data.get("alloy", {})
    return MappingProxyType(
        {key: _alloy(key, entry, sources, where) for key, entry in entries.items()}
    )


def _alloy(
    key: str, entry: dict[str, Any], sources: Mapping[str, str], where: str
) -> Alloy:
    place = f"file {where}, alloy {key}"
    facts = read_facts(entry, sources, place)
    try:
        numbers = {name: facts[name].inside for name in NUMBERS}
        group = guideline.group(entry["group"])
        mean_route, ratios = _mean_stress(entry["mean_stress"], facts, place)
        return Alloy(
            id=key,
            name=entry["name"],
            process=entry["process"],
            note=entry["note"],
            group=group,
            sn=_line(entry["sn"], facts, group, place),
            mean_stress=mean_route,
            tested_ratios=ratios,
            facts=facts,
            **numbers,
        )
    except KeyError as error:
        raise FatigueError(f"{error.args[0]}: missing ({place}); add it") from error


def _line(
    table: dict[str, Any],
    facts: Mapping[str, Fact],
    group: guideline.Group,
    place: str,
) -> SNLine:
    """S-N line of an alloy by its route."""
    route = table["route"]
    if route not in SN_ROUTES:
        raise FatigueError(
            f"S-N route {route}: unknown ({place}); use one of {', '.join(SN_ROUTES)}"
        )

    def number(name: str) -> float:
        return facts[f"sn.{name}"].inside

    tested = None
    if "tested_min" in table:
        tested = (number("tested_min"), number("tested_max"))
    lead = SN_ROUTES[route]
    told = sn_routes.Provenance(
        cycles_min=number("cycles_min"),
        cycles_max=number("cycles_max"),
        tested=tested,
        log_life_std=number("log_life_std"),
        basis=facts[lead].basis,
        source=facts[lead].source,
    )
    if route == "basquin":
        return sn_routes.from_basquin(number("sigma_f"), number("b"), told)
    if route == "equivalent-stress":
        return sn_routes.from_equivalent_stress(
            number("intercept"), number("exponent"), number("walker"), told
        )
    if route == "log-life":
        return sn_routes.from_log_life(number("intercept"), number("exponent"), told)
    return sn_routes.fkm_estimate(facts["rm"].inside, group.strength_ratio, told)


def _mean_stress(
    table: dict[str, Any], facts: Mapping[str, Fact], place: str
) -> tuple[MeanStressRoute, tuple[float, float] | None]:
    """Mean-stress route of an alloy, and the stress ratios tested for it."""
    credit = bool(table["credit_compression"])
    ratios = None
    if "ratio_min" in table:
        low, high = (facts[f"mean_stress.ratio_{end}"] for end in ("min", "max"))
        ratios = (low.inside, high.inside)
    route = table["route"]
    if route == "walker":
        gamma = facts["mean_stress.gamma"].inside
        return Walker(credit_compression=credit, gamma=gamma), ratios
    if route == "fkm":
        a, b = (facts[f"mean_stress.{name}"].inside for name in ("a", "b"))
        sensitivity = a * facts["rm"].inside / MPA_PER_GPA + b
        return Fkm(credit_compression=credit, sensitivity=sensitivity), ratios
    raise FatigueError(
        f"mean-stress route {route}: unknown ({place}); use walker or fkm"
    )
