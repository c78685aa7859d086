"""Table [rim] of the design file."""

from typing import Annotated, Literal

from pydantic import Field, field_validator

from spokecheck.wheel.fields import Part, mm
from spokecheck.wheel.sizes import parse_rim_size


class RimPlace(Part):
    """What any wheel tells of its rim: designation, and where the hub sits in it."""

    size: str = Field(description="Rim designation, such as '8J x 18'")
    inset_mm: Annotated[
        float, mm(-60, 80, "Attachment face outboard of the rim centre plane")
    ]
    seat_width_mm: Annotated[float, mm(19.5, 40, "Bead seats, ISO 4000-2 P")] = 24.0

    @field_validator("size")
    @classmethod
    def _is_designation(cls, text: str) -> str:
        parse_rim_size(text)
        return text


class Rim(RimPlace):
    """The rim: 5-degree drop-centre contour with J flanges."""

    well_depth_mm: Annotated[
        float, mm(17, 35, "Well below the specified diameter, ISO 4000-2 H")
    ] = 17.5
    well_width_mm: Annotated[float, mm(22, 80, "Well bottom, ISO 4000-2 L")] = 24.0
    well_position_mm: Annotated[
        float, mm(28, 60, "Outboard flange to the middle of the well, ISO 4000-2 M")
    ] = 45.0
    seat_wall_mm: Annotated[float, mm(4, 15, "Wall under the bead seats")] = 7.0
    well_wall_mm: Annotated[float, mm(4, 15, "Wall under the well")] = 6.5
    leg_wall_mm: Annotated[
        float, mm(3, 15, "Wall between the well and the inboard seat")
    ] = 5.0
    leg_drop_mm: Annotated[
        float, mm(3, 20, "How far the leg lies below the specified diameter")
    ] = 7.0
    well_radius_mm: Annotated[
        float, mm(4, 30, "Radius of the well's corners, tyre side")
    ] = 12.0
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
