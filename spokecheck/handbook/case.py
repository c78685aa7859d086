"""What a handbook case is: data, a few lines that build and solve it, and its targets.

A case owns nothing but functions of its parameters, so that a reader may change a
length or a load and get the closed form recomputed beside the new solution.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from spokecheck.errors import CaseError

Basis = Literal["seen", "from memory", "computed"]
"""How the target is known: read in a public text, cited from memory, or computed here
from a formula that is cited."""

DISPLACEMENT_RATE, STRESS_RATE, ENERGY_RATE = 3.0, 2.0, 4.0
"""Orders of convergence of second-order cells on smooth solutions: displacement,
stress, and whatever is a work of the loads (Strang & Fix, An Analysis of the Finite
Element Method, ch. 3; from memory)."""

CLAMPED_RATE = 1.4
"""Order of a work of the loads where a fixed face meets a free one at a right angle:
twice the exponent 0.69 to 0.71 of the corner (Williams, J. Appl. Mech. 19 (1952)
526-528; from memory; plane strain, nu = 0.33 to 0.3)."""

Study = Mapping[str, Any]
"""What a case has solved, by name; every entry called ``solution`` can be drawn."""


class Values(dict[str, float]):
    """Parameter values that can be read as attributes."""

    def __getattr__(self, name: str) -> float:
        """Value of one parameter."""
        try:
            return self[name]
        except KeyError as missing:
            raise AttributeError(name) from missing


@dataclass(frozen=True)
class Parameter:
    """One number a reader may change.

    Attributes
    ----------
    name : str
        As on the command line.
    default : float
        Value of the published or committed case.
    unit : str
        Empty for a pure number.
    meaning : str
        What it is, in words.
    low, high : float
        The value must lie between them, both excluded.
    """

    name: str
    default: float
    unit: str
    meaning: str
    low: float = 0.0
    high: float = float("inf")


@dataclass(frozen=True)
class Quantity:
    """One number that is compared with a target.

    Attributes
    ----------
    name, unit : str
        What is compared.
    target : callable
        Closed form or published value, from the parameters.
    measure : callable
        The finite element value, from the study and the parameters.
    tolerance : float or None
        Allowed relative error; absolute where the target is zero.
        None where the number is shown, but not judged.
    reason : str
        Why this tolerance; where nothing is judged, why the value may miss.
    at_default : str
        More of the reason, with figures that hold for the default parameters only.
    rate : float or None
        Theoretical order of convergence in the cell size, where there is one.
    """

    name: str
    unit: str
    target: Callable[[Values], float]
    measure: Callable[[Study, Values], float]
    tolerance: float | None
    reason: str
    rate: float | None = None
    at_default: str = ""


@dataclass(frozen=True)
class Case:
    """A handbook case.

    Attributes
    ----------
    id, slug, family, title : str
        Short name such as ``p10``, readable name, group and heading.
    statement : str
        Geometry, supports and load in words.
    source : str
        Where the target is published.
    basis : Basis
        How the source is known.
    parameters : sequence of Parameter
        What a reader may change.
    solve : callable
        From parameters and fineness to the solved study.
    quantities : sequence of Quantity
        What is compared.
    fineness, least : int
        Default fineness, and the least one offered; cell size goes with the inverse.
    refinements : sequence of int
        Finenesses of the convergence study, at least three.
    check : callable
        From parameters to complaints, for limits that involve several of them.
    """

    id: str
    slug: str
    family: str
    title: str
    statement: str
    source: str
    basis: Basis
    parameters: Sequence[Parameter]
    solve: Callable[[Values, int], Study]
    quantities: Sequence[Quantity]
    fineness: int = 2
    least: int = 1
    refinements: Sequence[int] = (1, 2, 3, 4)
    check: Callable[[Values], Sequence[str]] = lambda _: ()


def resolve(case: Case, changes: Mapping[str, float] | None = None) -> Values:
    """Parameter values of a case, with some of them changed.

    Parameters
    ----------
    case : Case
        The case.
    changes : mapping of str to float, optional
        New values by parameter name, or by its meaning with dashes (``end-load``).

    Returns
    -------
    Values

    Raises
    ------
    CaseError
        Listing every unknown name and every value outside its limits.
    """
    parameters = {p.name: p for p in case.parameters}
    by_meaning = {p.meaning.replace(" ", "-"): p.name for p in case.parameters}
    given = {
        by_meaning.get(name, name): value for name, value in (changes or {}).items()
    }
    names = ", ".join(parameters) or "none: its target holds for one geometry only"
    faults = [
        f"{name}: no parameter of {case.id}; it has {names}"
        for name in given
        if name not in parameters
    ]
    values = Values(
        {name: float(given.get(name, p.default)) for name, p in parameters.items()}
    )
    for p in case.parameters:
        value = values[p.name]
        if not p.low < value < p.high:
            faults.append(
                f"{p.name} = {f'{value:g} {p.unit}'.strip()}: must be {_limits(p)}; "
                f"change the {p.meaning}"
            )
    if not faults:
        faults.extend(case.check(values))
    if faults:
        raise CaseError(f"case {case.id} ({case.slug}): " + "; ".join(faults))
    return values


def _limits(p: Parameter) -> str:
    unit = f" {p.unit}" if p.unit else ""
    if p.high == float("inf"):
        return f"above {p.low:g}{unit}"
    return f"between {p.low:g} and {p.high:g}{unit}"


def aluminium() -> tuple[Parameter, Parameter]:
    """Young's modulus and Poisson's ratio of the handbook's default material."""
    return (
        Parameter("E", 70000.0, "MPa", "Young's modulus"),
        Parameter("nu", 0.33, "", "Poisson's ratio", -0.99, 0.49),
    )
