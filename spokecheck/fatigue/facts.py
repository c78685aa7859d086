"""Numbers of a data file, each with its unit, its basis and its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from spokecheck.errors import FatigueError

MPA_PER_GPA = 1.0e3
T_MM3_PER_KG_M3 = 1.0e-12

TO_INSIDE = {"GPa": MPA_PER_GPA, "kg/m3": T_MM3_PER_KG_M3, "%": 0.01, "1/GPa": 1.0}
"""Multipliers from the units of the file to those of the package; others stay."""


@dataclass(frozen=True)
class Fact:
    """One number of the alloy file.

    Attributes
    ----------
    key : str
        Dotted key below the alloy, such as ``sn.exponent``.
    value : float
        As printed in the source.
    unit, basis, source : str
        Unit of `value`, kind of number, full citation.
    """

    key: str
    value: float
    unit: str
    basis: str
    source: str

    @property
    def inside(self) -> float:
        """Value in the package's units (MPa, t/mm3, fractions)."""
        return self.value * TO_INSIDE.get(self.unit, 1.0)


def read_facts(
    entry: dict[str, Any], sources: Mapping[str, str], place: str
) -> Mapping[str, Fact]:
    """Every number of an alloy, in the order of the file.

    Parameters
    ----------
    entry : dict
        An alloy's table, with tables ``sn`` and ``mean_stress``.
    sources : mapping of str to str
        Full citation of each source key.
    place : str
        File and alloy, for messages.

    Returns
    -------
    mapping of str to Fact
        By dotted key.

    Raises
    ------
    FatigueError
        If a number lacks value, unit, basis or source.
    """
    found: dict[str, Fact] = {}
    tables = [("", entry)]
    tables += [(f"{name}.", entry[name]) for name in ("sn", "mean_stress")]
    for prefix, table in tables:
        for name, cell in table.items():
            key = prefix + name
            if isinstance(cell, int | float) and not isinstance(cell, bool):
                raise FatigueError(
                    f"{key} = {cell}: a bare number ({place}); "
                    "give value, unit, basis and source"
                )
            if not isinstance(cell, dict) or f"{name}." in ("sn.", "mean_stress."):
                continue
            lacking = {"value", "unit", "basis", "source"} - cell.keys()
            if lacking or cell["source"] not in sources or not cell["basis"]:
                raise FatigueError(
                    f"{key}: {', '.join(sorted(lacking)) or 'basis or source'} "
                    f"missing or not under [sources] ({place}); complete it"
                )
            source = sources[cell["source"]]
            value = float(cell["value"])
            found[key] = Fact(key, value, cell["unit"], cell["basis"], source)
    return found
