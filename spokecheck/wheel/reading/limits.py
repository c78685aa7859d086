"""Limits between keys of a design, each fault with value and remedy.

``find_faults`` checks everything it can, so that one reading reports all faults.
It draws the section and the windows as well: a design without faults can be drawn.
"""

from collections.abc import Callable, Iterator

from spokecheck.errors import Fault
from spokecheck.wheel.reading.duty_limits import (
    defect_faults,
    duty_faults,
    material_faults,
)
from spokecheck.wheel.reading.hub_limits import hub_faults
from spokecheck.wheel.reading.rim_limits import rim_faults
from spokecheck.wheel.reading.spoke_limits import (
    drawing_faults,
    pattern_faults,
    spoke_faults,
)
from spokecheck.wheel.reading.undercut_limits import undercut_faults
from spokecheck.wheel.shape.valve import valve_faults
from spokecheck.wheel.tables.design import Design
from spokecheck.wheel.tables.sidecar import Sidecar


def find_faults(design: Design) -> list[Fault]:
    """All faults of a design whose single fields are in range.

    Parameters
    ----------
    design : Design
        Parsed design.  Tables that could not be parsed may be missing; checks that
        need them are skipped.

    Returns
    -------
    list of Fault
        Empty if all tables are there and the wheel can be drawn.
    """
    there = design.model_fields_set
    faults = [
        fault
        for check, tables in CHECKS
        if there.issuperset(tables)
        for fault in check(design)
    ]
    if faults or not there.issuperset(TABLES):
        return faults
    return list(drawing_faults(design)) or list(valve_faults(design))


CHECKS: tuple[tuple[Callable[[Design], Iterator[Fault]], tuple[str, ...]], ...] = (
    (duty_faults, ("duty", "rim")),
    (material_faults, ("material",)),
    (defect_faults, ("material", "rim", "spokes")),
    (rim_faults, ("rim",)),
    (hub_faults, ("hub", "bolts")),
    (pattern_faults, ("spokes",)),
    (spoke_faults, ("spokes", "hub", "bolts", "rim")),
    (undercut_faults, ("spokes", "hub", "bolts", "rim")),
)
"""Checks, and the tables of the design they need."""

TABLES = ("rim", "hub", "bolts", "spokes", "duty", "material")


def sidecar_faults(brief: Sidecar) -> list[Fault]:
    """All faults of a sidecar whose single fields are in range; as ``find_faults``."""
    there = brief.model_fields_set
    checks: tuple[tuple[Callable[[Sidecar], Iterator[Fault]], set[str]], ...] = (
        (duty_faults, {"duty", "rim"}),
        (material_faults, {"material"}),
        (_sector_faults, {"mesh", "bolts", "spokes"}),
    )
    return [
        fault for check, tables in checks if there >= tables for fault in check(brief)
    ]


def _sector_faults(brief: Sidecar) -> Iterator[Fault]:
    """Sectors that bolts and spokes do not share."""
    sectors = brief.mesh.sectors or 1
    counts = {"bolts": brief.bolts.count}
    if brief.counts_spokes:
        counts["spokes"] = brief.spokes.count
    for name, count in counts.items():
        if count % sectors:
            yield Fault(
                "mesh.sectors",
                str(sectors),
                f"does not divide {name}.count = {count}: the sectors are not equal",
                f"give a divisor of both counts, or set {name}.count",
            )
