"""The one unit system, and names for the arrays that cross rooms.

Inside the package: mm, N, MPa (= N/mm^2), t, s; so density is t/mm^3, moment N mm.
Degrees, kN m, kg and kPa exist only at the file and report boundary,
and cross it through the names below.
"""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

STANDARD_GRAVITY = 9.81
"""Acceleration that turns a load rating [kg] into a load [N], as rounded in the
wheel trade (common practice; CGPM 1901 has 9.80665)."""

KG_PER_TONNE = 1000.0
MM_PER_METRE = 1000.0
MM2_PER_CM2 = 100.0
METRES_PER_KM = 1000.0
SECONDS_PER_HOUR = 3600.0
MPA_PER_KPA = 1.0e-3
N_MM_PER_N_M = 1000.0
N_MM_PER_KN_M = 1.0e6
"""Multiply by these to go from the file's unit to the package's."""

VOIGT = ("xx", "yy", "zz", "xy", "yz", "zx")
"""Order of the six components; tensor shear for stress, engineering for strain."""
