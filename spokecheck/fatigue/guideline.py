"""Constants of the FKM guideline for the two groups of aluminium alloys.

All from FKM guideline, Analytical Strength Assessment (Rechnerischer
Festigkeitsnachweis), 2012, chapters 4.2 to 4.4, read in a secondary transcription;
lines marked so are from memory.
"""

from dataclasses import dataclass

SOURCE = "FKM guideline 2012, ch. 4.2-4.4, read in a secondary transcription"

SURVIVAL = 0.975
"""Survival probability of the guideline's strength values (from memory)."""
KNEE_CYCLES = 1.0e6
LIMIT_CYCLES = 1.0e8
SLOPE = 5.0
SLOPE_BEYOND_KNEE = 15.0
"""Normal-stress S-N line of aluminium: knee, end, both slopes (from memory)."""


@dataclass(frozen=True)
class Group:
    """What the guideline says of one group of alloys.

    Attributes
    ----------
    name : str
        ``cast`` or ``wrought``.
    strength_ratio : float
        f_W,sigma: fully reversed amplitude at the knee over Rm.
    a_roughness : float
        a_R,sigma of the roughness factor.
    rm_roughness : float
        Rm,N,min of the roughness factor [MPa].
    notch_estimate : float
        Estimated fatigue notch factor that goes with the roughness factor.
    statistical_exponent : float
        k_st of the statistical support factor.
    reference_area : float
        A90,0 of the statistical support factor [mm2].
    a_temperature : float
        a_T,D of the temperature factor.
    """

    name: str
    strength_ratio: float
    a_roughness: float
    rm_roughness: float
    notch_estimate: float
    statistical_exponent: float
    reference_area: float
    a_temperature: float


WROUGHT = Group(
    name="wrought",
    strength_ratio=0.30,
    a_roughness=0.22,
    rm_roughness=133.0,
    notch_estimate=2.0,
    statistical_exponent=20.0,
    reference_area=500.0,
    a_temperature=1.2,
)

CAST = Group(
    name="cast",
    strength_ratio=0.30,
    a_roughness=0.20,
    rm_roughness=133.0,
    notch_estimate=1.2,
    statistical_exponent=10.0,
    reference_area=500.0,
    a_temperature=1.2,
)

GROUPS = {group.name: group for group in (CAST, WROUGHT)}
