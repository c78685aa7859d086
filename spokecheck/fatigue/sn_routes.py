"""Ways to come to an S-N line: a fit, a handbook's equivalent stress, an estimate."""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.fatigue import guideline
from spokecheck.fatigue.sn import PowerLaw, TwoSlopes

MPA_PER_KSI = 6.894757
"""Kilopound per square inch [MPa]; NIST SP 811, Appendix B."""


@dataclass(frozen=True)
class Provenance:
    """Range, scatter and origin of a line, for the constructors below.

    Attributes as in `SNLine`.
    """

    cycles_min: float
    cycles_max: float
    tested: tuple[float, float] | None
    log_life_std: float
    basis: str
    source: str


def _power_law(
    coefficient: float,
    exponent: float,
    provenance: Provenance,
    line_survival: float = 0.5,
) -> PowerLaw:
    return PowerLaw(
        cycles_min=provenance.cycles_min,
        cycles_max=provenance.cycles_max,
        tested=provenance.tested,
        log_life_std=provenance.log_life_std,
        line_survival=line_survival,
        basis=provenance.basis,
        source=provenance.source,
        coefficient=coefficient,
        exponent=exponent,
    )


def from_log_life(
    intercept: float, exponent: float, provenance: Provenance
) -> PowerLaw:
    """Median line log10 N = intercept - exponent log10 S, S the amplitude [MPa]."""
    return _power_law(10.0 ** (intercept / exponent), exponent, provenance)


def from_equivalent_stress(
    intercept: float, exponent: float, walker: float, provenance: Provenance
) -> PowerLaw:
    """Median line of a handbook's equivalent stress, read at R = -1.

    Parameters
    ----------
    intercept, exponent : float
        log10 N = intercept - exponent log10 Seq, Seq in ksi.
    walker : float
        Seq = Smax (1 - R)^walker; at R = -1, Seq = 2^walker S.
    provenance : Provenance
        Range, scatter, origin.

    Returns
    -------
    PowerLaw
        In MPa.  Goes with a `Walker` route whose gamma is the same exponent.
    """
    at_one_cycle = 10.0 ** (intercept / exponent) * MPA_PER_KSI / 2.0**walker
    return _power_law(at_one_cycle, exponent, provenance)


def from_basquin(coefficient: float, b: float, provenance: Provenance) -> PowerLaw:
    """Median line S = sigma_f' (2N)^b, with sigma_f' [MPa] and b below 0."""
    return _power_law(coefficient * 2.0**b, -1.0 / b, provenance)


def through(
    first: tuple[float, float], second: tuple[float, float], provenance: Provenance
) -> PowerLaw:
    """Median line through two points (cycles, amplitude [MPa])."""
    (n1, s1), (n2, s2) = first, second
    exponent = -float(np.log(n2 / n1) / np.log(s2 / s1))
    return _power_law(s1 * n1 ** (1.0 / exponent), exponent, provenance)


def fkm_estimate(rm: float, ratio: float, provenance: Provenance) -> TwoSlopes:
    """Line estimated from the tensile strength alone, for want of a test.

    Parameters
    ----------
    rm : float
        Tensile strength [MPa].
    ratio : float
        f_W,sigma, 0.30 for aluminium.
    provenance : Provenance
        Range, scatter, origin; `cycles_max` at most 1e8.

    Returns
    -------
    TwoSlopes
        ratio Rm at 1e6 cycles for polished bars at 97.5 % survival (from memory),
        slope 5 before and 15 after.

    Raises
    ------
    FatigueError
        If the range ends beyond the guideline's 1e8 cycles.
    """
    if provenance.cycles_max > guideline.LIMIT_CYCLES:
        raise FatigueError(
            f"cycles {provenance.cycles_max:g}: the guideline's line ends at "
            f"{guideline.LIMIT_CYCLES:g}; end the range there"
        )
    return TwoSlopes(
        cycles_min=provenance.cycles_min,
        cycles_max=provenance.cycles_max,
        tested=provenance.tested,
        log_life_std=provenance.log_life_std,
        line_survival=guideline.SURVIVAL,
        basis=provenance.basis,
        source=provenance.source,
        knee_amplitude=ratio * rm,
        knee_cycles=guideline.KNEE_CYCLES,
        exponent=guideline.SLOPE,
        exponent_beyond=guideline.SLOPE_BEYOND_KNEE,
    )
