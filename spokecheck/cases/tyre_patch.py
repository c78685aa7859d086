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

from spokecheck.errors import InputError

HALF_ANGLE = 40.0
"""Half-angle theta0 [deg] usually quoted (from memory; 30 to 40 in later work)."""

SOURCE = (
    "cosine pressure after Stearns et al. 2006 (bibliographic data seen); about 40 deg "
    "usual, 30 to 40 in later work (from memory)"
)

ENERGY_SHARE = 0.999
"""Orders are kept until they carry this share of the patch's mean square."""

MOST_ORDERS = 2000
"""No patch needs more: one of half a degree is carried to 0.999 by some 700."""


@dataclass(frozen=True)
class Patch:
    """A cosine patch of unit peak pressure.

    Attributes
    ----------
    half_angle : float
        theta0 [deg], above 0 and up to 90, as in ``BeadLoad``.

    Raises
    ------
    InputError
        If it is another.
    """

    half_angle: float

    def __post_init__(self) -> None:
        if not 0.0 < self.half_angle <= 90.0:
            raise InputError(
                f"patch half-angle = {self.half_angle:g} deg: must be above 0 and up "
                "to 90 deg; 30 to 40 is usual"
            )

    @property
    def theta0(self) -> float:
        """Half-angle [rad]."""
        return float(np.deg2rad(self.half_angle))

    @property
    def _a(self) -> float:
        return float(np.pi / (2.0 * self.theta0))

    def coefficient(self, order: int) -> float:
        """Complex Fourier coefficient c_m; p = c_0 + sum_m>0 2 c_m cos(m theta).

        ``c_m = a cos(m theta0) / (pi (a^2 - m^2))``, a = pi / (2 theta0).
        """
        a, m = self._a, order
        if abs(a - m) < 1e-9:
            return float(self.theta0 / (2.0 * np.pi))
        return float(a * np.cos(m * self.theta0) / (np.pi * (a * a - m * m)))

    def energy_share(self, highest: int) -> float:
        """Share of the mean square carried by orders 0 to ``highest``."""
        squares = np.array([self.coefficient(m) ** 2 for m in range(highest + 1)])
        series = 2.0 * np.pi * (squares[0] + 2.0 * squares[1:].sum())
        return float(series / self.theta0)

    def orders(self, share: float = ENERGY_SHARE) -> range:
        """Orders 0 to M, at least 1, that together carry at least ``share``.

        Raises
        ------
        InputError
            If the share is not between 0 and 1, or so near to 1 that ``MOST_ORDERS``
            do not carry it.
        """
        if not 0.0 < share < 1.0:
            raise InputError(
                f"energy share of the patch = {share:g}: must be between 0 and 1, both "
                f"excluded, since the series has no end; {ENERGY_SHARE:g} is usual"
            )
        carried = 0.0
        for m in range(MOST_ORDERS + 1):
            weight = 4.0 if m else 2.0
            carried += weight * np.pi * self.coefficient(m) ** 2 / self.theta0
            if m and carried >= share:
                return range(m + 1)
        raise InputError(
            f"energy share of the patch = {share!r}: orders 0 to {MOST_ORDERS} carry "
            f"{carried!r} of it; ask for less, {ENERGY_SHARE:g} is usual"
        )

    def vertical_factor(self) -> float:
        """Resultant over p0 b r: ``2 a cos(theta0) / (a^2 - 1)``.

        The direction cosine is in it; the shorter ``4 theta0 / pi`` found in the
        literature leaves it out and delivers 3 to 6 % too little force.
        """
        a = self._a
        if abs(a - 1.0) < 1e-9:
            return float(np.pi / 2.0)
        return float(2.0 * a * np.cos(self.theta0) / (a * a - 1.0))
