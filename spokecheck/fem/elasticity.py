"""From two elastic constants to the isotropic elasticity matrix."""

from dataclasses import dataclass

import numpy as np

from spokecheck.errors import ModelError
from spokecheck.units import FloatArray


@dataclass(frozen=True)
class Material:
    """Isotropic, linear-elastic material.

    Attributes
    ----------
    E : float
        Young's modulus [MPa], positive.
    nu : float
        Poisson's ratio, between -1 and 0.5, both excluded.
    rho : float
        Density [t/mm^3].
    alpha : float
        Coefficient of linear thermal expansion [1/K].

    Raises
    ------
    ModelError
        If a constant lies outside the range for which the energy is positive.

    Notes
    -----
    Must not be used near nu = 0.5: second-order displacement cells lock there.
    """

    E: float
    nu: float
    rho: float = 0.0
    alpha: float = 0.0

    def __post_init__(self) -> None:
        if not self.E > 0.0:
            raise ModelError(f"E = {self.E:g} MPa: must be positive; give MPa")
        if not -1.0 < self.nu < 0.5:
            raise ModelError(
                f"nu = {self.nu:g}: must lie between -1 and 0.5, both excluded"
            )

    @property
    def lame(self) -> tuple[float, float]:
        """Lamé constants (lambda, mu) [MPa]."""
        shear = self.E / (2.0 * (1.0 + self.nu))
        return 2.0 * shear * self.nu / (1.0 - 2.0 * self.nu), shear


def elasticity_matrix(material: Material) -> FloatArray:
    """Isotropic elasticity matrix.

    Parameters
    ----------
    material : Material
        Elastic constants.

    Returns
    -------
    ndarray (6, 6)
        D [MPa], from engineering strain to stress, order xx yy zz xy yz zx.

    Examples
    --------
    >>> D = elasticity_matrix(Material(E=1.0e6, nu=0.25))
    >>> [round(x) for x in D @ ([1e-3] * 6)]
    [2000, 2000, 2000, 400, 400, 400]
    """
    lam, mu = material.lame
    D = np.zeros((6, 6))
    D[:3, :3] = lam
    D[np.arange(6), np.arange(6)] += np.repeat([2.0 * mu, mu], 3)
    return D
