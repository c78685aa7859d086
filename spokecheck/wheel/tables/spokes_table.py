"""Table [spokes] of the design file, with a table for each pattern that needs one."""

from typing import Annotated, Literal

from pydantic import Field

from spokecheck.wheel.tables.key_fields import StrictTable, mm

Number = Annotated[float, Field(strict=True)]
Point = Annotated[tuple[Number, Number], Field(strict=False)]


class Twin(StrictTable):
    """Pattern twin: two legs side by side in place of each spoke."""

    root_spacing_mm: Annotated[
        float, mm(5, 150, "Between the legs' centre-lines at the hub")
    ]
    tip_spacing_mm: Annotated[
        float, mm(5, 250, "Between the legs' centre-lines at the rim")
    ]


class Fork(StrictTable):
    """Pattern forked: one root, two rim feet; the tip width is that of each branch."""

    radius_mm: Annotated[float, mm(60, 300, "Radius at which the spoke divides")]
    tip_spacing_mm: Annotated[
        float, mm(15, 300, "Between the branches' centre-lines at the rim")
    ]


class Sweep(StrictTable):
    """Pattern swept: spokes leave the hub radially and bend to one side."""

    angle_deg: float = Field(
        ge=-60, le=60, description="By how much the rim end leads the hub end [deg]"
    )
    hand: Literal["one", "alternate"] = Field(
        default="one", description="All to one side, or by turns to either"
    )


class Lattice(StrictTable):
    """Pattern lattice: two straight legs from each root, which cross others."""

    lead_deg: float = Field(
        ge=3, le=60, description="By how much each leg leads or trails at the rim [deg]"
    )


class Plate(StrictTable):
    """Pattern plate: a disc with round or slotted windows; no spoke widths."""

    window: Literal["round", "slotted"] = Field(
        default="round", description="Round holes, or slots along a circle or radius"
    )
    circle_mm: Annotated[float, mm(120, 520, "Diameter through the windows' middles")]
    width_mm: Annotated[float, mm(12, 160, "Diameter of a hole, or width of a slot")]
    length_mm: Annotated[
        float | None, mm(14, 260, "Length of a slot over both ends, along its middle")
    ] = None
    along: Literal["circle", "radius"] = Field(
        default="circle", description="Which way slots run"
    )


class Course(StrictTable):
    """Pattern course: the centre-line of a spoke, point by point."""

    points_mm: tuple[Point, ...] = Field(
        min_length=2,
        max_length=12,
        strict=False,
        description="Points from hub to rim: along the spoke's radius, and to its left "
        "[mm]; three or more are joined by a curve",
    )
    widths_mm: tuple[Number, ...] | None = Field(
        default=None,
        strict=False,
        description="Width at each point [mm]; else from root to tip width",
    )


class Pocket(StrictTable):
    """Hollow in the back of each spoke."""

    wall_mm: Annotated[float, mm(4, 40, "Metal left at either side of the pocket")]
    floor_mm: Annotated[float, mm(4, 60, "Metal left between the floor and the face")]
    floor_radius_mm: Annotated[float, mm(2, 15, "Radius between floor and walls")] = 4.0
    corner_mm: Annotated[float, mm(3, 40, "Radius of its corners, face view")] = 6.0
    start_mm: Annotated[
        float, mm(0, 150, "From the windows' hub end outward to the pocket")
    ] = 10.0
    end_mm: Annotated[
        float, mm(3, 150, "From the windows' rim end inward to the pocket")
    ] = 15.0


class SpokeCount(StrictTable):
    """Spokes of any wheel: how many are equal."""

    count: int = Field(
        default=1, ge=1, le=24, description="Number of equal spokes; 1: none are equal"
    )


class Spokes(SpokeCount):
    """The spokes, or what stands in their place: metal left between windows."""

    pattern: Literal[
        "straight", "twin", "forked", "swept", "lattice", "plate", "course"
    ] = Field(default="straight", description="Spoke pattern")
    count: int = Field(ge=3, le=24, description="Number of spokes, or of windows")
    root_width_mm: Annotated[
        float | None, mm(5, 150, "Width at the hub; all patterns but plate")
    ] = None
    tip_width_mm: Annotated[
        float | None, mm(5, 200, "Width at the rim; all patterns but plate")
    ] = None
    root_depth_mm: Annotated[float, mm(8, 80, "Axial depth at the hub")]
    tip_depth_mm: Annotated[float, mm(6, 60, "Axial depth at the rim")]
    root_face_mm: Annotated[
        float, mm(-20, 120, "Spoke face outboard of the attachment face, at the hub")
    ]
    tip_face_mm: Annotated[
        float, mm(-40, 150, "Spoke face outboard of the attachment face, at the rim")
    ]
    face_bow_mm: Annotated[
        float, mm(-25, 25, "How far the face bows outboard at mid-span; < 0: hollow")
    ] = 0.0
    back_bow_mm: Annotated[
        float, mm(-25, 25, "How far the back bows outboard at mid-span")
    ] = 0.0
    root_radius_mm: Annotated[
        float, mm(50, 160, "Radius at which the windows end towards the hub")
    ]
    window_corner_mm: Annotated[float, mm(3, 60, "Window corner radius")] = 12.0
    rim_corner_mm: Annotated[
        float | None, mm(3, 60, "Window corner radius at the rim; else as the others")
    ] = None
    draft_deg: float = Field(
        default=0.0,
        ge=0,
        le=8,
        description="Slope of the windows' sides, which widen towards the back [deg]",
    )
    face_edge_mm: Annotated[
        float | None,
        mm(
            1,
            4,
            "Rounding of the windows' edges on the face, slow to build; else sharp",
        ),
    ] = None
    back_edge_mm: Annotated[
        float | None,
        mm(
            1,
            4,
            "Rounding of the windows' edges on the back, slow to build; else sharp",
        ),
    ] = None
    rim_gap_mm: Annotated[
        float, mm(0.5, 20, "Radial gap between windows and the rim wall")
    ] = 2.0
    rim_fillet_mm: Annotated[float, mm(3, 40, "Radius between spokes and rim")] = 9.0
    undercut_mm: Annotated[
        float | None,
        mm(
            1,
            40,
            "Depth of a groove turned into the spokes' back beside the rim, common "
            "practice 3 to 10; else none",
        ),
    ] = None
    undercut_width_mm: Annotated[
        float,
        mm(
            5,
            150,
            "Undercut: from the rim's smallest inner radius inward to its edge, common "
            "practice",
        ),
    ] = 25.0
    undercut_radius_mm: Annotated[
        float, mm(2, 30, "Undercut: radius at the foot of its slope of 45 degrees")
    ] = 6.0
    twin: Twin | None = None
    fork: Fork | None = None
    sweep: Sweep | None = None
    lattice: Lattice | None = None
    plate: Plate | None = None
    course: Course | None = None
    pocket: Pocket | None = None

    @property
    def repeats(self) -> int:
        """Number of equal parts of the pattern round the wheel."""
        sweep = self.sweep if self.pattern == "swept" else None
        by_turns = sweep is not None and sweep.hand == "alternate"
        return self.count // 2 if by_turns else self.count

    @property
    def mirrored(self) -> bool:
        """Whether the two sides of a spoke are mirror images."""
        return self.pattern not in ("swept", "course")
