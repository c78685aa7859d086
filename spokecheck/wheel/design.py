"""The design file as a record: what a wheel is told by, in mm, degrees, kg and kPa.

The record is the contract of the file, and ``spokecheck schema`` prints it as a JSON
Schema. Each field carries its own range; what two fields may not do together stands in
``limits``.
"""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from spokecheck.wheel.sizes import parse_rim_size, parse_tyre_size

FORMAT = 1
"""Number of the design-file format; raised when an old file would be read otherwise."""


def _mm(low: float, high: float, text: str) -> object:
    return Field(ge=low, le=high, description=f"{text} [mm]")


class _Part(BaseModel):
    """A table of the file: no unknown key, no silent conversion, no later change."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Rim(_Part):
    """The rim: 5-degree drop-centre contour with J flanges."""

    size: str = Field(description="Rim designation, such as '8J x 18'")
    inset_mm: Annotated[
        float, _mm(-60, 80, "Attachment face outboard of the rim centre plane")
    ]
    well_depth_mm: Annotated[
        float, _mm(17, 35, "Well below the specified diameter, ISO 4000-2 H")
    ] = 17.5
    well_width_mm: Annotated[float, _mm(22, 80, "Well bottom, ISO 4000-2 L")] = 24.0
    well_position_mm: Annotated[
        float, _mm(28, 60, "Outboard flange to the middle of the well, ISO 4000-2 M")
    ] = 45.0
    seat_width_mm: Annotated[float, _mm(19.5, 40, "Bead seats, ISO 4000-2 P")] = 24.0
    seat_wall_mm: Annotated[float, _mm(4, 15, "Wall under the bead seats")] = 7.0
    well_wall_mm: Annotated[float, _mm(4, 15, "Wall under the well")] = 6.5
    leg_wall_mm: Annotated[
        float, _mm(3, 15, "Wall between the well and the inboard seat")
    ] = 5.0
    leg_drop_mm: Annotated[
        float, _mm(3, 20, "How far the leg lies below the specified diameter")
    ] = 7.0
    flange_width_mm: Annotated[float, _mm(11, 20, "Flange width, ISO 4000-2 B")] = 12.0

    @field_validator("size")
    @classmethod
    def _is_designation(cls, text: str) -> str:
        parse_rim_size(text)
        return text


class Hub(_Part):
    """The hub: centre bore and pad."""

    bore_mm: Annotated[float, _mm(40, 120, "Centre bore diameter")]
    pad_diameter_mm: Annotated[float, _mm(100, 260, "Attachment face diameter")]
    thickness_mm: Annotated[
        float, _mm(15, 90, "Attachment face to the front of the hub")
    ]
    fillet_mm: Annotated[float, _mm(3, 40, "Radius between hub and spokes")] = 12.0


class Bolts(_Part):
    """The bolt circle and its holes, with 60-degree cone seats."""

    count: int = Field(ge=3, le=10, description="Number of bolts")
    pitch_circle_mm: Annotated[float, _mm(90, 225, "Pitch circle diameter")]
    hole_mm: Annotated[float, _mm(11, 26, "Bolt hole diameter")] = 15.0
    seat_mm: Annotated[
        float, _mm(16, 45, "Outer diameter of the cone seat and its counterbore")
    ] = 27.0
    land_mm: Annotated[
        float, _mm(4, 40, "Attachment face to the small end of the cone seat")
    ] = 9.0
    angle_deg: float = Field(
        default=0.0,
        ge=-180,
        le=180,
        description="First bolt from the first spoke [deg]",
    )


class Spokes(_Part):
    """The spokes: straight, between windows with rounded corners."""

    pattern: Literal["straight"] = Field(
        default="straight", description="Spoke pattern"
    )
    count: int = Field(ge=3, le=24, description="Number of spokes")
    root_width_mm: Annotated[float, _mm(10, 150, "Width at the hub")]
    tip_width_mm: Annotated[float, _mm(10, 200, "Width at the rim")]
    root_depth_mm: Annotated[float, _mm(8, 80, "Axial depth at the hub")]
    tip_depth_mm: Annotated[float, _mm(6, 60, "Axial depth at the rim")]
    root_face_mm: Annotated[
        float, _mm(-20, 120, "Spoke face outboard of the attachment face, at the hub")
    ]
    tip_face_mm: Annotated[
        float, _mm(-40, 150, "Spoke face outboard of the attachment face, at the rim")
    ]
    root_radius_mm: Annotated[
        float, _mm(50, 160, "Radius at which the windows end towards the hub")
    ]
    window_corner_mm: Annotated[float, _mm(3, 60, "Window corner radius")] = 12.0
    rim_gap_mm: Annotated[
        float, _mm(0.5, 20, "Radial gap between windows and the rim wall")
    ] = 2.0
    rim_fillet_mm: Annotated[float, _mm(3, 40, "Radius between spokes and rim")] = 9.0


class Duty(_Part):
    """What the wheel has to carry."""

    rating_kg: float = Field(
        ge=150, le=1600, description="Maximum load of the wheel [kg]"
    )
    tyre: str | None = Field(
        default=None, description="Largest tyre, such as '225/45R18'"
    )
    free_radius_mm: float | None = Field(
        default=None, ge=200, le=500, description="Radius of the unloaded tyre [mm]"
    )
    dynamic_radius_mm: float | None = Field(
        default=None, ge=200, le=500, description="Rolling circumference/(2 pi) [mm]"
    )
    pressure_kpa: float = Field(
        default=450.0, ge=150, le=900, description="Pressure in the drum test [kPa]"
    )
    category: Literal["M1", "O1"] = Field(
        default="M1", description="Vehicle category: M1 with M1G, or O1 with O2"
    )

    @field_validator("tyre")
    @classmethod
    def _is_tyre(cls, text: str | None) -> str | None:
        if text is not None:
            parse_tyre_size(text)
        return text


class Material(_Part):
    """Alloy, process and what is known of the casting or forging."""

    alloy: str = Field(description="Alloy of spokes and hub, from 'spokecheck alloys'")
    rim_alloy: str | None = Field(
        default=None, description="Alloy of the rim where it differs (flow-formed)"
    )
    survival: float = Field(
        default=0.975, gt=0, lt=1, description="Survival probability of the allowable"
    )
    surface_rz_um: float | None = Field(
        default=None, ge=0, le=400, description="Roughness Rz; else that of the process"
    )


class Design(_Part):
    """A whole design file."""

    format: Literal[1] = Field(default=1, description="Format of this file")
    name: str = Field(min_length=1, max_length=80, description="Name of the variant")
    note: str = Field(default="", description="Free text, carried to the report")
    rim: Rim
    hub: Hub
    bolts: Bolts
    spokes: Spokes
    duty: Duty
    material: Material

    @property
    def attachment(self) -> float:
        """Axial position of the attachment face [mm]."""
        return self.rim.inset_mm

    @property
    def free_radius(self) -> float:
        """Radius of the unloaded tyre [mm]; needs ``tyre`` or an explicit radius."""
        if self.duty.free_radius_mm is not None:
            return self.duty.free_radius_mm
        assert self.duty.tyre is not None
        return parse_tyre_size(self.duty.tyre).free_radius

    @property
    def dynamic_radius(self) -> float:
        """Dynamic radius of the tyre [mm]; needs ``tyre`` or an explicit radius."""
        if self.duty.dynamic_radius_mm is not None:
            return self.duty.dynamic_radius_mm
        assert self.duty.tyre is not None
        return parse_tyre_size(self.duty.tyre).dynamic_radius
