"""Test procedures as data: every factor with its clause and its basis."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

import numpy as np

from spokecheck.errors import InputError
from spokecheck.units import MM_PER_METRE, STANDARD_GRAVITY
from spokecheck.wheel.design import Design

Test = Literal["cornering", "radial"]


@dataclass(frozen=True)
class Sourced:
    """A number with where it comes from.

    Attributes
    ----------
    symbol : str
        Letter in the formula, or a short name.
    value : float or str
    unit : str
    clause : str
        Clause of the procedure, or key of the design file.
    basis : str
        How well it is known: seen, secondary digest, from memory, common practice.
    """

    symbol: str
    value: float | str
    unit: str
    clause: str
    basis: str


@dataclass(frozen=True)
class Requirement:
    """One test at one level: its load, its cycles, and how both were derived.

    Attributes
    ----------
    test : str
        ``cornering`` or ``radial``.
    name : str
        Such as ``cornering 75 %``.
    load : float
        Moment [N mm] or radial force [N].
    cycles : float
        Required load cycles (revolutions).
    derivation : tuple of Sourced
        Every number from the design and the clause to load and cycles.
    """

    test: Test
    name: str
    load: float
    cycles: float
    derivation: tuple[Sourced, ...]


@cache
def _tables() -> dict[str, Any]:
    text = files("spokecheck.cases").joinpath("procedures.toml").read_text("utf-8")
    return tomllib.loads(text)


def procedure_names() -> tuple[str, ...]:
    """Identifiers of the procedures there are."""
    return tuple(_tables())


def requirements(design: Design, procedure: str = "un-r124") -> list[Requirement]:
    """Loads and cycles that a procedure asks of a design.

    Parameters
    ----------
    design : Design
        The wheel's duty and inset are used.
    procedure : str
        Identifier, see ``procedure_names``.

    Returns
    -------
    list of Requirement
        Cornering levels first, then the radial test.

    Raises
    ------
    InputError
        If the procedure is unknown.
    """
    if procedure not in _tables():
        raise InputError(
            f"procedure {procedure}: unknown; choose {', '.join(procedure_names())}"
        )
    table = _tables()[procedure]
    return [
        *_cornering(design, table["cornering"]),
        _radial(design, table["radial"]),
    ]


def _entry(symbol: str, raw: dict[str, Any]) -> Sourced:
    return Sourced(
        symbol, raw["value"], raw.get("unit", ""), raw["clause"], raw["basis"]
    )


def _wheel_load(design: Design) -> Sourced:
    return Sourced(
        "F_V",
        design.duty.rating_kg * STANDARD_GRAVITY,
        "N",
        "duty.rating_kg",
        f"{design.duty.rating_kg:g} kg times {STANDARD_GRAVITY} m/s^2",
    )


def _radius(design: Design) -> Sourced:
    given = design.duty.dynamic_radius_mm is not None
    basis = "given" if given else "3.05 D_o / (2 pi), ETRTO convention from memory"
    key = "duty.dynamic_radius_mm" if given else "duty.tyre"
    return Sourced("r_dyn", design.dynamic_radius, "mm", key, basis)


def _cornering(design: Design, table: dict[str, Any]) -> list[Requirement]:
    """Moment ``M = S F_V (mu r_dyn + d)``; inset d counts positive."""
    factor, friction = (_entry(s, table[k]) for s, k in _FACTORS)
    load, radius = _wheel_load(design), _radius(design)
    inset = Sourced("d", design.rim.inset_mm, "mm", "rim.inset_mm", "given")
    arm = float(friction.value) * float(radius.value) + float(inset.value)
    greatest = float(factor.value) * float(load.value) * arm
    top = Sourced("M_max", greatest, "N mm", table["moment"], "formula")
    found = []
    for level in table["level"]:
        share = _entry("share", level["share"])
        cycles = _entry("cycles", level["cycles"][design.duty.category])
        moment = greatest * float(share.value)
        lines = (load, radius, inset, friction, factor, top, share)
        result = Sourced("M", moment, "N mm", "share of M_max", "formula")
        found.append(
            Requirement(
                "cornering",
                f"cornering {level['name']}",
                moment,
                float(cycles.value),
                (*lines, result, cycles),
            )
        )
    return found


_FACTORS = (("S", "load_factor"), ("mu", "friction"))


def _radial(design: Design, table: dict[str, Any]) -> Requirement:
    """Drum load ``F_P = S F_V`` over a distance, counted in revolutions."""
    factor = _entry("S", table["load_factor"][design.duty.category])
    distance = _entry("distance", table["distance"])
    load, radius = _wheel_load(design), _radius(design)
    force = float(factor.value) * float(load.value)
    length = float(distance.value) * 1000.0 * MM_PER_METRE
    turns = length / (2.0 * np.pi * float(radius.value))
    lines = (
        load,
        factor,
        Sourced("F_P", force, "N", table["load"], "formula"),
        radius,
        distance,
        Sourced("cycles", turns, "revolutions", "distance / (2 pi r_dyn)", "formula"),
    )
    return Requirement("radial", "radial", force, float(turns), lines)
