"""Records of a test procedure: the form of ``procedures.toml``.

Every number is a row with its clause and its basis; a row may hold for some vehicle
categories or materials only.
A number without a source is absent: asking for it raises, there is no default.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from spokecheck.errors import InputError

Category = Literal["M1", "M1G", "N1", "O1", "O2"]
MaterialClass = Literal["light-alloy", "cast", "wrought", "cold-formed", "steel"]

UNSURE = "unsure"
"""This word in a basis marks a number that must be checked against the document."""


class ProcedureTable(BaseModel):
    """A table of the file: no unknown key, no later change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Row(ProcedureTable):
    """A number with where it comes from and for whom it holds."""

    value: float = Field(gt=0, strict=True)
    unit: str = "-"
    clause: str = Field(min_length=1)
    basis: str = Field(min_length=1)
    note: str = ""
    categories: tuple[Category, ...] = ()
    materials: tuple[MaterialClass, ...] = ()

    def holds_for(self, category: str, materials: frozenset[str]) -> bool:
        """Whether the row holds for a category and one of the material classes."""
        fits = not self.categories or category in self.categories
        return fits and (not self.materials or bool(materials & set(self.materials)))

    @property
    def stated_basis(self) -> str:
        """Basis, with the note behind it."""
        return f"{self.basis}; {self.note}" if self.note else self.basis


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, dict) else value


Rows = Annotated[tuple[Row, ...], BeforeValidator(_as_list)]
"""One row, or one for each group of categories and materials."""


class Word(ProcedureTable):
    """A statement with where it comes from."""

    value: str = Field(min_length=1)
    clause: str = Field(min_length=1)
    basis: str = Field(min_length=1)
    note: str = ""

    @property
    def stated_basis(self) -> str:
        """Basis, with the note behind it."""
        return f"{self.basis}; {self.note}" if self.note else self.basis


class LoadBase(Word):
    """Which load of the wheel the factors multiply."""

    value: Literal["wheel rating", "half axle load"]


class RadiusKind(Word):
    """Which radius of the tyre is the lever of the side force."""

    value: Literal["dynamic", "static loaded"]


class Side(Word):
    """Which rim flange is clamped."""

    value: Literal["inboard", "outboard"]


class CorneringLevel(ProcedureTable):
    """One level of the cornering test."""

    name: str = Field(min_length=1)
    load_factor: Rows
    share: Rows = ()
    cycles: Rows


class CorneringTest(ProcedureTable):
    """The cornering fatigue test."""

    moment: Literal["S F (mu r + d)"]
    friction: Rows
    radius: RadiusKind
    clamped_flange: Side
    level: tuple[CorneringLevel, ...] = ()


class RadialLevel(ProcedureTable):
    """One level of the radial test; its amount is a distance or a count."""

    name: str = ""
    load_factor: Rows
    distance: Rows = ()
    revolutions: Rows = ()

    @model_validator(mode="after")
    def _one_amount(self) -> "RadialLevel":
        if bool(self.distance) == bool(self.revolutions):
            raise ValueError("give either distance or revolutions")
        return self


class RadialTest(ProcedureTable):
    """The radial fatigue test on the drum."""

    load: Literal["S F"]
    pressure: Rows = ()
    level: tuple[RadialLevel, ...] = ()


class ImpactTest(ProcedureTable):
    """The 13-degree impact test; figures of the drop, not of pass or fail."""

    mass_share: Rows
    mass_constant: Rows
    drop_height: Rows
    angle: Rows
    striker_width: Rows
    overlap: Rows
    mount_deflection: Rows
    mount_mass: Rows


class Procedure(ProcedureTable):
    """A test procedure."""

    title: str = Field(min_length=1)
    scope: str = Field(min_length=1)
    covers: tuple[Category, ...] = Field(min_length=1)
    load_base: LoadBase
    cornering: CorneringTest | None = None
    radial: RadialTest | None = None
    impact: ImpactTest | None = None
    setup: tuple[Word, ...] = ()
    criteria: tuple[Word, ...] = ()
    notes: tuple[str, ...] = ()


def pick(
    rows: tuple[Row, ...], category: str, materials: frozenset[str], what: str
) -> Row:
    """The one row that holds for a category and a material.

    Parameters
    ----------
    rows : tuple of Row
        Candidates.
    category : str
        Vehicle category.
    materials : frozenset of str
        Classes the wheel's material belongs to.
    what : str
        Names the procedure and the number in messages.

    Returns
    -------
    Row

    Raises
    ------
    InputError
        If none holds, or several do.
    """
    fitting = [row for row in rows if row.holds_for(category, materials)]
    who = f"category {category}, material {' or '.join(sorted(materials))}"
    if not fitting:
        reason = "for others only" if rows else "at all: no source is at hand"
        raise InputError(
            f"{what}: has no value for {who} (it is given {reason}); choose another "
            "procedure, or extend this one in a file of your own (--procedure-file)"
        )
    if len(fitting) > 1:
        values = ", ".join(f"{row.value:g}" for row in fitting)
        raise InputError(
            f"{what}: has several values for {who} ({values}); narrow their "
            "categories or materials"
        )
    return fitting[0]
