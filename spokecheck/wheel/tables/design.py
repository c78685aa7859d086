"""The design file as a record, in mm, degrees, kg and kPa.

The record defines the file, and ``spokecheck schema`` prints it as a JSON
Schema. Each field carries its own range; what two fields may not do together stands in
``limits``.
"""

import math
from collections.abc import Mapping
from typing import Literal, Self

from pydantic import Field, PrivateAttr, field_validator

from spokecheck.wheel.tables.hub_table import BoltCircle, Bolts, Hub, HubPlace
from spokecheck.wheel.tables.key_fields import StrictTable
from spokecheck.wheel.tables.rim_table import Rim, RimPlace
from spokecheck.wheel.tables.sizes import LOADED_FACTOR, parse_tyre_size
from spokecheck.wheel.tables.spokes_table import SpokeCount, Spokes

FORMAT = 1
"""Number of the design-file format; raised when an old file would be read otherwise."""

COMMAND_LINE = "given on the command line or in spokecheck.toml"
"""Basis of a value that takes the place of the file's."""


class Duty(StrictTable):
    """Load rating, tyre and tests of the wheel."""

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
    loaded_radius_mm: float | None = Field(
        default=None,
        ge=180,
        le=500,
        description="Static loaded radius of the tyre [mm]; else estimated",
    )
    axle_load_kg: float | None = Field(
        default=None,
        ge=300,
        le=3200,
        description="Greatest static load of the axle [kg], for SAE J328",
    )
    pressure_kpa: float | None = Field(
        default=None,
        ge=150,
        le=900,
        description="Pressure in the drum test [kPa]; else that of the procedure",
    )
    speed_kmh: float | None = Field(
        default=None,
        ge=10,
        le=300,
        description="Speed on the drum [km/h]; given, the centrifugal load enters",
    )
    category: Literal["M1", "M1G", "N1", "O1", "O2"] = Field(
        default="M1", description="Vehicle category"
    )
    procedures: tuple[str, ...] = Field(
        default=("un-r124",),
        min_length=1,
        strict=False,
        description="Test procedures, from 'spokecheck procedures'",
    )
    tests: tuple[Literal["cornering", "radial"], ...] = Field(
        default=("cornering", "radial"),
        min_length=1,
        strict=False,
        description="Tests to screen",
    )
    clamped_flange: Literal["inboard", "outboard"] | None = Field(
        default=None,
        description="Rim flange held in the cornering test; else the procedure's",
    )
    inboard_share: float = Field(
        default=0.5,
        ge=0.2,
        le=0.8,
        description="Share of the radial load on the inboard bead seat",
    )
    patch_half_angle_deg: float = Field(
        default=40.0,
        ge=10,
        le=90,
        description="Half-angle of the tyre's patch on the bead seats [deg]",
    )
    bolt_torque_nm: float | None = Field(
        default=None,
        ge=20,
        le=400,
        description="Tightening torque [N m]; given, the bolts' clamp force enters",
    )
    bolt_thread_mm: float | None = Field(
        default=None, ge=8, le=22, description="Nominal thread diameter [mm]"
    )
    bolt_torque_factor: float = Field(
        default=0.3,
        ge=0.1,
        le=0.6,
        description="K in torque = K F d; 0.2 to 0.4 for a 60-degree cone, 0.15 to 0.3 "
        "for a ball",
    )

    @field_validator("tyre")
    @classmethod
    def _is_tyre(cls, text: str | None) -> str | None:
        if text is not None:
            parse_tyre_size(text)
        return text


class MaterialTable(StrictTable):
    """Alloy, process and quality of the casting or forging."""

    alloy: str = Field(description="Alloy of spokes and hub, from 'spokecheck alloys'")
    rim_alloy: str | None = Field(
        default=None, description="Alloy of the rim where it differs (flow-formed)"
    )
    sn: Literal["alloy", "fkm"] = Field(
        default="alloy",
        description="S-N line: the alloy's own, or the FKM estimate from its strength",
    )
    survival: float = Field(
        default=0.975, gt=0, lt=1, description="Survival probability of the allowable"
    )
    surface_rz_um: float | None = Field(
        default=None, ge=0, le=400, description="Roughness Rz; else that of the process"
    )
    hardness_hb: float | None = Field(
        default=None, gt=0, description="Brinell hardness measured on the part"
    )
    defect_sqrt_area_um: float | None = Field(
        default=None,
        gt=0,
        description="Root of the area of the largest surface defect let through [um]",
    )
    casting_factor: float | None = Field(
        default=None, gt=0, le=2, description="Casting or section quality; user's"
    )
    peening_factor: float = Field(
        default=1.0, gt=0, le=2, description="Peening or rolling; user's"
    )
    coating_factor: float = Field(
        default=1.0, gt=0, le=2, description="Anodising or paint; user's"
    )
    temperature_c: float = Field(default=20.0, description="Service temperature [C]")
    bake_temperature_c: float | None = Field(
        default=None, description="Paint bake of less than an hour [C]"
    )
    measure: Literal["ellipse", "hypersphere", "normal"] = Field(
        default="ellipse", description="Amplitude to rank by"
    )
    support: Literal["none", "point", "line", "fkm"] = Field(
        default="none",
        description="Notch support: critical distance, or the FKM factor; off",
    )
    critical_distance_mm: float | None = Field(
        default=None,
        gt=0,
        le=2,
        description="Critical distance L for point (L/2) or line (2L) [mm]",
    )


class Brief(StrictTable):
    """Tables that every wheel has, whether drawn here or from elsewhere."""

    format: Literal[1] = Field(default=1, description="Format of this file")
    name: str = Field(min_length=1, max_length=80, description="Name of the variant")
    note: str = Field(default="", description="Free text, carried to the report")
    rim: RimPlace
    hub: HubPlace
    bolts: BoltCircle
    spokes: SpokeCount
    duty: Duty
    material: MaterialTable

    _overrides: Mapping[str, object] = PrivateAttr(default_factory=dict)

    @property
    def overrides(self) -> Mapping[str, object]:
        """Values given on the command line in place of those of the file, by key."""
        return self._overrides

    def overridden(self, overrides: Mapping[str, object]) -> Self:
        """The same record, noting which values were given on the command line."""
        noted = self.model_copy()
        noted._overrides = dict(overrides)
        return noted

    def basis(self, key: str, otherwise: str) -> str:
        """Basis of a key's value: where it was given, and ``otherwise``."""
        if key in self._overrides:
            return f"{COMMAND_LINE}; {otherwise}"
        return otherwise

    @property
    def aligned(self) -> bool:
        """Whether the first spoke is known to point along +x."""
        return False

    @property
    def mirrored(self) -> bool:
        """Whether a place and its mirror image beside a spoke are equivalent."""
        return False

    @property
    def mirror_plane(self) -> float | None:
        """Angle [rad] of a plane through the axle that maps the wheel onto itself."""
        return None

    @property
    def copies_alike(self) -> int:
        """Number of equal spokes, or of equal groups of spokes."""
        return self.spokes.count

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

    @property
    def loaded_radius(self) -> float:
        """Static loaded radius of the tyre [mm], estimated unless given."""
        if self.duty.loaded_radius_mm is not None:
            return self.duty.loaded_radius_mm
        return LOADED_FACTOR * self.free_radius


class Design(Brief):
    """A whole design file: what is needed to draw a wheel."""

    rim: Rim
    hub: Hub
    bolts: Bolts
    spokes: Spokes

    @property
    def aligned(self) -> bool:
        """Whether the first spoke is known to point along +x."""
        return True

    @property
    def mirrored(self) -> bool:
        """Whether a place and its mirror image beside a spoke are equivalent."""
        return self.spokes.mirrored

    @property
    def mirror_plane(self) -> float | None:
        """Angle [rad] of a plane through the axle that maps the wheel onto itself.

        Planes through a spoke's middle, or between two, mirror the spokes; of these one
        may mirror the bolts too.  None if there is none, or if the valve hole is
        modelled.
        """
        if not self.mirrored or self.rim.valve == "modelled":
            return None
        pitch = 2.0 * math.pi / self.bolts.count
        for k in range(2 * self.spokes.repeats):
            plane = k * math.pi / self.spokes.repeats
            # the mirror image of the first bolt has to lie on a bolt
            turn = 2.0 * (math.radians(self.bolts.angle_deg) - plane) / pitch
            if abs(turn - round(turn)) < 1e-6:
                return plane
        return None

    @property
    def copies_alike(self) -> int:
        """Number of equal spokes, or of equal groups of spokes."""
        return self.spokes.repeats
