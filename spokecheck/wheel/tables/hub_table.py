"""Tables [hub] and [bolts] of the design file."""

from typing import Annotated, Literal

from pydantic import Field

from spokecheck.wheel.tables.key_fields import StrictTable, mm

CAP_RADIUS, COUNTERBORE_RADIUS = 4.0, 3.0
"""Radii [mm] where none is given and there is room, common practice."""


class HubPlace(StrictTable):
    """Hub of any wheel: centre bore and pad."""

    bore_mm: Annotated[float, mm(40, 120, "Centre bore diameter")]
    pad_diameter_mm: Annotated[float, mm(100, 260, "Attachment face diameter")]


class Hub(HubPlace):
    """The hub: centre bore, pad, and what is taken out of them."""

    thickness_mm: Annotated[
        float, mm(15, 90, "Attachment face to the front of the hub")
    ]
    fillet_mm: Annotated[float, mm(3, 40, "Radius between hub and spokes")] = 12.0
    bore_chamfer_mm: Annotated[
        float | None, mm(0.5, 6, "45-degree chamfer of the bore, back side; else none")
    ] = None
    cap_mm: Annotated[
        float | None, mm(45, 200, "Diameter of the cap recess in the front; else none")
    ] = None
    cap_depth_mm: Annotated[
        float, mm(2, 70, "Front of the hub to the floor of the cap recess")
    ] = 10.0
    cap_radius_mm: Annotated[
        float | None,
        mm(
            1,
            12,
            "Radius between floor and side of the cap recess; else 4, or what floor "
            "and depth have room for",
        ),
    ] = None
    relief_inner_mm: Annotated[
        float | None,
        mm(45, 220, "Diameter inside which the attachment face is relieved; else none"),
    ] = None
    relief_outer_mm: Annotated[
        float | None,
        mm(
            95, 255, "Diameter outside which the attachment face is relieved; else none"
        ),
    ] = None
    relief_depth_mm: Annotated[
        float, mm(1, 8, "Depth of the attachment face's relief")
    ] = 1.5
    relief_radius_mm: Annotated[
        float, mm(2, 12, "Radius at the foot of the relief's 45-degree step")
    ] = 3.0
    pocket_side: Literal["none", "back", "face"] = Field(
        default="none",
        description="Side from which pockets between the bolts lighten the hub",
    )
    pocket_mm: Annotated[float, mm(10, 60, "Pocket diameter at its mouth")] = 22.0
    pocket_circle_mm: Annotated[
        float | None,
        mm(80, 240, "Circle of the pockets' axes; else the bolts' pitch circle"),
    ] = None
    pocket_depth_mm: Annotated[
        float, mm(3, 70, "Pocket depth from the attachment face or the hub's front")
    ] = 15.0
    pocket_radius_mm: Annotated[
        float, mm(2, 15, "Radius between floor and side of a pocket")
    ] = 5.0
    pocket_draft_deg: float = Field(
        default=3.0, ge=0, le=15, description="Draft of the pocket's side [deg]"
    )

    @property
    def cap_radius(self) -> float:
        """Radius [mm] at the floor of the cap recess, given or the usual one."""
        if self.cap_radius_mm is not None or self.cap_mm is None:
            return self.cap_radius_mm or CAP_RADIUS
        step = (self.cap_mm - self.bore_mm) / 2.0
        return max(min(CAP_RADIUS, step, self.cap_depth_mm), 1.0)

    @property
    def chamfer(self) -> float:
        """Chamfer of the bore [mm]; 0 for none."""
        return 0.0 if self.bore_chamfer_mm is None else self.bore_chamfer_mm

    @property
    def inner_step(self) -> float:
        """Height [mm] by which the back is relieved at the bore."""
        return 0.0 if self.relief_inner_mm is None else self.relief_depth_mm

    @property
    def outer_step(self) -> float:
        """Height [mm] by which the back is relieved at the pad's edge."""
        return 0.0 if self.relief_outer_mm is None else self.relief_depth_mm


class BoltCircle(StrictTable):
    """Bolts of any wheel: circle, holes and seats."""

    count: int = Field(ge=3, le=10, description="Number of bolts")
    pitch_circle_mm: Annotated[float, mm(90, 225, "Pitch circle diameter")]
    hole_mm: Annotated[float, mm(11, 26, "Bolt hole diameter")] = 15.0
    seat: Literal["cone", "ball"] = Field(
        default="cone", description="Seat of the bolts: 60-degree cone, or ball"
    )
    ball_radius_mm: Annotated[float, mm(8, 24, "Radius of a ball seat")] = 14.0
    seat_mm: Annotated[float, mm(16, 45, "Outer diameter of the seat")] = 27.0


class Bolts(BoltCircle):
    """The bolt circle and its holes, with cone or ball seats."""

    land_mm: Annotated[
        float, mm(4, 40, "Attachment face to the small end of the seat")
    ] = 9.0
    counterbore_mm: Annotated[
        float | None,
        mm(16, 70, "Diameter of the counterbore above the seat; else that of the seat"),
    ] = None
    counterbore_radius_mm: Annotated[
        float | None,
        mm(
            1,
            10,
            "Radius at the foot of the counterbore; else 3, or what the step beside "
            "the seat has room for",
        ),
    ] = None
    angle_deg: float = Field(
        default=0.0,
        ge=-180,
        le=180,
        description="First bolt from the first spoke [deg]",
    )

    @property
    def counterbore_radius(self) -> float:
        """Radius [mm] at the foot of the counterbore, given or the usual one."""
        if self.counterbore_radius_mm is not None:
            return self.counterbore_radius_mm
        step = self.reach - self.seat_mm / 2.0
        return (
            max(min(COUNTERBORE_RADIUS, step), 1.0)
            if step > 0.0
            else COUNTERBORE_RADIUS
        )

    @property
    def reach(self) -> float:
        """Largest radius [mm] of a bolt hole, its counterbore included."""
        wide = self.seat_mm if self.counterbore_mm is None else self.counterbore_mm
        return wide / 2.0
