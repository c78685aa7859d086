"""What a pore or an inclusion leaves of the fatigue strength.

Murakami's square-root-area formula is one of steel; for aluminium the constant is
lowered.  El Haddad's needs a threshold that is not sourced for these alloys: the
caller brings it.
"""

import numpy as np

from spokecheck.errors import FatigueError
from spokecheck.units import FloatArray

UM_PER_MM = 1000.0
MM_PER_M = 1000.0

SURFACE, SUBSURFACE, INTERNAL = 1.43, 1.41, 1.56
"""Murakami's location factors (from memory)."""
HARDNESS_STEEL, HARDNESS_ALUMINIUM = 120.0, 75.0
"""Added to HV: Murakami's 120; 75 as reported for die-cast aluminium (Ueno et al. 2014,
from memory)."""
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
        1.43 at the surface, 1.41 just below, 1.56 inside.
    ratio : float
        Stress ratio R, below 1.
    hardness_constant : float
        75 for aluminium, 120 for steel.

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


def el_haddad_amplitude(
    length: FloatArray | float,
    smooth: float,
    threshold_range: float,
    geometry: float = 1.0,
) -> FloatArray:
    """Fatigue strength with a crack-like defect, from small to long.

    Parameters
    ----------
    length : ndarray (...) or float
        Crack length a [mm], not negative.
    smooth : float
        Amplitude of the defect-free material [MPa].
    threshold_range : float
        Threshold range of the stress intensity [MPa sqrt(m)] at the same R.
    geometry : float
        Shape factor Y.

    Returns
    -------
    ndarray (...)
        Amplitude [MPa]: `smooth` at length 0, the threshold line for long cracks.

    Notes
    -----
    a0 = (dK / (Y 2 smooth))^2 / pi, and dK / (Y sqrt(pi (a + a0))) is the range.

    References
    ----------
    El Haddad, Smith, Topper, ASME Journal of Engineering
    Materials and Technology 101 (1979) 42-46 (from memory).
    """
    a = np.asarray(length, np.float64)
    if not np.all(a >= 0.0):
        raise FatigueError("crack length: must not be negative [mm]")
    threshold = threshold_range * np.sqrt(MM_PER_M)
    intrinsic = (threshold / (geometry * 2.0 * smooth)) ** 2 / np.pi
    return np.asarray(0.5 * threshold / (geometry * np.sqrt(np.pi * (a + intrinsic))))
