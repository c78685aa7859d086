"""Numbers of a data file, each with its unit, its basis and its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from spokecheck.errors import Fault

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


TABLES = ("sn", "mean_stress")
"""Tables of numbers below an alloy."""

COLUMNS = ("value", "unit", "basis", "source")
"""What every number carries."""


def read_facts(
    entry: Mapping[str, Any], sources: Mapping[str, str], alloy: str
) -> tuple[Mapping[str, Fact], list[Fault]]:
    """Every number of an alloy, in the order of the file.

    Parameters
    ----------
    entry : mapping
        An alloy's table.
    sources : mapping of str to str
        Full citation of each source key.
    alloy : str
        Key of the alloy, for messages.

    Returns
    -------
    facts : mapping of str to Fact
        By dotted key.
    faults : list of Fault
        Of numbers that lack value, unit, basis or source.
    """
    facts: dict[str, Fact] = {}
    faults: list[Fault] = []
    cells = {key: cell for key, cell in entry.items() if key not in TABLES}
    for table in TABLES:
        cells |= {f"{table}.{key}": cell for key, cell in entry.get(table, {}).items()}
    for key, cell in cells.items():
        if isinstance(cell, dict):
            fault = _column_fault(cell, sources, f"{alloy}.{key}")
            if fault:
                faults.append(fault)
                continue
            source, value = sources[cell["source"]], float(cell["value"])
            facts[key] = Fact(key, value, cell["unit"], cell["basis"], source)
        elif isinstance(cell, int | float) and not isinstance(cell, bool):
            limit = "a bare number"
            remedy = "give value, unit, basis and source"
            faults.append(Fault(f"{alloy}.{key}", str(cell), limit, remedy))
    return facts, faults


def _column_fault(
    cell: Mapping[str, Any], sources: Mapping[str, str], key: str
) -> Fault | None:
    """Fault of a number whose columns are not complete."""
    lacking = [name for name in COLUMNS if not cell.get(name) and cell.get(name) != 0]
    if lacking:
        limit = f"{', '.join(lacking)} missing"
        return Fault(key, "", limit, f"give {', '.join(COLUMNS)}")
    if cell["source"] not in sources:
        return Fault(
            f"{key}.source", cell["source"], "not under [sources]", "add it there"
        )
    return None
