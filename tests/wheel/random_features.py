"""What random wheels have beyond the plain one: each feature rarely, from its seed.

Features draw from numbers of their own, so a design without them is the same whatever
is added here.
"""

import numpy as np

from spokecheck.wheel.tables.sizes import parse_rim_size

MODELLED_VALVE = 0.01
"""Share of wheels with a valve hole: each is meshed as a whole, a minute's work."""

EDGES = 0.0
"""Share of wheels with rounded window edges: none, since two of seven tried took the
kernel more than 30 s, and their reliability is not measured."""


def with_features(seed, design):
    """The same tables with the features of a seed."""
    rng = np.random.default_rng([seed, 7])
    for share, feature in FEATURES:
        if rng.random() < share:
            feature(rng, design)
    return design


def features(design):
    """Names of what a raw design has beyond the plain wheel."""
    rim, hub, spokes = design["rim"], design["hub"], design["spokes"]
    message = {
        "two-piece": "construction" in rim,
        "second alloy": "rim_alloy" in design["material"],
        "run-out": "outboard_flange" in rim,
        "humps": "humps" in rim,
        "valve hole": "valve" in rim,
        "tapering leg": "leg_seat_wall_mm" in rim,
        "thick lip": "lip_height_mm" in rim.get("inboard", {}),
        "well corner": "well_corner_wall_mm" in rim,
        "inboard well": "well_side" in rim,
        "flanges": "lip_height_mm" in rim,
        "flange of a side": "inboard" in rim or "outboard" in rim,
        "back relief": "relief_depth_mm" in hub,
        "cap recess": "cap_mm" in hub,
        "bore chamfer": "bore_chamfer_mm" in hub,
        "hub pockets": "pocket_side" in hub,
        "counterbore": "counterbore_mm" in design["bolts"],
        "turned bolts": "angle_deg" in design["bolts"],
        "bows": "face_bow_mm" in spokes,
        "rim corner": "rim_corner_mm" in spokes,
        "rounded edges": "face_edge_mm" in spokes or "back_edge_mm" in spokes,
        "undercut": "undercut_mm" in spokes,
        "back pocket": "pocket" in spokes,
    }
    return [name for name, there in message.items() if there]


def _humps(rng, design):
    design["rim"] |= {"humps": str(rng.choice(["outboard", "both"])),
                      "seat_width_mm": rng.uniform(27.2, 27.7),
                      "well_position_mm": 46.0,
                      "hump_height_mm": rng.uniform(0.8, 1.0)}  # fmt: skip


def _leg_taper(rng, design):
    rim = design["rim"]
    rim["leg_seat_wall_mm"] = rim["leg_wall_mm"] * rng.uniform(0.6, 0.95)
    if rng.random() < 0.5:
        rim["leg_taper_mm"] = rng.uniform(15.0, 60.0)


def _thick_lip(rng, design):
    rim = design["rim"]
    deep = rng.random() < 0.5 and "flange_wall_mm" not in rim
    lip = {"lip_height_mm": rng.uniform(10.0, 14.0)}
    if deep:
        wall = rim.get("inboard", rim).get("seat_wall_mm", rim["seat_wall_mm"])
        lip = {"lip_height_mm": 17.5 + wall + rng.uniform(1.0, 5.0),
               "lip_run_mm": rng.uniform(4.0, 16.0)}  # fmt: skip
    rim["inboard"] = rim.get("inboard", {}) | lip


def _well_corner(rng, design):
    rim = design["rim"]
    rim["well_wall_mm"] = rng.uniform(4.5, 8.0)
    rim["well_corner_wall_mm"] = rim["well_wall_mm"] + rng.uniform(1.0, 5.0)
    if rng.random() < 0.5:
        rim["well_corner_run_mm"] = rng.uniform(11.0, 18.0)


def _inboard_well(rng, design):
    design["rim"]["well_side"] = "inboard"


def _flanges(rng, design):
    design["rim"] |= {"lip_height_mm": rng.uniform(7.0, 12.0),
                      "flange_width_mm": rng.uniform(11.0, 14.0)}  # fmt: skip
    if rng.random() < 0.6:
        design["rim"] |= {"edge_radius_mm": rng.uniform(1.0, 1.5),
                          "flange_width_mm": rng.uniform(12.1, 14.0)}  # fmt: skip
    if rng.random() < 0.5:
        design["rim"]["flange_wall_mm"] = rng.uniform(5.0, 8.0)


def _flange_of_a_side(rng, design):
    side = str(rng.choice(["inboard", "outboard"]))
    design["rim"][side] = {"seat_wall_mm": rng.uniform(6.0, 10.0),
                           "flange_width_mm": rng.uniform(11.0, 15.0)}  # fmt: skip


def _run_out(rng, design):
    """The face meets the flange's edge from where the spokes leave the rim."""
    design["rim"]["outboard_flange"] = "run-out"
    design["spokes"]["tip_face_mm"] += 3.0


def _two_piece(rng, design):
    """A joint across the spokes, at two thirds of their length or so."""
    rim, spokes = design["rim"], design["spokes"]
    tip = parse_rim_size(rim["size"]).diameter / 2.0 - 17.5 - rim["well_wall_mm"]
    root = spokes["root_radius_mm"]
    joint = root + (tip - root) * rng.uniform(0.55, 0.8)
    rim |= {"construction": "two-piece", "joint_radius_mm": joint}
    if rng.random() < 0.5:
        rim["joint_leg_mm"] = rng.uniform(8.0, 14.0)


def _second_alloy(rng, design):
    design["material"] = {"alloy": "a356-t6-low-pressure",
                          "rim_alloy": "a356-t6-flow-formed"}  # fmt: skip


def _valve(rng, design):
    design["rim"] |= {"valve": "modelled", "valve_mm": 11.3}


def _relief(rng, design):
    hub, bolts = design["hub"], design["bolts"]
    hub |= {"relief_depth_mm": rng.uniform(1.0, 2.5),
            "relief_radius_mm": rng.uniform(2.0, 3.0)}  # fmt: skip
    at, hole = bolts["pitch_circle_mm"], 15.0 + 4.0
    if rng.random() < 0.5:
        hub["relief_inner_mm"] = at - hole - rng.uniform(0.0, 4.0)
    else:
        hub["relief_outer_mm"] = at + hole + rng.uniform(0.0, 4.0)


def _cap(rng, design):
    hub, bolts = design["hub"], design["bolts"]
    radius = rng.uniform(2.0, 4.0)
    wide = bolts.get("counterbore_mm", bolts.get("seat_mm", 27.0))
    most = bolts["pitch_circle_mm"] - wide - 8.1
    hub["bore_mm"] = min(hub["bore_mm"], most - 2.0 * radius - 2.0)
    least = hub["bore_mm"] + 2.0 * radius + 1.1
    hub |= {"cap_mm": rng.uniform(least, most), "cap_radius_mm": radius,
            "cap_depth_mm": rng.uniform(radius + 0.5, 12.0)}  # fmt: skip


def _counterbore(rng, design):
    bolts, hub = design["bolts"], design["hub"]
    wide = bolts.get("seat_mm", 27.0) + 2.0 * rng.uniform(4.0, 5.5)
    bolts["counterbore_mm"] = wide
    hub["bore_mm"] = min(hub["bore_mm"], bolts["pitch_circle_mm"] - wide - 8.1)


def _turned_bolts(rng, design):
    design["bolts"]["angle_deg"] = 180.0 / design["bolts"]["count"]


def _bows(rng, design):
    design["spokes"] |= {"face_bow_mm": rng.uniform(-8.0, 8.0),
                         "back_bow_mm": rng.uniform(-4.0, 4.0)}  # fmt: skip


def _rim_corner(rng, design):
    design["spokes"]["rim_corner_mm"] = rng.uniform(4.0, 16.0)


def _undercut(rng, design):
    spokes = design["spokes"]
    depth, width = rng.uniform(2.0, 8.0), rng.uniform(14.0, 28.0)
    spokes |= {"undercut_mm": depth, "undercut_width_mm": width,
               "undercut_radius_mm": rng.uniform(3.0, 8.0)}  # fmt: skip
    if "pocket" in spokes:
        spokes["pocket"]["end_mm"] = width + rng.uniform(3.0, 8.0)


def _edges(rng, design):
    spokes, which = design["spokes"], rng.random()
    if which < 0.7:
        spokes["face_edge_mm"] = rng.uniform(1.0, 4.0)
    if which > 0.5:
        spokes["back_edge_mm"] = rng.uniform(1.0, 4.0)


FEATURES = (
    (0.08, _humps),
    (0.06, _inboard_well),
    (0.08, _flanges),
    (0.05, _flange_of_a_side),
    (0.06, _run_out),
    (0.07, _two_piece),
    (0.07, _second_alloy),
    (MODELLED_VALVE, _valve),
    (0.08, _relief),
    (0.05, _counterbore),
    (0.10, _cap),
    (0.05, _turned_bolts),
    (0.06, _bows),
    (0.06, _rim_corner),
    (0.10, _leg_taper),
    (0.08, _thick_lip),
    (0.08, _well_corner),
    (0.10, _undercut),
    (EDGES, _edges),
)
"""Share of the designs that have a feature."""
