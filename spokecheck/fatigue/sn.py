"""S-N lines: amplitude against cycles at R = -1, with scatter and a stated range.

Every route is a frozen record with the same two questions, ``amplitude(cycles,
survival)`` and ``life(amplitude, survival)``.
Nothing is read outside the stated limits: cycles out of them raise, and a life out of
them comes back flagged.
Aluminium has no endurance limit; none of the lines has one.
"""

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from spokecheck.errors import FatigueError
from spokecheck.units import BoolArray, FloatArray


@dataclass(frozen=True, eq=False)
class Life:
    """Cycles read from an S-N line, censored where the line ends.

    Attributes
    ----------
    cycles : ndarray (...)
        Cycles; infinite beyond the last cycle of the line, 0 below its first.
    beyond : ndarray (...)
        Where the amplitude is too low for the line: the life lies beyond its last
        cycle.  Not an endurance limit.
    below : ndarray (...)
        Where the amplitude is too high for the line: life below its first cycle.
    """

    cycles: FloatArray
    beyond: BoolArray
    below: BoolArray


def quantile(survival: float) -> float:
    """Standard normal quantile z of a survival probability, 0 at 0.5.

    Raises
    ------
    FatigueError
        If survival is not strictly between 0 and 1.

    Examples
    --------
    >>> round(quantile(0.975), 3)
    1.96
    """
    if not 0.0 < survival < 1.0:
        raise FatigueError(
            f"survival {survival:g}: must lie strictly between 0 and 1; "
            "0.5 is the median, 0.975 a usual demand"
        )
    return float(ndtri(survival))


def probability(z: FloatArray) -> FloatArray:
    """Survival probability of standard normal quantiles: `quantile` undone."""
    return np.asarray(ndtr(z))


@dataclass(frozen=True)
class SNLine(ABC):
    """Common part of all S-N lines.

    Attributes
    ----------
    cycles_min, cycles_max : float
        Limits within which the line may be read [cycles].
    tested : tuple of float or None
        Cycles between which tests lie; None if the source does not let one see.
        Between `tested` and the limits a reading is an extrapolation by this
        project's choice, see `extrapolated`.
    log_life_std : float
        Standard deviation of log10 life about the line, on its first slope.
    line_survival : float
        Survival probability of the line itself: 0.5 for a median.
    basis, source : str
        Kind of value, and where it stands.
    """

    cycles_min: float
    cycles_max: float
    tested: tuple[float, float] | None
    log_life_std: float
    line_survival: float
    basis: str
    source: str

    @property
    @abstractmethod
    def slope(self) -> float:
        """Inverse slope k of the (first) line: N ~ S^-k."""

    @property
    @abstractmethod
    def formula(self) -> str:
        """The equation with its constants, for a calculation sheet."""

    @abstractmethod
    def _amplitude(self, cycles: FloatArray) -> FloatArray:
        """Amplitude on the line itself."""

    @abstractmethod
    def _cycles(self, amplitude: FloatArray) -> FloatArray:
        """Cycles on the line itself, continued past its ends."""

    def survival_factor(self, survival: float) -> float:
        """Factor on the amplitude for a survival probability.

        Parameters
        ----------
        survival : float
            Wanted survival probability, strictly between 0 and 1.

        Returns
        -------
        float
            10^(-(z - z_line) s / k).

        Notes
        -----
        The scatter s of log life on the first slope k is a scatter s / k of log
        strength; the whole line moves by it.  On a line with one slope this is a
        shift of life by 10^(z s); on the flatter part of a line with two slopes it
        makes lives scatter more, as tests near the limit show.
        """
        z = quantile(survival) - quantile(self.line_survival)
        return float(10.0 ** (-z * self.log_life_std / self.slope))

    def amplitude(self, cycles: FloatArray | float, survival: float) -> FloatArray:
        """Fully reversed amplitude survived for some cycles.

        Parameters
        ----------
        cycles : ndarray (...) or float
            Cycles, within the limits of the line.
        survival : float
            Survival probability, strictly between 0 and 1.

        Returns
        -------
        ndarray (...)
            Amplitude at R = -1 [MPa].

        Raises
        ------
        FatigueError
            If cycles leave the limits, or survival is not a probability.
        """
        demanded = np.asarray(cycles, np.float64)
        outside = ~((demanded >= self.cycles_min) & (demanded <= self.cycles_max))
        if outside.any():
            first = float(demanded[outside].flat[0])
            raise FatigueError(
                f"cycles {first:g}: "
                f"the S-N line holds from {self.cycles_min:g} to {self.cycles_max:g} "
                f"cycles ({self.source}); ask within them or use another route"
            )
        return self._amplitude(demanded) * self.survival_factor(survival)

    def life(self, amplitude: FloatArray | float, survival: float) -> Life:
        """Cycles survived at a fully reversed amplitude, censored at the limits.

        Parameters
        ----------
        amplitude : ndarray (...) or float
            Amplitude at R = -1 [MPa], not negative; infinite is allowed.
        survival : float
            Survival probability, strictly between 0 and 1.

        Returns
        -------
        Life
            Never extrapolated: infinite and flagged beyond, 0 and flagged below.

        Raises
        ------
        FatigueError
            If survival is not a probability, or an amplitude negative.
        """
        stress = np.asarray(amplitude, np.float64) / self.survival_factor(survival)
        if not np.all(stress >= 0.0):
            raise FatigueError(
                "stress amplitude: must be a number, not negative; pass half the range"
            )
        ends = np.array([self.cycles_min, self.cycles_max])
        high, low = self._amplitude(ends)
        slack = 1.0e-12  # an amplitude read at a limit must give that limit back
        beyond = stress < low * (1.0 - slack)
        below = stress > high * (1.0 + slack)
        inside = self._cycles(np.clip(stress, low, high))
        cycles = np.where(beyond, np.inf, np.where(below, 0.0, inside))
        return Life(cycles, beyond, below)

    def extrapolated(self, cycles: float) -> bool:
        """Whether some cycles lie outside those tested (or none are known)."""
        return self.tested is None or not self.tested[0] <= cycles <= self.tested[1]


@dataclass(frozen=True)
class PowerLaw(SNLine):
    """One straight line in log-log: S = coefficient N^(-1/k).

    Attributes
    ----------
    coefficient : float
        Amplitude at one cycle [MPa]; a constant of the fit, not a strength.
    exponent : float
        k, above 1.
    """

    coefficient: float
    exponent: float

    @property
    def slope(self) -> float:
        """Inverse slope k."""
        return self.exponent

    @property
    def formula(self) -> str:
        """The equation with its constants."""
        return f"sa = {self.coefficient:.5g} N^(-1/{self.exponent:.4g})"

    def _amplitude(self, cycles: FloatArray) -> FloatArray:
        return self.coefficient * cycles ** (-1.0 / self.exponent)

    def _cycles(self, amplitude: FloatArray) -> FloatArray:
        return (amplitude / self.coefficient) ** (-self.exponent)


@dataclass(frozen=True)
class TwoSlopes(SNLine):
    """Two straight lines in log-log that meet at a knee.

    Attributes
    ----------
    knee_amplitude : float
        Amplitude at the knee [MPa].
    knee_cycles : float
        Cycles at the knee.
    exponent, exponent_beyond : float
        k before and after the knee.
    """

    knee_amplitude: float
    knee_cycles: float
    exponent: float
    exponent_beyond: float

    @property
    def slope(self) -> float:
        """Inverse slope k before the knee."""
        return self.exponent

    @property
    def formula(self) -> str:
        """The equation with its constants."""
        return (
            f"sa = {self.knee_amplitude:.5g} (N / {self.knee_cycles:g})^(-1/k), "
            f"k = {self.exponent:g} before, {self.exponent_beyond:g} after the knee"
        )

    def _amplitude(self, cycles: FloatArray) -> FloatArray:
        ratio = cycles / self.knee_cycles
        k = np.where(ratio <= 1.0, self.exponent, self.exponent_beyond)
        line: FloatArray = self.knee_amplitude * ratio ** (-1.0 / k)
        return line

    def _cycles(self, amplitude: FloatArray) -> FloatArray:
        ratio = amplitude / self.knee_amplitude
        k = np.where(ratio >= 1.0, self.exponent, self.exponent_beyond)
        line: FloatArray = self.knee_cycles * ratio**-k
        return line
