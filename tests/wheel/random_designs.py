"""Random designs over all spoke patterns, each from its seed alone.

Numbers are drawn where a wheel engineer would put them, related to each other as on the
road (common practice); what does not fit is left to the validator to refuse.
"""

import numpy as np
from random_features import with_features

from spokecheck.wheel.tables.sizes import parse_rim_size

PATTERNS = ("straight", "twin", "forked", "swept", "lattice", "plate", "course")
ALLOYS = ("a356-t6-low-pressure", "6061-t6-forged")
CIRCLES = ((4, 98.0), (4, 100.0), (5, 108.0), (5, 112.0), (5, 114.3), (5, 120.0),
           (6, 139.7))  # fmt: skip


def random_design(seed):
    """Raw table of the design of a seed; the pattern goes round with it."""
    rng = np.random.default_rng(seed)
    pattern = PATTERNS[seed % len(PATTERNS)]
    rim, half = _rim(rng)
    bolts = _bolts(rng)
    hub = _hub(rng, bolts)
    spokes = _spokes(rng, pattern, rim, half, bolts, hub)
    design = {
        "format": 1,
        "name": f"random {seed}",
        "note": "Invented, drawn at random.",
        "rim": rim,
        "hub": hub,
        "bolts": bolts,
        "spokes": spokes,
        "duty": {"rating_kg": 600.0, "free_radius_mm": 330.0,
                 "dynamic_radius_mm": 320.0},
        "material": {"alloy": ALLOYS[seed % 2]},
    }  # fmt: skip
    return _rounded(with_features(seed, design))


def _rim(rng):
    inch = int(rng.integers(14, 23))
    width = float(rng.choice(np.arange(5.0, 12.5, 0.5)))
    width = min(max(width, inch / 3.0 - 0.3), inch / 1.9)
    width = round(2.0 * width) / 2.0
    size = f"{width:g}J x {inch}"
    half = parse_rim_size(size).width / 2.0
    rim = {
        "size": size,
        "inset_mm": half * rng.uniform(0.15, 0.5),
        "seat_wall_mm": rng.uniform(6.0, 9.0),
        "well_wall_mm": rng.uniform(6.0, 11.0),
        "well_radius_mm": rng.uniform(9.0, 18.0),
        "leg_wall_mm": rng.uniform(4.5, 7.5),
    }
    if inch >= 22:
        rim["well_depth_mm"] = 22.0
    return rim, half


def _bolts(rng):
    count, circle = CIRCLES[rng.integers(len(CIRCLES))]
    bolts = {"count": count, "pitch_circle_mm": circle,
             "land_mm": rng.uniform(7.0, 13.0)}  # fmt: skip
    if rng.random() < 0.2:
        bolts |= {"seat": "ball", "seat_mm": 26.0}
    return bolts


def _hub(rng, bolts):
    circle = bolts["pitch_circle_mm"]
    hub = {
        "bore_mm": min(rng.uniform(54.0, 75.0), circle - 38.0),
        "pad_diameter_mm": circle + rng.uniform(26.0, 42.0),
        "fillet_mm": rng.uniform(6.0, 14.0),
    }
    if rng.random() < 0.2:
        hub |= {"pocket_side": "back", "pocket_mm": rng.uniform(14.0, 24.0),
                "pocket_depth_mm": rng.uniform(6.0, 16.0)}  # fmt: skip
    if rng.random() < 0.2:
        hub |= {"bore_chamfer_mm": rng.uniform(1.0, 3.0)}
    return hub


def _spokes(rng, pattern, rim, half, bolts, hub):
    """Table of the spokes; also settles the hub's thickness."""
    r_tip = parse_rim_size(rim["size"]).diameter / 2.0
    r_tip -= rim.get("well_depth_mm", 17.5) + rim["well_wall_mm"]
    root = max(
        hub["pad_diameter_mm"] / 2.0 + 3.0, bolts["pitch_circle_mm"] / 2.0 + 19.0
    )
    root += rng.uniform(0.0, 8.0)
    tip_face = half - rng.uniform(13.0, 26.0) - rim["inset_mm"]
    if tip_face > 60.0:  # wide rims: move the hub outboard, as makers do
        rim["inset_mm"] += tip_face - 60.0
        tip_face = 60.0
    root_face = max(tip_face + rng.uniform(-8.0, 10.0), 34.0)
    slope = (tip_face - root_face) / (r_tip - root)
    level = root_face + slope * (hub["pad_diameter_mm"] / 2.0 - root)
    hub["thickness_mm"] = max(level if rng.random() < 0.7 else level - 14.0, 24.0)
    spokes = {
        "pattern": pattern,
        "root_depth_mm": min(rng.uniform(28.0, 44.0), root_face - 4.0),
        "tip_depth_mm": rng.uniform(20.0, 32.0),
        "root_face_mm": root_face,
        "tip_face_mm": tip_face,
        "root_radius_mm": root,
        "window_corner_mm": rng.uniform(5.0, 14.0),
        "rim_fillet_mm": rng.uniform(5.0, 9.0),
        "draft_deg": float(rng.choice([0.0, 0.0, rng.uniform(1.0, 4.0)])),
    }
    spokes |= LAY[pattern](rng, root, r_tip, bolts["count"])
    if pattern in ("straight", "swept", "forked") and rng.random() < 0.4:
        spokes["pocket"] = {
            "wall_mm": rng.uniform(6.0, 10.0),
            "floor_mm": rng.uniform(8.0, 13.0),
            "floor_radius_mm": rng.uniform(3.0, 5.0),
            "corner_mm": rng.uniform(6.5, 9.0),
        }
    return spokes


def _count(rng, bolts, among):
    """Number of spokes; nearly always one that shares the bolts' symmetry."""
    shared = [n for n in among if n % bolts == 0]
    choice = shared if shared and rng.random() < 0.95 else list(among)
    return int(rng.choice(choice))


def _widths(rng, root, tip, count, share=(0.4, 0.7)):
    """Root and tip width of ``count`` legs side by side."""
    pitch = 2.0 * np.pi * root / count
    width = pitch * rng.uniform(*share)
    return {"root_width_mm": width, "tip_width_mm": width * rng.uniform(0.7, 1.1)}


def _straight(rng, root, tip, bolts):
    count = _count(rng, bolts, range(4, 13))
    return {"count": count, **_widths(rng, root, tip, count)}


def _twin(rng, root, tip, bolts):
    count = _count(rng, bolts, range(4, 8))
    widths = _widths(rng, root, tip, 2 * count, (0.5, 0.75))
    spacing = widths["root_width_mm"] * rng.uniform(1.1, 1.5)
    spread = 2.0 * np.pi * tip / count * rng.uniform(0.3, 0.5)
    return {"count": count, **widths,
            "twin": {"root_spacing_mm": spacing, "tip_spacing_mm": spread}}  # fmt: skip


def _forked(rng, root, tip, bolts):
    count = _count(rng, bolts, range(4, 8))
    widths = _widths(rng, root, tip, count, (0.45, 0.7))
    widths["tip_width_mm"] = widths["root_width_mm"] * rng.uniform(0.5, 0.65)
    spread = 2.0 * np.pi * tip / count * rng.uniform(0.35, 0.55)
    return {"count": count, **widths,
            "fork": {"radius_mm": root + (tip - root) * rng.uniform(0.2, 0.5),
                     "tip_spacing_mm": spread}}  # fmt: skip


def _swept(rng, root, tip, bolts):
    hand = str(rng.choice(["one", "one", "alternate"]))
    among = range(8, 13, 2) if hand == "alternate" else range(4, 10)
    count = _count(rng, bolts * (2 if hand == "alternate" else 1), among)
    turn = 360.0 / count * rng.uniform(0.1, 0.3 if hand == "alternate" else 0.6)
    return {"count": count, **_widths(rng, root, tip, count),
            "sweep": {"angle_deg": min(turn, 40.0), "hand": hand}}  # fmt: skip


def _lattice(rng, root, tip, bolts):
    count = _count(rng, bolts, range(8, 13))
    lead = 360.0 / count * rng.uniform(0.6, 1.2)
    return {"count": count, **_widths(rng, root, tip, count, (0.25, 0.4)),
            "window_corner_mm": rng.uniform(4.0, 6.0),
            "lattice": {"lead_deg": lead}}  # fmt: skip


def _plate(rng, root, tip, bolts):
    count = _count(rng, bolts, range(8, 16))
    middle = (root + tip) / 2.0
    room = min(2.0 * np.pi * middle / count, tip - root)
    width = room * rng.uniform(0.35, 0.65)
    plate = {"circle_mm": 2.0 * middle, "width_mm": width}
    if rng.random() < 0.6:
        along = str(rng.choice(["circle", "radius"]))
        reach = 2.0 * np.pi * middle / count if along == "circle" else tip - root
        length = reach * rng.uniform(0.5, 0.75)
        plate |= {"window": "slotted", "along": along, "length_mm": length,
                  "width_mm": min(width, length - 4.0)}  # fmt: skip
    return {"count": count, "plate": plate}


def _course(rng, root, tip, bolts):
    count = _count(rng, bolts, range(4, 8))
    at = root + (tip - root) * np.array([0.0, 0.35, 0.7, 1.0])
    bend = (tip - root) * rng.uniform(-0.25, 0.25) * np.array([0.0, 0.3, 0.6, 0.5])
    points = [[float(x), float(y)] for x, y in zip(at, bend, strict=True)]
    return {"count": count, **_widths(rng, root, tip, count),
            "course": {"points_mm": points}}  # fmt: skip


LAY = {
    "straight": _straight,
    "twin": _twin,
    "forked": _forked,
    "swept": _swept,
    "lattice": _lattice,
    "plate": _plate,
    "course": _course,
}


def _rounded(value):
    """The same tables with all numbers to a hundredth, as a person would write them."""
    if isinstance(value, dict):
        return {key: _rounded(v) for key, v in value.items()}
    if isinstance(value, list):
        return [_rounded(v) for v in value]
    return round(float(value), 2) if isinstance(value, float) else value
