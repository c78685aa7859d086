"""Support factor n of the FKM guideline (2012 form), and why the default is 1.

At the fillets this package looks at (radius of some millimetres) the stress gradient
earns no credit, while a large uniformly stressed area of a casting costs about 20 %.
So the default n is 1, and the highly stressed area deserves a place beside a hot spot.
The older gradient-only form gives up to 1.75 at the same fillet in a casting and is
not offered.
"""

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.fatigue.guideline import WROUGHT, Group

PLASTIC_STRAIN = 1.6e-5
STATISTICAL_TERM = 1.0 / 0.11 - 1.0
STRENGTH_SCALE = 270.0
"""Constants of the guideline for aluminium (read in a secondary transcription);
the scale is in MPa."""


def statistical_factor(area: float, group: Group) -> float:
    """Statistical part n_st = (A90,0 / A90)^(1 / k_st).

    Parameters
    ----------
    area : float
        A90, surface stressed above 90 % of the local maximum [mm2].
    group : Group
        Cast or wrought.

    Raises
    ------
    FatigueError
        If the area is not above 0.
    """
    if not area > 0.0:
        raise FatigueError(
            f"highly stressed area {area:g} mm2: must be above 0; "
            "500 mm2 is that of the reference bar"
        )
    return float((group.reference_area / area) ** (1.0 / group.statistical_exponent))


def support_factor(
    gradient: float, area: float, rm: float, modulus: float, group: Group
) -> float:
    """Support factor n, by which notch sensitivity raises or lowers the strength.

    Parameters
    ----------
    gradient : float
        Related stress gradient G normal to the surface, not negative [1/mm].
    area : float
        A90, surface stressed above 90 % of the local maximum [mm2].
    rm : float
        Tensile strength [MPa].
    modulus : float
        Young's modulus [MPa].
    group : Group
        Cast or wrought.

    Returns
    -------
    float
        n = n_st n_vm n_bm: statistics, plasticity, fracture mechanics.

    Raises
    ------
    FatigueError
        If the gradient is negative or the area not above 0.

    References
    ----------
    FKM guideline 2012, ch. 4.3.1, read in a secondary transcription.

    Examples
    --------
    >>> from spokecheck.fatigue.guideline import CAST
    >>> round(support_factor(0.5, 5000.0, 290.0, 71700.0, CAST), 3)
    0.794
    """
    if not gradient >= 0.0:
        raise FatigueError(
            f"stress gradient {gradient:g} 1/mm: must not be negative; take the fall "
            "of stress into the depth"
        )
    n_st = statistical_factor(area, group)
    n_vm = 1.0
    if group.name == WROUGHT.name:
        strength = group.strength_ratio * rm
        strain = modulus * PLASTIC_STRAIN * n_st**STATISTICAL_TERM / strength
        n_vm = float(np.sqrt(1.0 + strain))
    root = np.sqrt(gradient)
    brittle = rm / STRENGTH_SCALE * np.sqrt((7.5 + root) / (1.0 + 0.2 * root))
    n_bm = max(1.0, float((5.0 + root) / (5.0 * n_vm * n_st + brittle)))
    return n_st * n_vm * n_bm
