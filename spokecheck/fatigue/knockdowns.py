"""Knock-down factors between a polished laboratory bar and the part.

All multiply the fully reversed amplitude of the S-N line, at every number of cycles:
at short lives that is the safe side, as roughness matters less there.
"""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.fatigue.guideline import SOURCE, Group

HOT_FROM = 50.0
HOT_LIMIT = 200.0
"""Temperatures [C] from which the factor falls, and up to which it is given (FKM)."""
COLD_LIMIT = -25.0
"""Lowest temperature [C] of the guideline for aluminium (secondary transcription)."""

BAKE_FROM = 150.0
BAKE_FACTOR = 0.97
"""Paint bake of under an hour at 150 to 200 C: "a few per cent" of Rp0.2 lost to
over-ageing (from memory); the 3 % is assumed, for want of a published number."""

RM_PER_BRINELL = 3.25
"""Rm [MPa] over Brinell hardness for T6 aluminium: 3.2 (EN 1706 minima of AlSi7Mg0.3,
gravity die, HB 90 and 290 MPa, read in a secondary transcription) to 3.3 (6061-T6 and
6082-T6 listings)."""


@dataclass(frozen=True)
class Factor:
    """One multiplier of the S-N amplitude.

    Attributes
    ----------
    symbol : str
        Short name, as in the audit.
    what : str
        Meaning, with its inputs.
    value : float
        The multiplier.
    source : str
        Where it comes from.
    """

    symbol: str
    what: str
    value: float
    source: str


def roughness_factor(rz: float, rm: float, group: Group) -> float:
    """Roughness factor K_R for normal stress.

    Parameters
    ----------
    rz : float
        Mean roughness depth Rz [um]; up to 1 counts as polished.
    rm : float
        Tensile strength [MPa].
    group : Group
        Cast or wrought.

    Returns
    -------
    float
        K_R = 1 - a_R log10(Rz) log10(2 Rm / Rm,N,min), at most 1.

    Raises
    ------
    FatigueError
        If Rz is negative or so large that nothing is left.

    References
    ----------
    FKM guideline 2012, ch. 4.3; indicative Rz: ground 12.5, machined 100, cast 200
    (read in a secondary transcription).

    Examples
    --------
    >>> from spokecheck.fatigue.guideline import CAST
    >>> round(roughness_factor(200.0, 290.0, CAST), 3)
    0.706
    """
    if not rz >= 0.0:
        raise FatigueError(
            f"roughness Rz = {rz:g} um: must not be negative; "
            "give 0 for polished, 100 for machined, 200 for as cast"
        )
    if rz <= 1.0:
        return 1.0
    strength = np.log10(max(2.0 * rm / group.rm_roughness, 1.0))
    factor = float(1.0 - group.a_roughness * np.log10(rz) * strength)
    if factor <= 0.0:
        raise FatigueError(
            f"roughness Rz = {rz:g} um: the guideline leaves no strength at "
            f"Rm = {rm:g} MPa; give Rz in micrometres"
        )
    return factor


def surface_factor(roughness: float, group: Group) -> float:
    """Share of the local strength that roughness leaves at a notch.

    Parameters
    ----------
    roughness : float
        K_R.
    group : Group
        Gives the estimated fatigue notch factor K_f.

    Returns
    -------
    float
        1 / (1 + (1 / K_f) (1 / K_R - 1)): the roughness part of the design factor
        K_WK for local stresses (FKM guideline 2012, ch. 4.3).
    """
    return 1.0 / (1.0 + (1.0 / roughness - 1.0) / group.notch_estimate)


def temperature_factor(temperature: float, group: Group) -> float:
    """Temperature factor K_T,D of the fatigue strength.

    Parameters
    ----------
    temperature : float
        Service temperature [C], between -25 and 200.
    group : Group
        Cast or wrought.

    Returns
    -------
    float
        1 - a_T,D 1e-3 (T - 50) above 50 C, else 1.

    Raises
    ------
    FatigueError
        If the temperature leaves the guideline's range.

    References
    ----------
    FKM guideline 2012, ch. 4.2.1.2, read in a secondary transcription.
    """
    if not COLD_LIMIT <= temperature <= HOT_LIMIT:
        raise FatigueError(
            f"service temperature {temperature:g} C: the factor is given from "
            f"{COLD_LIMIT:g} to {HOT_LIMIT:g} C; test at temperature beyond"
        )
    return 1.0 - group.a_temperature * 1.0e-3 * max(temperature - HOT_FROM, 0.0)


def bake_factor(temperature: float | None) -> float:
    """Factor for the paint bake, by its temperature [C]; 1 without one.

    Raises
    ------
    FatigueError
        Above 200 C, where a T6 temper is lost at a rate that no table here gives.
    """
    if temperature is None:
        return 1.0
    if not temperature <= HOT_LIMIT:
        raise FatigueError(
            f"bake temperature {temperature:g} C: at most {HOT_LIMIT:g} C for a T6 "
            "temper; give the hardness measured after the bake instead"
        )
    return BAKE_FACTOR if temperature >= BAKE_FROM else 1.0


def strength_from_hardness(brinell: float) -> float:
    """Tensile strength [MPa] estimated from Brinell hardness, T6 aluminium.

    Raises
    ------
    FatigueError
        Outside HB 50 to 140, where no pair of values stands behind the ratio.
    """
    if not 50.0 <= brinell <= 140.0:
        raise FatigueError(
            f"hardness HB {brinell:g}: the ratio to Rm holds from HB 50 to 140 for "
            "T6 aluminium; check the scale"
        )
    return RM_PER_BRINELL * brinell


def hardness_factor(brinell: float | None, rm: float) -> float:
    """Strength from hardness over the alloy's, never above 1; 1 without hardness.

    Fatigue strength taken in proportion to Rm (FKM guideline 2012: sigma_W = 0.30 Rm);
    a harder part earns no credit.
    """
    if brinell is None:
        return 1.0
    return min(strength_from_hardness(brinell) / rm, 1.0)


def checked_user_factor(name: str, value: float) -> float:
    """A factor given by the user, above 0 and at most 2.

    Raises
    ------
    FatigueError
        If it lies outside.
    """
    if not 0.0 < value <= 2.0:
        raise FatigueError(
            f"{name} = {value:g}: must lie above 0, at most 2; 1 leaves the strength "
            "as it is"
        )
    return value


def surface_factors(rz: float, rm: float, group: Group) -> tuple[Factor, ...]:
    """The roughness part as one multiplier, with its ingredients in `what`."""
    roughness = roughness_factor(rz, rm, group)
    what = (
        f"surface: Rz = {rz:g} um gives K_R = {roughness:.4g}; "
        f"1 / (1 + (1 / K_R - 1) / {group.notch_estimate:g})"
    )
    return (Factor("K_surf", what, surface_factor(roughness, group), SOURCE),)
