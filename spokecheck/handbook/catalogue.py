"""All handbook cases, by family and by name."""

from difflib import get_close_matches

from spokecheck.errors import CaseError
from spokecheck.handbook import (
    beams,
    cavity,
    consistency,
    curved,
    discs,
    ellipses,
    exact_beams,
    fillets,
    holes,
    identities,
    oval_ring,
    patch_test,
    plates,
    published,
    rim_pressure,
    rings,
    shafts,
    spans,
    spoked,
    tilted_hub,
    torsion,
    vessels,
    vibration,
)
from spokecheck.handbook.case import Case

MODULES = (
    patch_test,
    published,
    ellipses,
    beams,
    spans,
    exact_beams,
    vessels,
    discs,
    holes,
    fillets,
    shafts,
    cavity,
    oval_ring,
    rings,
    rim_pressure,
    plates,
    tilted_hub,
    curved,
    torsion,
    spoked,
    vibration,
    consistency,
    identities,
)
"""One module for each family, or for a part of one."""

CASES: tuple[Case, ...] = tuple(
    sorted(
        (case for module in MODULES for case in module.CASES), key=lambda case: case.id
    )
)
"""Every case, by number."""


def families() -> dict[str, list[Case]]:
    """Cases by family, in the order in which the families first appear."""
    groups: dict[str, list[Case]] = {}
    for case in CASES:
        groups.setdefault(case.family, []).append(case)
    return groups


def find_case(name: str) -> Case:
    """Case of an id such as ``p10`` or a name such as ``cantilever-end-load``.

    Raises
    ------
    CaseError
        If there is none; the message offers near ones.

    Examples
    --------
    >>> find_case("P10").slug
    'cantilever-end-load'
    """
    key = name.strip().lower()
    for case in CASES:
        if key in (case.id, case.slug):
            return case
    names = [known for case in CASES for known in (case.id, case.slug)]
    near = get_close_matches(key, names, n=3)
    offer = f"did you mean {', '.join(near)}" if near else "list them without a name"
    raise CaseError(
        f"case {name!r}: not one of the {len(CASES)} handbook cases; {offer}"
    )
