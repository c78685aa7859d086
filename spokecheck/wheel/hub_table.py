"""Tables [hub] and [bolts] of the design file."""

from typing import Annotated

from pydantic import Field

from spokecheck.wheel.fields import Part, mm


class Hub(Part):
    """The hub: centre bore and pad."""

    bore_mm: Annotated[float, mm(40, 120, "Centre bore diameter")]
    pad_diameter_mm: Annotated[float, mm(100, 260, "Attachment face diameter")]
    thickness_mm: Annotated[
        float, mm(15, 90, "Attachment face to the front of the hub")
    ]
    fillet_mm: Annotated[float, mm(3, 40, "Radius between hub and spokes")] = 12.0


class Bolts(Part):
    """The bolt circle and its holes, with 60-degree cone seats."""

    count: int = Field(ge=3, le=10, description="Number of bolts")
    pitch_circle_mm: Annotated[float, mm(90, 225, "Pitch circle diameter")]
    hole_mm: Annotated[float, mm(11, 26, "Bolt hole diameter")] = 15.0
    seat_mm: Annotated[
        float, mm(16, 45, "Outer diameter of the cone seat and its counterbore")
    ] = 27.0
    land_mm: Annotated[
        float, mm(4, 40, "Attachment face to the small end of the cone seat")
    ] = 9.0
    angle_deg: float = Field(
        default=0.0,
        ge=-180,
        le=180,
        description="First bolt from the first spoke [deg]",
    )
