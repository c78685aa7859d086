"""Lines of a calculation sheet that can be redone on paper."""

from dataclasses import dataclass

from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.planes import CriticalPlane
from spokecheck.units import VOIGT


@dataclass(frozen=True)
class AuditLine:
    """One step between stress and margin.

    Attributes
    ----------
    symbol : str
        Letter of the quantity; later lines use it.
    what : str
        What it is and by which equation.
    value : float
        Unrounded.
    unit : str
        ``MPa``, ``cycles`` or ``-``.
    source : str
        Where the equation or the number comes from; ``input`` or ``computed``.
    """

    symbol: str
    what: str
    value: float
    unit: str
    source: str


def component_lines(history: StressHistory, point: int) -> list[AuditLine]:
    """Stress components: steady M, cosine A and sine B of each turning order."""
    parts = [("M", "steady", history.mean[point])]
    orders, fields = history.turning
    for order, field in zip(orders, fields[:, point], strict=True):
        mark = "" if history.single else f"{order}"
        parts.append((f"A{mark}", f"cos({order} phi)", field.real))
        parts.append((f"B{mark}", f"sin({order} phi)", field.imag))
    return [
        AuditLine(
            f"{letter}_{axes}", f"stress {axes}, {what}", float(s), "MPa", "input"
        )
        for letter, what, tensor in parts
        for axes, s in zip(VOIGT, tensor, strict=True)
    ]


def plane_lines(plane: CriticalPlane) -> list[AuditLine]:
    """Normal of the critical plane."""
    return [
        AuditLine(
            f"n_{axis}",
            "normal of the plane of greatest amplitude",
            float(n),
            "-",
            "computed",
        )
        for axis, n in zip("xyz", plane.normal[0], strict=True)
    ]
