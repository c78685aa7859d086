"""Wheels with many features of rim and hub at once: meshed, named, in balance."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from variants import variant

from spokecheck.cases.cornering import cornering_case
from spokecheck.cases.radial import Steady, radial_case
from spokecheck.fem.body import balance, make_body, respond
from spokecheck.fem.elasticity import Material
from spokecheck.mesh.jacobian_bounds import jacobian_ratios
from spokecheck.mesh.quality import LEAST_JACOBIAN
from spokecheck.mesh.record import boundary_faces
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.limits import find_faults
from spokecheck.wheel.tables.surface_names import WORDS

HUB = {
    "bore_mm": 60.0,
    "bore_chamfer_mm": 2.0,
    "cap_mm": 73.0,
    "cap_depth_mm": 12.0,
    "relief_inner_mm": 80.0,
    "relief_outer_mm": 142.0,
    "pocket_side": "back",
    "pocket_depth_mm": 20.0,
}
BOLTS = {"seat": "ball", "seat_mm": 22.0, "counterbore_mm": 30.5}
RIM = {
    "humps": "both",
    "seat_width_mm": 29.5,
    "flange_wall_mm": 6.5,
    "outboard": {"lip_height_mm": 11.0, "flange_width_mm": 13.0},
    "inboard": {"edge_radius_mm": 1.5},
}
EVERYTHING = {"rim": {**RIM, "valve": "modelled"}, "hub": HUB, "bolts": BOLTS}

VARIANTS = {
    "ball seats, face pockets, inboard well": {
        "rim": {"well_side": "inboard"},
        "hub": {"pocket_side": "face", "pocket_depth_mm": 20.0},
        "bolts": {"seat": "ball"},
    },
    "run-out, hump, wide counterbore": {
        "rim": {
            "outboard_flange": "run-out",
            "humps": "outboard",
            "seat_width_mm": 29.5,
        },
        "hub": {"bore_mm": 60.0},
        "bolts": {"counterbore_mm": 30.5, "seat_mm": 22.0},
    },
    "relief and cap, thin flanges": {
        "rim": {"flange_wall_mm": 5.0, "lip_height_mm": 7.0},
        "hub": {**HUB, "pocket_side": "none"},
    },
    "everything but the valve": {"rim": RIM, "hub": HUB, "bolts": BOLTS},
}


def assert_sound(wheel):
    """No folded cell, each boundary face named once, volume that of the solid."""
    mesh = wheel.mesh
    assert jacobian_ratios(mesh.points, mesh.cells).min() >= LEAST_JACOBIAN
    assert wheel.quality.least_shape > 0.01
    assert abs(wheel.weight.solid_gap) < 1e-3
    named = {k: v for k, v in mesh.surfaces.items() if not k.startswith("cut ")}
    assert set(named) <= set(WORDS)
    outer = np.sort(boundary_faces(mesh.cells)[:, :3], axis=1)
    message = np.sort(np.vstack(list(mesh.surfaces.values()))[:, :3], axis=1)
    assert (
        len(message)
        == len(outer)
        == len(np.unique(np.vstack([message, outer]), axis=0))
    )


@pytest.mark.parametrize("name", VARIANTS)
def test_combinations_are_meshed_and_named(name):
    """Features of rim and hub can be combined."""
    design = variant(**VARIANTS[name])
    assert find_faults(design) == []
    wheel = build_wheel(design)
    assert wheel.cyclic.count == 5
    assert_sound(wheel)


@pytest.mark.slow
def test_both_tests_balance_on_a_wheel_with_everything():
    """With the valve hole too, N is 1, and reactions balance loads to 1e-8."""
    design = variant(**EVERYTHING)
    assert find_faults(design) == []
    wheel = build_wheel(design)
    assert wheel.cyclic.count == 1
    assert_sound(wheel)
    assert "valve hole" in wheel.mesh.surfaces
    body = make_body(wheel.mesh, Material(70000.0, 0.33), wheel.cyclic)
    for case in (
        cornering_case(wheel, 3.0e6, clamp=30000.0),
        radial_case(wheel, 16000.0, steady=Steady(0.45, 80.0, 30000.0)),
    ):
        actual = respond(body, case.supports, case.loads)
        assert_allclose(balance(body, case.supports, case.loads, actual), 0, atol=1e-8)
