"""What the tests of a procedure ask of a design: loads and cycles, with derivation."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from spokecheck.cases.cornering import ARM_LENGTH
from spokecheck.cases.library import Book, chosen, read_procedures
from spokecheck.cases.radial import flange_force
from spokecheck.cases.schema import (
    UNSURE,
    CorneringLevel,
    CorneringTest,
    Procedure,
    RadialLevel,
    RadialTest,
    Row,
    pick,
)
from spokecheck.cases.sourced import Sourced
from spokecheck.cases.tyre_patch import SOURCE as PATCH_SOURCE
from spokecheck.errors import InputError
from spokecheck.fatigue.alloys import alloy
from spokecheck.units import (
    METRES_PER_KM,
    MM_PER_METRE,
    MPA_PER_KPA,
    SECONDS_PER_HOUR,
    STANDARD_GRAVITY,
)
from spokecheck.wheel.tables.design import Brief
from spokecheck.wheel.tables.sizes import parse_rim_size

Test = Literal["cornering", "radial"]


@dataclass(frozen=True)
class Setup:
    """How a wheel is held and steadily loaded: tests that share it share a solution.

    Attributes
    ----------
    test : str
        ``cornering`` or ``radial``.
    clamped : str
        Flange clamped in the cornering test, else empty.
    pressure : float
        Inflation [MPa]; 0 in the cornering test.
    spin : float
        Turning speed of the wheel [rad/s]; 0 leaves the centrifugal load out.
    """

    test: Test
    clamped: str = ""
    pressure: float = 0.0
    spin: float = 0.0


@dataclass(frozen=True)
class Requirement:
    """One test at one level: its load, its cycles, and how both were derived.

    Attributes
    ----------
    procedure : str
        Identifier of the procedure.
    name : str
        Such as ``cornering 75 %``; with several procedures theirs stands before it.
    setup : Setup
        How the wheel is held.
    load : float
        Moment [N mm] or radial force [N].
    cycles : float
        Required load cycles (revolutions).
    derivation : tuple of Sourced
        Every number from the design and the clause to load and cycles.
    """

    procedure: str
    name: str
    setup: Setup
    load: float
    cycles: float
    derivation: tuple[Sourced, ...]

    @property
    def test(self) -> Test:
        """``cornering`` or ``radial``."""
        return self.setup.test

    @property
    def doubts(self) -> tuple[str, ...]:
        """Symbols of the numbers whose basis is unsure."""
        return tuple(s.symbol for s in self.derivation if UNSURE in s.basis)


def requirements(
    design: Brief, procedures: Sequence[str] = (), book: Book | None = None
) -> list[Requirement]:
    """Loads and cycles that procedures ask of a design.

    Parameters
    ----------
    design : Brief
        The wheel's duty, inset and alloy are used.
    procedures : sequence of str
        Identifiers; those the design names if none is given.
    book : mapping of str to Procedure, optional
        Where to look them up; those of the package if not given.

    Returns
    -------
    list of Requirement
        By procedure: cornering levels first, then the radial test.

    Raises
    ------
    InputError
        If a procedure is unknown, does not cover the vehicle category or the material,
        or lacks a number that is needed: nothing stands in for one.
    """
    names = tuple(procedures) or design.duty.procedures
    asked = chosen(names, read_procedures() if book is None else book)
    derived = []
    for name, procedure in asked.items():
        own = _Derivation(design, name, procedure).requirements()
        if len(asked) > 1:
            own = [replace(test, name=f"{name} {test.name}") for test in own]
        derived += own
    return derived


@dataclass(frozen=True)
class _Derivation:
    """One procedure asked for one design."""

    design: Brief
    name: str
    procedure: Procedure

    def requirements(self) -> list[Requirement]:
        """All tests the design asks for.

        Raises
        ------
        InputError
            If the procedure does not answer.
        """
        category = self.design.duty.category
        if category not in self.procedure.covers:
            raise InputError(
                f"duty.category = {category}: {self.name} covers "
                f"{', '.join(self.procedure.covers)}; choose another procedure"
            )
        derived = []
        for test in dict.fromkeys(self.design.duty.tests):
            part = getattr(self.procedure, test)
            if part is None or not part.level:
                raise InputError(self._no_test(test))
            derive = self._cornering if test == "cornering" else self._radial
            derived += [derive(part, level) for level in part.level]
        return derived

    def _no_test(self, test: str) -> str:
        others = [t for t in ("cornering", "radial") if t != test]
        return (
            f"{self.name}, {test} test: its numbers are not at hand, so no load can be "
            f'derived; choose another procedure, leave the test out (tests = ["'
            f'{others[0]}"] in [duty]), or extend this one in a file of your own '
            "(--procedure-file)"
        )

    def _pick(self, rows: tuple[Row, ...], what: str) -> Row:
        group = alloy(self.design.material.alloy).group.name
        materials = frozenset({"light-alloy", group})
        where = f"{self.name}, {what}"
        return pick(rows, self.design.duty.category, materials, where)

    def _row(self, symbol: str, rows: tuple[Row, ...], what: str) -> Sourced:
        row = self._pick(rows, what)
        return Sourced(symbol, row.value, row.unit, row.clause, row.stated_basis)

    def _load(self) -> Sourced:
        """Load that the factors multiply."""
        base, duty = self.procedure.load_base, self.design.duty
        mass, symbol, key = duty.rating_kg, "F_V", "duty.rating_kg"
        basis = f"{base.value}: {base.stated_basis}"
        if base.value == "half axle load":
            symbol = "W"
            if duty.axle_load_kg is None:
                basis += "; the wheel's rating is taken, as no axle load is given"
            else:
                mass, key = duty.axle_load_kg / 2.0, "duty.axle_load_kg"
        basis = f"{mass:g} kg times {STANDARD_GRAVITY} m/s^2; {basis}"
        return Sourced(symbol, mass * STANDARD_GRAVITY, "N", key, basis)

    def _lever(self, test: CorneringTest) -> Sourced:
        """Radius of the tyre that the procedure asks for."""
        if test.radius.value == "dynamic":
            return _dynamic_radius(self.design, test.radius.stated_basis)
        given = self.design.duty.loaded_radius_mm is not None
        basis = "given" if given else f"0.935 times the free radius, {UNSURE}: a rule "
        basis += "" if given else "of thumb (0.92 to 0.95), from memory"
        key = "duty.loaded_radius_mm" if given else "duty.tyre"
        basis = f"{basis}; {test.radius.stated_basis}"
        return Sourced("r_stat", self.design.loaded_radius, "mm", key, basis)

    def _cornering(self, test: CorneringTest, level: CorneringLevel) -> Requirement:
        """Moment ``M = S F (mu r + d)``, times a share; inset d counts positive."""
        load, radius = self._load(), self._lever(test)
        inset = Sourced("d", self.design.rim.inset_mm, "mm", "rim.inset_mm", "given")
        friction = self._row("mu", test.friction, "friction coefficient")
        factor = self._row("S", level.load_factor, "cornering factor S")
        cycles = self._row("cycles", level.cycles, "cornering cycles")
        arm = float(friction.value) * float(radius.value) + float(inset.value)
        moment = float(factor.value) * float(load.value) * arm
        formula = f"S {load.symbol} (mu {radius.symbol} + d)"
        lines = [load, radius, inset, friction, factor]
        if level.share:
            share = self._row("share", level.share, "share of the greatest moment")
            lines += [Sourced("M_max", moment, "N mm", formula, "formula"), share]
            moment, formula = moment * float(share.value), "share M_max"
        lines.append(Sourced("M", moment, "N mm", formula, "formula"))
        held = self._held(test)
        arm_length = Sourced(
            "L", ARM_LENGTH, "mm", "load arm, brings shear M / L", "common practice"
        )
        return Requirement(
            self.name,
            f"cornering {level.name}",
            Setup("cornering", clamped=str(held.value)),
            moment,
            float(cycles.value),
            (*lines, cycles, held, arm_length),
        )

    def _held(self, test: CorneringTest) -> Sourced:
        """Rim flange that is clamped: the design's choice, or the procedure's."""
        given, side = self.design.duty.clamped_flange, test.clamped_flange
        if given is not None:
            basis = f"given; the procedure has {side.value}"
            return Sourced("flange", given, "", "duty.clamped_flange", basis)
        return Sourced("flange", side.value, "", side.clause, side.stated_basis)

    def _radial(self, test: RadialTest, level: RadialLevel) -> Requirement:
        """Drum load ``F_P = S F``; its amount counted in revolutions."""
        load, radius = self._load(), _dynamic_radius(self.design, "rolling on the drum")
        factor = self._row("S", level.load_factor, "drum load factor")
        force = float(factor.value) * float(load.value)
        lines = [
            load,
            factor,
            Sourced("F_P", force, "N", f"S {load.symbol}", "formula"),
        ]
        if level.distance:
            amount = self._row("distance", level.distance, "distance")
            length = float(amount.value) * METRES_PER_KM * MM_PER_METRE
            turns = float(length / (2.0 * np.pi * float(radius.value)))
            clause = f"distance / (2 pi {radius.symbol})"
            cycles = Sourced("cycles", turns, "revolutions", clause, "formula")
            lines += [radius, amount, cycles]
        else:
            cycles = self._row("cycles", level.revolutions, "revolutions")
            lines.append(cycles)
        pressure, spin = self._pressure(test), _spin(self.design, radius)
        lines += [pressure, _sidewall(self.design, pressure), *_bead(self.design)]
        if spin and radius not in lines:
            lines.append(radius)
        lines += spin
        return Requirement(
            self.name,
            f"radial {level.name}".rstrip(),
            Setup(
                "radial",
                pressure=float(pressure.value) * MPA_PER_KPA,
                spin=float(spin[-1].value) if spin else 0.0,
            ),
            force,
            float(cycles.value),
            tuple(lines),
        )

    def _pressure(self, test: RadialTest) -> Sourced:
        given = self.design.duty.pressure_kpa
        if given is not None:
            return Sourced("p", given, "kPa", "duty.pressure_kpa", "given")
        if not test.pressure:
            raise InputError(
                f"{self.name}, inflation pressure: has no value; give "
                "duty.pressure_kpa in the design file"
            )
        return self._row("p", test.pressure, "inflation pressure")


def _dynamic_radius(design: Brief, use: str) -> Sourced:
    given = design.duty.dynamic_radius_mm is not None
    basis = "given" if given else "3.05 D_o / (2 pi), ETRTO convention from memory"
    key = "duty.dynamic_radius_mm" if given else "duty.tyre"
    return Sourced("r_dyn", design.dynamic_radius, "mm", key, f"{basis}; {use}")


def _sidewall(design: Brief, pressure: Sourced) -> Sourced:
    """Force per length with which the inflated tyre pushes each flange outward."""
    seat = parse_rim_size(design.rim.size).diameter / 2.0
    inside = float(pressure.value) * MPA_PER_KPA
    return Sourced(
        "T_f",
        flange_force(inside, design.free_radius, seat),
        "N/mm",
        f"p (a_t^2 - r_f^2) / (4 r_f), a_t = {design.free_radius:g}, r_f = {seat:g} mm",
        "half of the sidewall's pull, form from memory; a membrane balance agrees "
        "within 10 %",
    )


def _bead(design: Brief) -> list[Sourced]:
    """How the drum load reaches the bead seats."""
    duty = design.duty
    half = (
        "one half for straight rolling without camber, common practice; from memory, "
        "and on a student team's page"
    )
    return [
        Sourced("q_in", duty.inboard_share, "-", "duty.inboard_share", half),
        Sourced(
            "theta_0",
            duty.patch_half_angle_deg,
            "deg",
            "duty.patch_half_angle_deg",
            design.basis("duty.patch_half_angle_deg", PATCH_SOURCE),
        ),
    ]


def _spin(design: Brief, radius: Sourced) -> list[Sourced]:
    """Turning speed of the wheel on the drum; nothing unless a speed is given."""
    speed = design.duty.speed_kmh
    if speed is None:
        return []
    spin = speed * METRES_PER_KM * MM_PER_METRE / SECONDS_PER_HOUR / float(radius.value)
    return [
        Sourced("v", speed, "km/h", "duty.speed_kmh", "given"),
        Sourced("omega", spin, "rad/s", f"v / {radius.symbol}", "formula"),
    ]
