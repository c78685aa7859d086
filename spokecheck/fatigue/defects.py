"""What a pore or an inclusion leaves of the fatigue strength.

Murakami's square-root-area formula is one of steel; for aluminium the constant is
lowered.
"""

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.units import FloatArray

UM_PER_MM = 1000.0

SURFACE = 1.43
"""Murakami's location factor of a defect at the surface (from memory)."""
HARDNESS_ALUMINIUM = 75.0
"""Added to HV, as reported for die-cast aluminium (Ueno et al. 2014, from memory)."""
LIMIT_CYCLES = 1.0e7
"""Cycles at which the formula's strength is meant (from memory)."""
VICKERS_PER_BRINELL = 1.126
"""6061-T6 listings give HB 95 with HV 107 (read in a secondary transcription)."""


def vickers_from_brinell(brinell: float) -> float:
    """Vickers hardness of T6 aluminium from Brinell, by their ratio in 6061-T6."""
    return VICKERS_PER_BRINELL * brinell


def murakami_amplitude(
    sqrt_area: FloatArray | float,
    vickers: float,
    location: float = SURFACE,
    ratio: float = -1.0,
    hardness_constant: float = HARDNESS_ALUMINIUM,
) -> FloatArray:
    """Fatigue strength left by a defect.

    Parameters
    ----------
    sqrt_area : ndarray (...) or float
        Square root of the defect's area across the greatest principal stress [mm].
    vickers : float
        HV of the matrix.
    location : float
        1.43 at the surface, 1.41 just below, 1.56 inside (Murakami, from memory).
    ratio : float
        Stress ratio R, below 1.
    hardness_constant : float
        75 for aluminium, Murakami's 120 for steel.

    Returns
    -------
    ndarray (...)
        Amplitude [MPa] at 1e7 cycles.

    Raises
    ------
    FatigueError
        If the defect size is not above 0.

    Notes
    -----
    location (HV + c) / (sqrt_area in um)^(1/6) ((1 - R) / 2)^(0.226 + HV 1e-4).
    Holds for sqrt_area up to about 1 mm; gives no size below which defects are
    harmless, so take it together with the S-N line, whichever is less.

    References
    ----------
    Murakami, Metal Fatigue: Effects of Small Defects and Nonmetallic Inclusions, 2002
    (from memory).

    Examples
    --------
    A pore of 0.2 mm in aluminium of HV 100, at 1e7 cycles:

    >>> round(float(murakami_amplitude(0.2, vickers=100.0)), 1)
    103.5
    """
    size = np.asarray(sqrt_area, np.float64) * UM_PER_MM
    if not np.all(size > 0.0):
        raise FatigueError(
            f"defect size sqrt(area) = {float(size.min()) / UM_PER_MM:g} mm: must be "
            "above 0; leave it out for no defect"
        )
    steepness = ((1.0 - ratio) / 2.0) ** (0.226 + vickers * 1.0e-4)
    strength = location * (vickers + hardness_constant) / size ** (1.0 / 6.0)
    return np.asarray(strength * steepness)
