"""Names of a wheel's surfaces, and their plain words."""

ATTACHMENT = "attachment face"
BOLT_SEAT = "bolt seat"
WELL = "rim well"
WELL_CORNER = "rim well corner"
SEATS = ("bead seat inboard", "bead seat outboard")
HUMPS = ("hump inboard", "hump outboard")
FLANGES = {"inboard": "flange inboard", "outboard": "flange outboard"}
BEAD_SIDES = {-1: "flange inboard, bead side", 1: "flange outboard, bead side"}
"""Surfaces that the tests hold or load, the last by the side that z points to."""

NAMEABLE = (
    ATTACHMENT,
    *SEATS,
    *FLANGES.values(),
    *BEAD_SIDES.values(),
    WELL,
    BOLT_SEAT,
)
"""Surfaces the tests need, which a sidecar may name by group."""

RIM_SURFACES = (
    *SEATS,
    *FLANGES.values(),
    *BEAD_SIDES.values(),
    "flange edge inboard",
    "flange edge outboard",
    *HUMPS,
    "rim face",
    "rim inner",
    "rim inner corner",
    WELL,
    WELL_CORNER,
    "valve hole",
)
"""Surfaces that belong to the rim, and to its alloy where that differs."""

WORDS = {
    "attachment face": "attachment face",
    "bead seat inboard": "bead seat, inboard",
    "bead seat outboard": "bead seat, outboard",
    "bolt counterbore": "counterbore of a bolt hole",
    "bolt hole": "bolt hole",
    "bolt seat": "seat of a bolt hole",
    "bore chamfer": "chamfer of the centre bore",
    "cap recess": "cap recess",
    "cap recess fillet": "radius in the cap recess",
    "centre bore": "centre bore",
    "counterbore fillet": "radius in the counterbore of a bolt hole",
    "flange edge inboard": "edge of the rim flange, inboard",
    "flange edge outboard": "edge of the rim flange, outboard",
    "flange inboard": "rim flange, inboard",
    "flange inboard, bead side": "rim flange, inboard, bead side",
    "flange outboard": "rim flange, outboard",
    "flange outboard, bead side": "rim flange, outboard, bead side",
    "hub fillet, back": "fillet between hub and spoke, back side",
    "hub fillet, face": "fillet between hub and spoke, face side",
    "hub front": "front of the hub",
    "hub front side": "shoulder of the hub, face side",
    "hump inboard": "hump beside the bead seat, inboard",
    "hump outboard": "hump beside the bead seat, outboard",
    "pad side": "side of the hub pad, back side",
    "pocket fillet": "radius at the floor of a hub pocket",
    "pocket floor": "floor of a hub pocket",
    "pocket side": "side of a hub pocket",
    "relief": "relief of the attachment face",
    "relief fillet": "radius in the relief of the attachment face",
    "relief side": "step in the relief of the attachment face",
    "rim face": "face of the rim, between spokes and flange",
    "rim fillet, back": "fillet between spoke and rim, back side",
    "rim fillet, face": "fillet between spoke and rim, face side",
    "rim inner": "inner side of the rim",
    "rim inner corner": "corner of the rim well, inner side",
    "rim well": "rim well, tyre side",
    "rim well corner": "corner of the rim well, tyre side",
    "spoke back": "spoke, back side",
    "spoke edge, back": "rounded edge of a window, back side",
    "spoke edge, face": "rounded edge of a window, face side",
    "spoke face": "spoke, face side",
    "spoke pocket fillet": "floor radius of a back pocket",
    "spoke pocket floor": "floor of a back pocket",
    "spoke pocket wall": "wall of a back pocket",
    "spoke side": "side of a spoke",
    "undercut fillet": "radius of the undercut behind the spokes",
    "valve hole": "valve hole",
    "window corner, hub": "window corner, hub end",
    "window corner, side": "window corner at mid-length",
    "window edge": "rounded edge of a window",
    "window corner, rim": "window corner, rim end",
    "window hub end": "window edge at the hub",
    "window rim end": "window edge at the rim",
    "window side": "straight side of a window",
    "disc, back": "disc, back side",
    "disc, face": "disc, face side",
    "disc, side": "disc, side of a window or hole",
    "hub, back": "hub, back side",
    "hub, face": "hub, face side",
    "hub, side": "hub, bore, hole or side",
}
"""Plain words of each surface; those of ``disc`` and ``hub`` with a comma belong to
wheels that were not drawn here."""

SHAPED_BY = {
    "attachment face": "hub.pad_diameter_mm",
    "bead seat": "rim.seat_wall_mm",
    "bolt counterbore": "bolts.counterbore_mm",
    "bolt hole": "bolts.hole_mm",
    "bolt seat": "bolts.seat_mm",
    "bore chamfer": "hub.bore_chamfer_mm",
    "cap recess fillet": "hub.cap_radius_mm",
    "cap recess": "hub.cap_mm",
    "centre bore": "hub.bore_mm",
    "counterbore fillet": "bolts.counterbore_radius_mm",
    "flange edge": "rim.edge_radius_mm",
    "flange": "rim.flange_wall_mm",
    "hub fillet": "hub.fillet_mm",
    "hub": "hub.thickness_mm",
    "hump": "rim.hump_radius_mm",
    "pad side": "hub.pad_diameter_mm",
    "pocket fillet": "hub.pocket_radius_mm",
    "pocket": "hub.pocket_depth_mm",
    "relief fillet": "hub.relief_radius_mm",
    "relief": "hub.relief_depth_mm",
    "rim fillet": "spokes.rim_fillet_mm",
    "rim well corner": "rim.well_radius_mm",
    "rim well": "rim.well_wall_mm",
    "rim inner": "rim.leg_wall_mm",
    "rim face": "rim.seat_wall_mm",
    "spoke back": "spokes.root_depth_mm",
    "spoke edge, back": "spokes.back_edge_mm",
    "spoke edge, face": "spokes.face_edge_mm",
    "spoke face": "spokes.root_depth_mm",
    "spoke pocket fillet": "spokes.pocket.floor_radius_mm",
    "spoke pocket floor": "spokes.pocket.floor_mm",
    "spoke pocket wall": "spokes.pocket.wall_mm",
    "spoke side": "spokes.root_width_mm",
    "undercut fillet": "spokes.undercut_radius_mm",
    "valve hole": "rim.valve_mm",
    "window corner, rim": "spokes.rim_corner_mm",
    "window corner": "spokes.window_corner_mm",
    "window edge": "spokes",
    "window": "spokes.root_width_mm",
    "disc": "spokes.root_depth_mm",
}
"""Key of the design that shapes a surface most directly, by how the surface's name
begins; the first that fits counts."""


def key_shaping(surface: str) -> str:
    """Key of the design file that shapes a surface most directly.

    Examples
    --------
    >>> key_shaping("rim fillet, back"), key_shaping("window corner, hub")
    ('spokes.rim_fillet_mm', 'spokes.window_corner_mm')
    """
    return next((k for s, k in SHAPED_BY.items() if surface.startswith(s)), "name")
