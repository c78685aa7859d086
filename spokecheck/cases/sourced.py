"""A number of a derivation, with where it comes from."""

from dataclasses import dataclass


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
        Clause of the procedure, key of the design file, or formula.
    basis : str
        Kind of source: seen, secondary digest, from memory, common practice.
    """

    symbol: str
    value: float | str
    unit: str
    clause: str
    basis: str
