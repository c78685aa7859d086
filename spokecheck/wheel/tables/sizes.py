"""The trade's size designations: rim, tyre and load index.

References
----------
ISO 4000-2:2013 (= JIS D 4218:2021 Table 3): rim contour dimensions.
ISO 4000-2 Table 4 and the ETRTO manual: specified rim diameters, from memory.
UN Regulation No. 30: tyre dimensions from the size string, from memory.
ETRTO convention for the rolling circumference of radial tyres, from memory.
"""

import re
from dataclasses import dataclass

import numpy as np

SPECIFIED_DIAMETER = {
    14: 354.8,
    15: 380.2,
    16: 405.6,
    17: 436.6,
    18: 462.0,
    19: 487.4,
    20: 512.8,
    21: 538.2,
    22: 563.6,
}
"""Specified rim diameter [mm] by diameter code (ISO 4000-2 Table 4, from memory).
Not 25.4 times the code: up to 16 it lies 0.8 mm below, from 17 on 4.8 mm above."""

LARGE_CODE = 22
"""Diameter code from which ISO 4000-2 asks for a deeper well (JIS D 4218:2021 Table 3,
rows read from run-together text)."""

ROLLING_FACTOR = 3.05
"""Rolling circumference over outside diameter, radial tyres (ETRTO/UN convention,
from memory)."""

LOADED_FACTOR = 0.935
"""Static loaded over free radius, middle of 0.92 to 0.95 (rule of thumb, from
memory)."""

_RIM = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*(JJ|J)\s*[xX*]\s*(\d+)\s*$")
_RIM_SWAPPED = re.compile(r"^\s*(\d+)\s*[xX*]\s*(\d+(?:[.,]\d+)?)\s*(JJ|J)\s*$")
_TYRE = re.compile(r"^\s*(\d{3})\s*/\s*(\d{2})\s*Z?R\s*(\d{2})\b.*$", re.IGNORECASE)


@dataclass(frozen=True)
class RimSize:
    """Nominal rim size.

    Attributes
    ----------
    diameter_code : int
        As in the designation, in inches by name only.
    width : float
        Rim width A [mm], 25.4 times the code rounded to 0.5 mm.
    diameter : float
        Specified diameter at the bead seats [mm].
    """

    diameter_code: int
    width: float
    diameter: float


def parse_rim_size(text: str) -> RimSize:
    """Read a designation such as ``8J x 18`` or ``18 x 8J``.

    Raises
    ------
    ValueError
        If the text is no designation or the size is outside 14 to 22 by 5 to 12 inch.

    Examples
    --------
    >>> parse_rim_size("8J x 18").width, parse_rim_size("7.5J x 17").diameter
    (203.0, 436.6)
    """
    if match := _RIM.match(text):
        width_text, diameter_text = match[1], match[3]
    elif match := _RIM_SWAPPED.match(text):
        width_text, diameter_text = match[2], match[1]
    else:
        raise ValueError("need a rim designation such as '8J x 18'")
    width_code = float(width_text.replace(",", "."))
    diameter_code = int(diameter_text)
    if diameter_code not in SPECIFIED_DIAMETER:
        raise ValueError(f"diameter code {diameter_code}: need 14 to 22")
    if not 5.0 <= width_code <= 12.0:
        raise ValueError(f"width code {width_code:g}: need 5 to 12")
    width = np.rint(25.4 * width_code * 2.0) / 2.0
    return RimSize(diameter_code, float(width), SPECIFIED_DIAMETER[diameter_code])


@dataclass(frozen=True)
class TyreSize:
    """Tyre dimensions [mm] derived from a size string."""

    rim_code: int
    outside_diameter: float

    @property
    def free_radius(self) -> float:
        """Radius of the unloaded tyre [mm]."""
        return self.outside_diameter / 2.0

    @property
    def dynamic_radius(self) -> float:
        """Rolling circumference over 2 pi [mm]."""
        return ROLLING_FACTOR * self.outside_diameter / (2.0 * np.pi)

    @property
    def loaded_radius(self) -> float:
        """Static loaded radius [mm], estimated."""
        return LOADED_FACTOR * self.free_radius


def parse_tyre_size(text: str) -> TyreSize:
    """Read a tyre size such as ``225/45R18``.

    Raises
    ------
    ValueError
        If the text is no metric radial tyre size.

    Examples
    --------
    >>> tyre = parse_tyre_size("225/45R18 95W")
    >>> tyre.outside_diameter, round(tyre.dynamic_radius)
    (659.5, 320)
    """
    match = _TYRE.match(text)
    if not match:
        raise ValueError("need a metric radial tyre size such as '225/45R18'")
    width, aspect, code = float(match[1]), float(match[2]), int(match[3])
    height = width * aspect / 100.0
    nominal = float(np.rint(25.4 * code))
    return TyreSize(code, nominal + 2.0 * height)
