"""Lines of a calculation sheet that can be redone on paper."""

from dataclasses import dataclass

from spokecheck.fatigue.critical_planes import CriticalPlane
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.measures import half_ranges
from spokecheck.fatigue.tensors import deviator5
from spokecheck.units import VOIGT

DEVIATOR_SOURCE = "Papadopoulos et al., Int J Fatigue 19 (1997) 219 (from memory)"


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


def gram_lines(history: StressHistory) -> list[AuditLine]:
    """J2 of the cosine and sine tensors of one point, and their product."""
    a, b = (deviator5(part)[0] for part in history.ellipse())
    j2 = "J2 = ((xx-yy)^2 + (yy-zz)^2 + (zz-xx)^2) / 6 + xy^2 + yz^2 + zx^2"
    rows = [
        ("J2_A", f"{j2} of A", a @ a),
        ("J2_B", f"{j2} of B", b @ b),
        ("J_AB", "mixed: (J2 of (A + B) - J2_A - J2_B) / 2", a @ b),
    ]
    return [
        AuditLine(symbol, what, float(value), "MPa^2", DEVIATOR_SOURCE)
        for symbol, what, value in rows
    ]


def range_lines(history: StressHistory) -> list[AuditLine]:
    """Half-ranges of one point's deviatoric path, several orders."""
    what = "half-range along a principal axis of the deviatoric path, sampled"
    return [
        AuditLine(f"r_{i}", what, float(r), "MPa", DEVIATOR_SOURCE)
        for i, r in enumerate(half_ranges(history)[0], start=1)
    ]
