"""The tyre's patch of pressure on a bead seat, and its Fourier series.

``p(theta) = p0 cos(pi theta / (2 theta0))`` for ``|theta| <= theta0``, nothing beyond.

References
----------
Stearns, Srivatsan, Gao, Lam, Int. J. Rotating Machinery 2006, 60193: cosine pressure on
the bead seats in place of a tyre (bibliographic data seen; formula read in a thesis
excerpt that cites it; the half-angle of about 40 degrees is from memory).
"""

from dataclasses import dataclass

import numpy as np

HALF_ANGLE = 40.0
"""Half-angle theta0 [deg] usually quoted (from memory; 30 to 40 in later work)."""

SOURCE = (
    "cosine pressure after Stearns et al. 2006 (bibliographic data seen); about 40 deg "
    "usual, 30 to 40 in later work (from memory)"
)

ENERGY_SHARE = 0.999
"""Orders are kept until they carry this share of the patch's mean square."""


@dataclass(frozen=True)
class Patch:
    """A cosine patch of unit peak pressure.

    Attributes
    ----------
    half_angle : float
        theta0 [rad], between 0 and pi / 2.
    """

    half_angle: float

    @property
    def _a(self) -> float:
        return float(np.pi / (2.0 * self.half_angle))

    def coefficient(self, order: int) -> float:
        """Complex Fourier coefficient c_m; p = c_0 + sum_m>0 2 c_m cos(m theta).

        ``c_m = a cos(m theta0) / (pi (a^2 - m^2))``, a = pi / (2 theta0).
        """
        a, m = self._a, order
        if abs(a - m) < 1e-9:
            return float(self.half_angle / (2.0 * np.pi))
        return float(a * np.cos(m * self.half_angle) / (np.pi * (a * a - m * m)))

    def energy_share(self, highest: int) -> float:
        """Share of the mean square carried by orders 0 to ``highest``."""
        squares = np.array([self.coefficient(m) ** 2 for m in range(highest + 1)])
        series = 2.0 * np.pi * (squares[0] + 2.0 * squares[1:].sum())
        return float(series / self.half_angle)

    def orders(self, share: float = ENERGY_SHARE) -> range:
        """Orders 0 to M that together carry at least ``share``."""
        highest = 1
        while self.energy_share(highest) < share:
            highest += 1
        return range(highest + 1)

    def vertical_factor(self) -> float:
        """Resultant over p0 b r: ``2 a cos(theta0) / (a^2 - 1)``.

        The direction cosine is in it; the shorter ``4 theta0 / pi`` found in the
        literature leaves it out and delivers 3 to 6 % too little force.
        """
        a = self._a
        if abs(a - 1.0) < 1e-9:
            return float(np.pi / 2.0)
        return float(2.0 * a * np.cos(self.half_angle) / (a * a - 1.0))
