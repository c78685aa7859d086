"""Fatigue strength of the part: the S-N line, its knock-downs and its defects."""

from dataclasses import dataclass
from math import prod

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.audit import AuditLine
from spokecheck.fatigue.defects import (
    LIMIT_CYCLES,
    murakami_amplitude,
    vickers_from_brinell,
)
from spokecheck.fatigue.guideline import SOURCE
from spokecheck.fatigue.knockdowns import (
    RM_PER_BRINELL,
    Factor,
    bake_factor,
    checked_user_factor,
    hardness_factor,
    surface_factors,
    temperature_factor,
)
from spokecheck.fatigue.sn import probability, quantile
from spokecheck.units import FloatArray


@dataclass(frozen=True)
class Demand:
    """Demanded life of the part.

    Attributes
    ----------
    cycles : float
        Cycles to survive, above 0; turns of the load for order 1.
    survival : float
        Survival probability, strictly between 0 and 1.

    Raises
    ------
    FatigueError
        If either is out of bounds.
    """

    cycles: float
    survival: float

    def __post_init__(self) -> None:
        if not (0.0 < self.cycles < np.inf):
            raise FatigueError(
                f"cycles {self.cycles:g}: must be a number above 0; "
                "take them from the test clause"
            )
        quantile(self.survival)


@dataclass(frozen=True)
class Quality:
    """Departures of the part from a polished, sound, cold laboratory bar.

    Attributes
    ----------
    surface_rz : float or None
        Rz [um]; None takes the alloy's process value.
    peening_factor : float
        User's factor for peening or rolling; no default credit, as peening raised
        some aluminium parts and lowered others (Calvo-Garcia et al., JMMP 8 (2024)
        192).
    coating_factor : float
        User's factor for anodising or paint; 6061-T6 lost 60 % under a hard anodic
        coat (Materials and Methods 32, 1950, read in a secondary transcription).
    support_factor : float
        Support factor n of `support`; 1 gives the notch no credit.
    casting_factor : float or None
        Casting or section quality; None takes the alloy's.
    defect_sqrt_area : float or None
        Root of the area of the worst surface defect to be expected [mm].
    hardness_hb : float or None
        Brinell hardness measured on the part.
    temperature : float
        Service temperature [C].
    bake_temperature : float or None
        Temperature of the paint bake [C], under an hour.
    """

    surface_rz: float | None = None
    peening_factor: float = 1.0
    coating_factor: float = 1.0
    support_factor: float = 1.0
    casting_factor: float | None = None
    defect_sqrt_area: float | None = None
    hardness_hb: float | None = None
    temperature: float = 20.0
    bake_temperature: float | None = None


@dataclass(frozen=True)
class Strength:
    """Allowable fully reversed amplitude, with everything that led to it.

    Attributes
    ----------
    alloy, quality, demand
        What was asked.
    factors : tuple of Factor
        Multipliers of the S-N amplitude, in order.
    line_amplitude : float
        S-N line itself at the demanded cycles [MPa].
    survival_factor : float
        From the line's survival to the demanded one.
    smooth : float
        S-N amplitude after survival and all factors [MPa].
    defect : float
        Amplitude the defect leaves at the demanded cycles [MPa]; infinite without one.
    """

    alloy: Alloy
    quality: Quality
    demand: Demand
    factors: tuple[Factor, ...]
    line_amplitude: float
    survival_factor: float
    smooth: float
    defect: float

    @property
    def allowable(self) -> float:
        """The lesser of `smooth` and `defect` [MPa]."""
        return min(self.smooth, self.defect)

    @property
    def product(self) -> float:
        """Product of all factors."""
        return prod(factor.value for factor in self.factors)

    def life(self, equivalent: FloatArray, survival: float) -> FloatArray:
        """Life at a fully reversed equivalent amplitude.

        Parameters
        ----------
        equivalent : ndarray (n_points,)
            Amplitude at R = -1 [MPa].
        survival : float
            Survival probability, strictly between 0 and 1.

        Returns
        -------
        ndarray (n_points,)
            Cycles; infinite where beyond the last cycle of the S-N line (not "for
            ever"), 0 where below its first.  The defect line has no scatter.
        """
        line = self.alloy.sn
        smooth = line.life(equivalent / self.product, survival).cycles
        if not np.isfinite(self.defect):
            return smooth
        ratio = np.maximum(equivalent, np.finfo(float).tiny) / self.defect
        with np.errstate(over="ignore"):
            cycles = self.demand.cycles * ratio**-line.slope
        cycles = np.where(cycles > line.cycles_max * (1.0 + 1e-9), np.inf, cycles)
        cycles = np.where(cycles < line.cycles_min * (1.0 - 1e-9), 0.0, cycles)
        return np.minimum(smooth, cycles)

    def survival(self, equivalent: FloatArray) -> FloatArray:
        """Probability to survive the demanded cycles.

        Parameters
        ----------
        equivalent : ndarray (n_points,)
            Amplitude at R = -1 [MPa].

        Returns
        -------
        ndarray (n_points,)
            From the scatter of the S-N line alone, as a log-normal life; 0 where the
            defect's limit, which has no scatter, is exceeded.
            The scatter of loads, of wheels and of the model is not in it.
        """
        line = self.alloy.sn
        median = self.smooth / self.survival_factor
        load = np.maximum(equivalent, np.finfo(float).tiny)
        z = np.log10(median / load) * line.slope / line.log_life_std
        share = probability(z + quantile(line.line_survival))
        return np.where(equivalent > self.defect, 0.0, share)

    def audit(self) -> list[AuditLine]:
        """Lines from the demand to the allowable amplitude."""
        line, demand = self.alloy.sn, self.demand
        z = quantile(demand.survival) - quantile(line.line_survival)
        beyond = ""
        if line.extrapolated(demand.cycles):
            beyond = "; outside the tested cycles, or those are not known"
        lines = [
            AuditLine("N", "cycles demanded", demand.cycles, "cycles", "input"),
            AuditLine("P", "survival demanded", demand.survival, "-", "input"),
            AuditLine(
                "S_N",
                f"S-N line at N, R = -1: {line.formula} ({line.basis}{beyond})",
                self.line_amplitude,
                "MPa",
                line.source,
            ),
            AuditLine(
                "K_P",
                f"survival: 10^(-dz s / k), dz = {z:.4g}, s = {line.log_life_std:.4g}, "
                f"k = {line.slope:.4g}",
                self.survival_factor,
                "-",
                self.alloy.facts["sn.log_life_std"].source,
            ),
        ]
        lines += [
            AuditLine(f.symbol, f.what, f.value, "-", f.source) for f in self.factors
        ]
        product = " ".join(["S_N K_P", *(factor.symbol for factor in self.factors)])
        lines.append(AuditLine("S_sm", product, self.smooth, "MPa", "computed"))
        if np.isfinite(self.defect):
            lines.append(self._defect_line())
        what = "allowable amplitude: the lesser of S_sm and S_def"
        lines.append(AuditLine("S_al", what, self.allowable, "MPa", "computed"))
        return lines

    def _defect_line(self) -> AuditLine:
        quality, slope = self.quality, self.alloy.sn.slope
        hv = _vickers(self.alloy, quality)
        size = quality.defect_sqrt_area
        what = (
            f"defect: 1.43 (HV + 75) / sqrt_area^(1/6) (1e7 / N)^(1/k) times "
            f"K_T K_bake K_V K_S; HV = {hv:.4g}, sqrt_area = {size:g} mm (in um in the "
            f"formula), k = {slope:.4g}"
        )
        source = "Murakami 2002; Ueno et al. 2014 for the 75 (from memory)"
        return AuditLine("S_def", what, self.defect, "MPa", source)


def strength(alloy: Alloy, quality: Quality, demand: Demand) -> Strength:
    """Allowable fully reversed amplitude of an alloy in a part.

    Parameters
    ----------
    alloy : Alloy
        Material and process.
    quality : Quality
        Departures from the laboratory bar.
    demand : Demand
        Cycles and survival.

    Returns
    -------
    Strength
        With the allowable amplitude and its ingredients.

    Raises
    ------
    FatigueError
        If the demand leaves the S-N line, or a quality its bounds.
    """
    shared = _shared_factors(alloy, quality)
    factors = _bar_factors(alloy, quality) + shared
    line = float(alloy.sn.amplitude(demand.cycles, alloy.sn.line_survival))
    survival = alloy.sn.survival_factor(demand.survival)
    defect = np.inf
    if quality.defect_sqrt_area is not None:
        limit = murakami_amplitude(quality.defect_sqrt_area, _vickers(alloy, quality))
        fewer = (LIMIT_CYCLES / demand.cycles) ** (1.0 / alloy.sn.slope)
        defect = float(limit) * fewer * prod(factor.value for factor in shared)
    smooth = line * survival * prod(factor.value for factor in factors)
    return Strength(
        alloy, quality, demand, factors, line, survival, smooth, float(defect)
    )


def _vickers(alloy: Alloy, quality: Quality) -> float:
    """HV of the part: measured, or from the alloy's tensile strength."""
    brinell = quality.hardness_hb or alloy.rm / RM_PER_BRINELL
    return vickers_from_brinell(brinell)


def _bar_factors(alloy: Alloy, quality: Quality) -> tuple[Factor, ...]:
    """Factors on the sound bar alone: hardness, casting, surface, support."""
    rz = alloy.surface_rz if quality.surface_rz is None else quality.surface_rz
    casting, origin = alloy.casting_factor, alloy.facts["casting_factor"].source
    if quality.casting_factor is not None:
        casting = checked_user_factor("casting_factor", quality.casting_factor)
        origin = "user"
    hard = hardness_factor(quality.hardness_hb, alloy.rm)
    hardness = "not measured, 1"
    if quality.hardness_hb is not None:
        hardness = f"HB {quality.hardness_hb:g}: {RM_PER_BRINELL:g} HB / {alloy.rm:g}"
    support = checked_user_factor("support_factor", quality.support_factor)
    return (
        Factor(
            "K_HB", f"hardness, at most 1: {hardness}", hard, "sigma_W ~ Rm, FKM 2012"
        ),
        Factor("K_cast", "casting or section quality", casting, origin),
        *surface_factors(rz, alloy.rm, alloy.group),
        Factor("n", "support factor; 1 gives no credit", support, SOURCE),
    )


def _shared_factors(alloy: Alloy, quality: Quality) -> tuple[Factor, ...]:
    """Factors on both sound bar and defect: heat, bake, peening, coating."""
    hot = temperature_factor(quality.temperature, alloy.group)
    bake = quality.bake_temperature
    baked = "none" if bake is None else f"{bake:g} C"
    peening = checked_user_factor("peening_factor", quality.peening_factor)
    coating = checked_user_factor("coating_factor", quality.coating_factor)
    return (
        Factor("K_T", f"service at {quality.temperature:g} C", hot, SOURCE),
        Factor("K_bake", f"paint bake: {baked}", bake_factor(bake), "assumed"),
        Factor("K_V", "peening or rolling, user's", peening, "user"),
        Factor("K_S", "coating, user's", coating, "user"),
    )
