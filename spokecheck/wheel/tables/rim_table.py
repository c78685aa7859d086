"""Table [rim] of the design file, with a table for each side that differs."""

import math
from typing import Annotated, Literal

from pydantic import Field, field_validator

from spokecheck.wheel.tables.key_fields import StrictTable, mm
from spokecheck.wheel.tables.sizes import LARGE_CODE, parse_rim_size

WELL_DEPTH, LARGE_WELL_DEPTH = 17.5, 22.0
"""Well depth [mm] where none is given, below 22 inch and from there on: ISO 4000-2 asks
for 17.3 and 22."""


SEAT_WIDTH = 24.0
"""Width [mm] of a bead seat where none is given, common practice; P is 19.5 at least
(JIS D 4218:2021 Table 3)."""

WELL_POSITION = 45.0
"""Flange to the middle of the well [mm] where none is given, common practice."""

SEAT_TAPER = math.radians(5.0)
"""Taper of the bead seat: ETRTO Standards Manual 2017 p. R.8, read in a secondary
transcription."""

SEAT_END = 1.5
"""Seat [mm] beyond a hump, for the rounding of its end."""

WELL_FLANK = math.tan(math.radians(20.0))
"""Least run of the well's flank over its fall: 20 degrees from the radius, ETRTO
Standards Manual 2017 p. R.8, read in a secondary transcription."""


class RimSide(StrictTable):
    """What differs on one side of the rim; else the keys of [rim] hold for it."""

    seat_wall_mm: Annotated[
        float | None, mm(3.5, 15, "Wall under this side's bead seat; else as [rim]")
    ] = None
    flange_width_mm: Annotated[
        float | None, mm(11, 20, "This side's flange width; else as [rim]")
    ] = None
    flange_wall_mm: Annotated[
        float | None, mm(3, 15, "Wall of this side's flange; else as [rim]")
    ] = None
    lip_height_mm: Annotated[
        float | None, mm(4, 35, "Height of this side's flange edge; else as [rim]")
    ] = None
    lip_run_mm: Annotated[
        float | None,
        mm(2, 25, "Width over which this side's lip runs out; else as [rim]"),
    ] = None
    edge_radius_mm: Annotated[
        float | None, mm(1, 4, "Rounding of this side's flange edge; else as [rim]")
    ] = None


class RimPlace(StrictTable):
    """Rim of any wheel: designation and inset."""

    size: str = Field(description="Rim designation, such as '8J x 18'")
    inset_mm: Annotated[
        float, mm(-60, 80, "Attachment face outboard of the rim centre plane")
    ]
    seat_width_mm: Annotated[
        float | None,
        mm(
            19.5,
            40,
            "Bead seats with their humps, ISO 4000-2 P; else 24, or what the "
            "humps need",
        ),
    ] = None

    @field_validator("size")
    @classmethod
    def _is_designation(cls, text: str) -> str:
        parse_rim_size(text)
        return text

    @property
    def seat_width(self) -> float:
        """Width of a bead seat [mm], given or the usual one."""
        return SEAT_WIDTH if self.seat_width_mm is None else self.seat_width_mm


class Rim(RimPlace):
    """The rim: 5-degree drop-centre contour with J flanges."""

    well_side: Literal["outboard", "inboard"] = Field(
        default="outboard", description="Side the well lies at, and tyres mount over"
    )
    well_depth_mm: Annotated[
        float | None,
        mm(17, 35, "Well below the specified diameter, ISO 4000-2 H; else 17.5 or 22"),
    ] = None
    well_width_mm: Annotated[float, mm(22, 80, "Well bottom, ISO 4000-2 L")] = 24.0
    well_position_mm: Annotated[
        float | None,
        mm(
            28,
            80,
            "Flange of well_side to the middle of the well; else 45, or what "
            "seat and flank need",
        ),
    ] = None
    well_radius_mm: Annotated[
        float,
        mm(
            4,
            30,
            "Radius of the well's corners, tyre side; beside a hump what has room",
        ),
    ] = 10.0
    well_wall_mm: Annotated[float, mm(3, 15, "Wall under the well")] = 6.5
    well_corner_wall_mm: Annotated[
        float | None,
        mm(
            3,
            30,
            "Wall of the well at its corner beside the flange, common practice 8 to "
            "16; windows end below it; else well_wall_mm",
        ),
    ] = None
    well_corner_run_mm: Annotated[
        float | None,
        mm(
            5,
            75,
            "From that corner, width over which its wall tapers to well_wall_mm, "
            "common practice; else the whole well",
        ),
    ] = None
    leg_wall_mm: Annotated[
        float, mm(2.5, 15, "Wall between the well and the seat far from it")
    ] = 5.0
    leg_seat_wall_mm: Annotated[
        float | None,
        mm(
            2.5,
            15,
            "Wall of the leg at the far seat, to which leg_wall_mm tapers, common "
            "practice 3 to 6; else the mean of leg_wall_mm and seat_wall_mm",
        ),
    ] = None
    leg_taper_mm: Annotated[
        float | None,
        mm(
            10,
            250,
            "From the well's flank, width over which the leg tapers to "
            "leg_seat_wall_mm, common practice; else the whole leg",
        ),
    ] = None
    leg_drop_mm: Annotated[
        float, mm(3, 20, "How far the leg lies below the specified diameter")
    ] = 7.0
    seat_wall_mm: Annotated[float, mm(3.5, 15, "Wall under the bead seats")] = 7.0
    humps: Literal["none", "outboard", "both"] = Field(
        default="none", description="Bead seats with a round hump"
    )
    hump_height_mm: Annotated[
        float, mm(0.5, 3, "Hump above the bead seat, which runs on under it")
    ] = 2.2
    hump_position_mm: Annotated[
        float, mm(19.5, 30, "Flange face to the top of the hump")
    ] = 21.0
    hump_radius_mm: Annotated[
        float, mm(5, 15, "Radius of the hump's top and of both its feet")
    ] = 6.0
    flange_width_mm: Annotated[float, mm(11, 20, "Flange width, ISO 4000-2 B")] = 12.0
    construction: Literal["one-piece", "two-piece"] = Field(
        default="one-piece",
        description="Two-piece: rim and centre are bonded at a joint; no bolt or weld",
    )
    joint_radius_mm: Annotated[
        float | None, mm(80, 300, "Two-piece: inner radius of the rim's leg")
    ] = None
    joint_leg_mm: Annotated[
        float | None,
        mm(4, 40, "Two-piece: thickness of the rim's leg; else it is right through"),
    ] = None
    flange_wall_mm: Annotated[
        float | None,
        mm(3, 15, "Wall of the flange at its foot; else it starts 2 mm inside it"),
    ] = None
    lip_height_mm: Annotated[
        float,
        mm(
            4,
            35,
            "Radial height of the flange's outer edge, common practice 8 to 14; above "
            "17.5 and the seat's wall it stands out into the barrel",
        ),
    ] = 9.0
    lip_run_mm: Annotated[
        float | None,
        mm(
            2,
            25,
            "From the flange face inward, width over which a lip that stands out into "
            "the barrel runs out, common practice; else 2",
        ),
    ] = None
    edge_radius_mm: Annotated[
        float | None, mm(1, 4, "Rounding of the flange's outer edge; else sharp")
    ] = None
    outboard_flange: Literal["lip", "run-out"] = Field(
        default="lip",
        description="Lip: free flange; run-out: the spokes' face runs out to its edge",
    )
    valve: Literal["left-out", "modelled"] = Field(
        default="left-out",
        description="Valve hole; modelled, the whole wheel is meshed, not a sector",
    )
    valve_mm: Annotated[float, mm(6, 20, "Diameter of the valve hole")] = 11.3
    valve_angle_deg: float | None = Field(
        default=None,
        ge=-180,
        le=180,
        description="Valve from the first spoke [deg]; else half a spoke's share",
    )
    valve_tilt_deg: float | None = Field(
        default=None,
        ge=-85,
        le=85,
        description="Lean of the valve from the axle outward [deg]; else square to the "
        "well's outboard flank",
    )
    inboard: RimSide | None = None
    outboard: RimSide | None = None

    @property
    def seat_width(self) -> float:
        """Width of a bead seat [mm], given, or the usual one with room for humps."""
        if self.seat_width_mm is not None or self.humps == "none":
            return super().seat_width
        return max(SEAT_WIDTH, math.ceil(2.0 * self.humped_seat) / 2.0)

    @property
    def hump_turn(self) -> float:
        """Slope of the hump's flanks against the seat [rad]."""
        # three arcs of radius R and slope a rise by 2 R (1 - cos a)
        return math.acos(1.0 - self.hump_height_mm / (2.0 * self.hump_radius_mm))

    @property
    def humped_seat(self) -> float:
        """Least width [mm] of a seat with a hump."""
        half = 2.0 * self.hump_radius_mm * math.sin(self.hump_turn)
        return self.hump_position_mm + (half + SEAT_END) * math.cos(SEAT_TAPER)

    @property
    def well_position(self) -> float:
        """From the flange to the well's middle [mm], given or the usual one."""
        if self.well_position_mm is not None:
            return self.well_position_mm
        least = self.nearest_well + self.well_width_mm / 2.0
        return max(WELL_POSITION, math.ceil(2.0 * least) / 2.0)

    @property
    def nearest_well(self) -> float:
        """From the flange to the near end of the well [mm], at least."""
        fall = self.well_depth - math.tan(SEAT_TAPER) * self.seat_width
        return self.seat_width + WELL_FLANK * fall

    @property
    def flange_to_leg(self) -> float:
        """From the well's flange to the leg, beyond the well's flank on it [mm]."""
        rise = self.well_depth - self.leg_drop_mm
        return self.well_position + self.well_width_mm / 2.0 + max(2.0 * rise, 1.0)

    @property
    def well_depth(self) -> float:
        """Depth of the well [mm], given or the usual one."""
        if self.well_depth_mm is not None:
            return self.well_depth_mm
        large = parse_rim_size(self.size).diameter_code >= LARGE_CODE
        return LARGE_WELL_DEPTH if large else WELL_DEPTH

    def on(self, side: int, key: str) -> float | None:
        """Value [mm] of a key of ``RimSide`` on a side: its own, or the rim's."""
        table = self.outboard if side > 0 else self.inboard
        own: float | None = None if table is None else getattr(table, key)
        common: float | None = getattr(self, key)
        return common if own is None else own

    def key_on(self, side: int, key: str) -> str:
        """Where in the file that value stands."""
        table, name = (
            (self.outboard, "outboard") if side > 0 else (self.inboard, "inboard")
        )
        own = table is not None and getattr(table, key) is not None
        return f"rim.{name}.{key}" if own else f"rim.{key}"

    def seat_wall(self, side: int) -> float:
        """Wall [mm] under the bead seat of a side."""
        return self.on(side, "seat_wall_mm") or self.seat_wall_mm

    def has_hump(self, side: int) -> bool:
        """Whether the seat of a side (-1 inboard, 1 outboard) has a hump."""
        return self.humps == "both" or (self.humps == "outboard" and side > 0)
