"""Mean stress: the fully reversed amplitude that does the same damage.

Each route is a frozen record with one method, ``equivalent(amplitude, mean)``; an alloy
file names it by its key in ``ROUTES``.
Tension is positive.
A compressive mean may be credited or not; for castings it is not (their cracks start
at pores whose surroundings carry residual stress of unknown sign: advice of this
project, no published number).
"""

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.units import FloatArray


@dataclass(frozen=True, kw_only=True)
class MeanStressRoute(ABC):
    """One way to turn amplitude and mean into a fully reversed amplitude.

    Attributes
    ----------
    credit_compression : bool
        Whether a compressive mean may lower the equivalent amplitude.
    source : str
        Where the constant of the route comes from.
    """

    credit_compression: bool
    source: str = "user"

    @property
    @abstractmethod
    def formula(self) -> str:
        """The equation with its constants, for a calculation sheet."""

    @abstractmethod
    def _reversed(self, amplitude: FloatArray, mean: FloatArray) -> FloatArray:
        """Equivalent amplitude without the switch for compression."""

    def equivalent(self, amplitude: FloatArray, mean: FloatArray) -> FloatArray:
        """Fully reversed amplitude equivalent to amplitude and mean.

        Parameters
        ----------
        amplitude : ndarray (n_points,)
            Stress amplitude, not negative [MPa].
        mean : ndarray (n_points,)
            Mean stress [MPa].

        Returns
        -------
        ndarray (n_points,)
            Equivalent amplitude at R = -1 [MPa]; infinite where the mean alone
            exhausts the strength.

        Raises
        ------
        FatigueError
            If an amplitude is negative.
        """
        a, m = np.broadcast_arrays(
            np.asarray(amplitude, np.float64), np.asarray(mean, np.float64)
        )
        if np.any(a < 0.0):
            raise FatigueError(
                f"stress amplitude {float(a.min()):.4g} MPa: must not be negative; "
                "pass half the range"
            )
        return self._reversed(a, self.counted(m))

    def counted(self, mean: FloatArray) -> FloatArray:
        """Mean stress as far as it counts: without credit, compression is 0."""
        return mean if self.credit_compression else np.maximum(mean, 0.0)


@dataclass(frozen=True, kw_only=True)
class Goodman(MeanStressRoute):
    """Straight line to the tensile strength `rm` [MPa]; often overly conservative.

    Examples
    --------
    >>> route = Goodman(credit_compression=False, rm=476.0)
    >>> round(float(route.equivalent(129.0, 301.0)), 1)
    350.9
    """

    rm: float

    @property
    def formula(self) -> str:
        """The equation with its constants."""
        return f"Goodman: sa / (1 - sm / {self.rm:g})"

    def _reversed(self, amplitude: FloatArray, mean: FloatArray) -> FloatArray:
        return _over(amplitude, 1.0 - mean / self.rm)


@dataclass(frozen=True, kw_only=True)
class Gerber(MeanStressRoute):
    """Parabola to the tensile strength `rm` [MPa], for tension; often unsafe."""

    rm: float

    @property
    def formula(self) -> str:
        """The equation with its constants."""
        return f"Gerber: sa / (1 - (sm / {self.rm:g})^2), sm > 0"

    def _reversed(self, amplitude: FloatArray, mean: FloatArray) -> FloatArray:
        return _over(amplitude, 1.0 - (np.maximum(mean, 0.0) / self.rm) ** 2)


@dataclass(frozen=True, kw_only=True)
class Morrow(MeanStressRoute):
    """Straight line to the true fracture strength [MPa].

    Must not be used with the Basquin coefficient sigma_f' for aluminium (Dowling,
    Mechanical Behavior of Materials, p. 456), only with the true fracture strength.
    """

    fracture: float

    @property
    def formula(self) -> str:
        """The equation with its constants."""
        return f"Morrow: sa / (1 - sm / {self.fracture:g})"

    def _reversed(self, amplitude: FloatArray, mean: FloatArray) -> FloatArray:
        return _over(amplitude, 1.0 - mean / self.fracture)


@dataclass(frozen=True, kw_only=True)
class Walker(MeanStressRoute):
    """Walker: smax^(1 - gamma) sa^gamma.

    gamma = 0.5 is the Smith-Watson-Topper parameter, a good general choice for
    aluminium (Dowling, p. 456).  The equivalent is 0 where the whole cycle is
    compressive.
    """

    gamma: float

    def __post_init__(self) -> None:
        if not 0.0 < self.gamma <= 1.0:
            raise FatigueError(
                f"Walker exponent gamma = {self.gamma:g}: must lie above 0, at most 1; "
                "fit it to tests at two stress ratios"
            )

    @property
    def formula(self) -> str:
        """The equation with its constants."""
        return f"Walker: (sa + sm)^{1.0 - self.gamma:.3g} sa^{self.gamma:.3g}"

    def _reversed(self, amplitude: FloatArray, mean: FloatArray) -> FloatArray:
        greatest = np.maximum(amplitude + mean, 0.0)
        power: FloatArray = greatest ** (1.0 - self.gamma) * amplitude**self.gamma
        return power


@dataclass(frozen=True, kw_only=True)
class Fkm(MeanStressRoute):
    """Four fields of the FKM guideline with the mean-stress sensitivity M.

    Attributes
    ----------
    sensitivity : float
        M, at least 0 and below 1.

    Notes
    -----
    sa is divided by K_AK, with R = (sm - sa) / (sm + sa)::

        R > 1          1 / (1 - M)
        R <= 0         1 / (1 + M sm / sa)
        0 < R < 0.5    (1 + M/3) / (1 + M) / (1 + (M/3) sm / sa)
        R >= 0.5       (3 + M) / (3 (1 + M)^2)

    The fields join without a step.
    Overload case F2: amplitude grows at constant stress ratio.

    References
    ----------
    FKM guideline 2012, ch. 4.4, read in a secondary transcription.
    """

    sensitivity: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.sensitivity < 1.0:
            raise FatigueError(
                f"mean-stress sensitivity M = {self.sensitivity:g}: must be at least "
                "0 and below 1; check Rm in MPa"
            )

    @property
    def formula(self) -> str:
        """The equation with its constants."""
        return f"FKM fields I to IV: sa / K_AK, M = {self.sensitivity:.3g}"

    def _reversed(self, amplitude: FloatArray, mean: FloatArray) -> FloatArray:
        M = self.sensitivity
        low, middle = -amplitude, amplitude
        pressed = amplitude * (1.0 - M)
        reversed_ = amplitude + M * mean
        pulsating = (1.0 + M) / (1.0 + M / 3.0) * (amplitude + M / 3.0 * mean)
        high = amplitude * 3.0 * (1.0 + M) ** 2 / (3.0 + M)
        fields = [mean < low, mean <= middle, mean < 3.0 * amplitude]
        return np.select(fields, [pressed, reversed_, pulsating], high)


def _over(amplitude: FloatArray, left: FloatArray) -> FloatArray:
    """Amplitude over the share of strength the mean leaves; infinite without any."""
    left = np.asarray(left, np.float64)
    out = np.full(np.broadcast(amplitude, left).shape, np.inf)
    np.divide(amplitude, left, out=out, where=left > 0.0)
    return out
