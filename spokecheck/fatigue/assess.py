"""From a stress history and an alloy to margin and life, with an audit of each step.

A screening by local elastic stress: it does not replace a test.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.fatigue.alloys import Alloy
from spokecheck.fatigue.audit import (
    AuditLine,
    component_lines,
    gram_lines,
    plane_lines,
    range_lines,
)
from spokecheck.fatigue.critical_planes import CriticalPlane, critical_plane
from spokecheck.fatigue.history import StressHistory
from spokecheck.fatigue.measures import (
    ellipse_amplitude,
    greatest_von_mises,
    hypersphere_amplitude,
    mean_stress,
)
from spokecheck.fatigue.strength import Demand, Quality, Strength, strength
from spokecheck.units import BoolArray, FloatArray

__all__ = [
    "MEASURES",
    "Assessment",
    "AuditLine",
    "Demand",
    "Quality",
    "assess",
    "utilisation",
]

MEASURES = ("ellipse", "hypersphere", "normal")
"""Amplitudes to rank by; see `measures` and `planes`."""

SURVIVAL = "Phi(z), z = z_line + (k / s) log10(S_sm / (K_P sa_eq)); 0 above S_def"


@dataclass(frozen=True, eq=False)
class Assessment:
    """Fatigue at every point, arrays of shape (n_points,).

    Attributes
    ----------
    history, strength, measure
        What was asked; `strength` holds alloy, quality, demand and every factor.
    amplitude, mean : ndarray
        By the chosen measure [MPa]; the mean signed, before any switch.
    equivalent : ndarray
        Fully reversed equivalent amplitude [MPa].
    allowable : float
        At the demanded cycles and survival, after all knock-downs [MPa].
    utilisation, margin : ndarray
        equivalent / allowable and its inverse, infinite where nothing swings.
    life_median, life_at_survival : ndarray
        Cycles; infinite beyond the last cycle of the S-N line, 0 below its first.
    max_von_mises : ndarray
        Greatest von Mises stress over the turn [MPa], to hold against yield.
    outside_tested_ratio : ndarray of bool
        Where the stress ratio leaves those tested for the mean-stress route.
    """

    history: StressHistory
    strength: Strength
    measure: str
    amplitude: FloatArray
    mean: FloatArray
    equivalent: FloatArray
    allowable: float
    utilisation: FloatArray
    margin: FloatArray
    life_median: FloatArray
    life_at_survival: FloatArray
    max_von_mises: FloatArray
    outside_tested_ratio: BoolArray

    @cached_property
    def hypersphere(self) -> FloatArray:
        """Hypersphere amplitude [MPa], (n_points,); computed on first use."""
        return hypersphere_amplitude(self.history)

    @cached_property
    def plane(self) -> CriticalPlane:
        """Critical planes; computed on first use."""
        return critical_plane(self.history)

    @property
    def normal_amplitude(self) -> FloatArray:
        """Greatest normal amplitude over all planes [MPa], (n_points,)."""
        return self.plane.amplitude

    @property
    def normal_mean(self) -> FloatArray:
        """Mean normal stress on the same planes [MPa], (n_points,)."""
        return self.plane.mean

    @property
    def alloy(self) -> Alloy:
        """The alloy assessed."""
        return self.strength.alloy

    @cached_property
    def survival(self) -> FloatArray:
        """Probability to survive the demanded cycles, (n_points,)."""
        return self.strength.survival(self.equivalent)

    @property
    def yield_utilisation(self) -> FloatArray:
        """Greatest von Mises stress over Rp0.2; above 1 elastic stresses mislead."""
        return self.max_von_mises / self.alloy.rp02

    def audit(self, point: int) -> list[AuditLine]:
        """The whole chain at one point, from stress components to margin.

        Parameters
        ----------
        point : int
            Point number within the history.

        Returns
        -------
        list of AuditLine
            In the order of the calculation; each can be redone from those above it.

        Raises
        ------
        FatigueError
            If there is no such point.
        """
        if not 0 <= point < self.history.n_points:
            raise FatigueError(
                f"point {point}: the history has points 0 to "
                f"{self.history.n_points - 1}; ask for one of them"
            )
        if self.history.n_points > 1:
            # other measures are expensive: compute them at this point alone
            strength, history = self.strength, self.history.take([point])
            alone = assess(
                history, strength.alloy, strength.quality, strength.demand, self.measure
            )
            return alone.audit(0)
        lines = component_lines(self.history, point)
        lines += self._amplitude_lines(point) + self._mean_lines(point)
        return lines + self.strength.audit() + self._verdict_lines(point)

    def _amplitude_lines(self, point: int) -> list[AuditLine]:
        history = self.history.take([point])
        source = "Papadopoulos et al. 1997 (from memory)"
        if self.measure == "normal":
            lines = plane_lines(critical_plane(history))
            what = "hypot(n.A.n, n.B.n) on plane n; sampled for several orders"
        elif history.single:
            lines = gram_lines(history)
            what = "ellipse: sqrt(3 (J2_A + J2_B))"
            if self.measure == "hypersphere":
                what = (
                    "hypersphere: sqrt(3 l1), l1 = (J2_A + J2_B) / 2 "
                    "+ hypot((J2_A - J2_B) / 2, J_AB)"
                )
        elif self.measure == "ellipse":
            lines = range_lines(history)
            what = "ellipse: sqrt(3 sum r_i^2)"
        else:
            lines, what = [], "sqrt(3) times the radius of the minimum hypersphere"
        amplitude = float(self.amplitude[point])
        return [*lines, AuditLine("sa", f"amplitude, {what}", amplitude, "MPa", source)]

    def _mean_lines(self, point: int) -> list[AuditLine]:
        route = self.alloy.mean_stress
        mean = self.mean[point]
        counted = float(route.counted(self.mean)[point])
        what = "mean: M_xx + M_yy + M_zz"
        if self.measure == "normal":
            what = "mean: n.M.n on plane n"
        if not self.history.single:
            what += " (middle of its range over the turn)"
        credit = "counted in full" if route.credit_compression else "compression as 0"
        return [
            AuditLine("sm", what, float(mean), "MPa", "Sines 1959 (from memory)"),
            AuditLine("sm_c", f"mean as counted: {credit}", counted, "MPa", "computed"),
            AuditLine(
                "sa_eq",
                f"fully reversed equivalent, {route.formula}, with sm_c",
                float(self.equivalent[point]),
                "MPa",
                route.source,
            ),
        ]

    def _verdict_lines(self, point: int) -> list[AuditLine]:
        rows = [
            ("U", "utilisation: sa_eq / S_al", self.utilisation, "-"),
            ("margin", "S_al / sa_eq", self.margin, "-"),
            ("N_50", "median life; inf: beyond the line", self.life_median, "cycles"),
            ("N_P", "life at survival P, likewise", self.life_at_survival, "cycles"),
            ("P_N", "survival at N: " + SURVIVAL, self.survival, "-"),
            ("sa_hs", "beside: hypersphere amplitude", self.hypersphere, "MPa"),
            ("sa_n", "beside: greatest normal amplitude", self.normal_amplitude, "MPa"),
            ("sm_n", "beside: mean normal stress there", self.normal_mean, "MPa"),
            ("s_vM", "beside: greatest von Mises stress", self.max_von_mises, "MPa"),
            ("U_y", "s_vM / Rp0.2", self.yield_utilisation, "-"),
        ]
        return [
            AuditLine(symbol, what, float(values[point]), unit, "computed")
            for symbol, what, values, unit in rows
        ]


def assess(
    history: StressHistory,
    alloy: Alloy,
    quality: Quality,
    demand: Demand,
    measure: str = "ellipse",
) -> Assessment:
    """Margin and life at every point of a stress history.

    Parameters
    ----------
    history : StressHistory
        Local elastic stress over one turn, any orders.
    alloy : Alloy
        Material and process.
    quality : Quality
        Surface, defects, hardness, heat and the user's own factors.
    demand : Demand
        Cycles and survival.
    measure : {"ellipse", "hypersphere", "normal"}
        Amplitude to rank by.  "ellipse" is the default; "normal" is a check for cast
        alloys; "hypersphere" is unsafe near circular paths and is for comparison.

    Returns
    -------
    Assessment
        Arrays per point, with an audit of each.

    Raises
    ------
    FatigueError
        If the measure is unknown, the demand leaves the S-N line, or a quality its
        bounds.

    Notes
    -----
    Limits: elastic stress below yield, one enclosing cycle per turn, constant
    amplitude, room temperature unless stated, no corrosion, no fretting, no residual
    stress unless it is in order 0.
    """
    amplitude, mean = _measured(history, measure)
    part_strength = strength(alloy, quality, demand)
    equivalent = alloy.mean_stress.equivalent(amplitude, mean)
    still = equivalent == 0.0
    margin = np.full(len(equivalent), np.inf)
    np.divide(part_strength.allowable, equivalent, out=margin, where=~still)
    return Assessment(
        history=history,
        strength=part_strength,
        measure=measure,
        amplitude=amplitude,
        mean=mean,
        equivalent=equivalent,
        allowable=part_strength.allowable,
        utilisation=equivalent / part_strength.allowable,
        margin=margin,
        life_median=part_strength.life(equivalent, 0.5),
        life_at_survival=part_strength.life(equivalent, demand.survival),
        max_von_mises=greatest_von_mises(history),
        outside_tested_ratio=_outside(alloy, amplitude, mean),
    )


def utilisation(
    history: StressHistory,
    alloy: Alloy,
    quality: Quality,
    demand: Demand,
    measure: str = "ellipse",
) -> FloatArray:
    """Utilisation (n_points,) alone, as ``assess`` finds it, for many points."""
    amplitude, mean = _measured(history, measure)
    part_strength = strength(alloy, quality, demand)
    return np.asarray(
        alloy.mean_stress.equivalent(amplitude, mean) / part_strength.allowable
    )


def _measured(history: StressHistory, measure: str) -> tuple[FloatArray, FloatArray]:
    """Amplitude and the mean that goes with it."""
    if measure == "normal":
        plane = critical_plane(history)
        return plane.amplitude, plane.mean
    if measure == "hypersphere":
        return hypersphere_amplitude(history), mean_stress(history)
    if measure == "ellipse":
        return ellipse_amplitude(history), mean_stress(history)
    raise FatigueError(f"measure {measure}: unknown; use one of {', '.join(MEASURES)}")


def _outside(alloy: Alloy, amplitude: FloatArray, mean: FloatArray) -> BoolArray:
    """Where R, with the mean as counted, leaves the tested stress ratios."""
    if alloy.tested_ratios is None:
        return np.zeros(len(amplitude), dtype=np.bool_)
    low, high = alloy.tested_ratios
    counted = alloy.mean_stress.counted(mean)
    least, greatest = counted - amplitude, counted + amplitude
    slack = 1.0e-9 * amplitude
    out = (least < low * greatest - slack) | (least > high * greatest + slack)
    return np.asarray(out & (amplitude > 0.0), dtype=np.bool_)
