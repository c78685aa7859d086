"""Steady loads, notch support and impact on a real, coarse wheel."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.impact import drop
from spokecheck.cases.library import read_procedures
from spokecheck.cases.procedure import requirements
from spokecheck.fem.assembly import shape_gradients
from spokecheck.fem.body import respond
from spokecheck.mesh.quadrature import TET_4
from spokecheck.mesh.shapes import tet_values
from spokecheck.screen.describe_tests import SolvedTest, describe_spot, describe_test
from spokecheck.screen.error_bars import tracked_spots
from spokecheck.screen.impact_indication import indicate_impact
from spokecheck.screen.loaded import load_wheel, wheel_body
from spokecheck.screen.ranking import rank
from spokecheck.screen.tracked_spots import SpotHistory


def told(wheel, duty=(), material=()):
    """The wheel with some keys of its design changed, on the same mesh."""
    design = wheel.design
    changed = {
        "duty": design.duty.model_copy(update=dict(duty)),
        "material": design.material.model_copy(update=dict(material)),
    }
    return replace(wheel, design=design.model_copy(update=changed))


def findings(wheel, surface, case, need, others=False):
    """What is reported of a test and of its hot spots."""
    ranked = rank(wheel, surface, case, need)
    test = SolvedTest(wheel, surface, case, ranked)
    spots = [
        describe_spot(test, [spot], k, SpotHistory((tracked,)), others)
        for k, (spot, tracked) in enumerate(
            zip(ranked.spots, tracked_spots(wheel, ranked.spots, False), strict=True), 1
        )
    ]
    return describe_test(test, spots, settled=False), spots


@pytest.fixture(scope="module")
def rig(small_screening):
    """Wheel with bolts, speed and line support; its body and surface; loaded tests."""
    wheel = told(
        small_screening.wheel,
        {"bolt_torque_nm": 140.0, "bolt_thread_mm": 14.0, "speed_kmh": 100.0},
        {"support": "line", "critical_distance_mm": 0.2},
    )
    body, surface = wheel_body(wheel), small_screening.fields.surface
    cornering, _, radial = requirements(wheel.design)
    loaded = {
        r.test: load_wheel(wheel, surface, body, r)[0] for r in (cornering, radial)
    }
    return wheel, body, surface, {"cornering": cornering, "radial": radial}, loaded


@pytest.mark.parametrize("test", ["cornering", "radial"])
def test_bolts_and_spin_are_in_balance(rig, test):
    """Clamp force, its counter-force on the fixture, and spin leave no misfit."""
    assert rig[4][test].balance < 1e-9


def test_the_clamp_force_is_a_mean_alone(rig):
    """At half the moment the turning stress halves and the bolts' stress stays."""
    _, _, _, wanted, loaded = rig
    full, half = (
        loaded["cornering"].history(share * wanted["cornering"].load, rig[2].nodes)
        for share in (1.0, 0.5)
    )
    assert full.orders.tolist() == [0, 1]
    assert_allclose(half.stress[0], full.stress[0], rtol=1e-12)
    assert_allclose(half.stress[1], 0.5 * full.stress[1], rtol=1e-12)
    # under the seats the bolts press the hub together
    wheel, surface = rig[0], rig[2]
    at = wheel.mesh.points[surface.nodes]
    hub = surface.on(("bolt hole",)) & (at[:, 2] > at[:, 2].min())
    assert full.mean[hub, 2].mean() < -5.0


def test_pressed_seats_stay_out_of_the_ranking(rig):
    """Where a contact pressure is assumed, no hot spot is told; the rule is named."""
    rules = rig[4]["radial"].fictitious
    (rule,) = (name for name in rules if "pressed bolt seat" in name)
    assert rules[rule][rig[2].on(("bolt seat",))].all()


def test_torque_factor_and_patch_are_told_as_sensitivities(rig):
    """Margins stand there for K 0.2 and 0.4 and for 30, 35 and 40 degrees."""
    wheel, _, surface, wanted, loaded = rig
    result, spots = findings(wheel, surface, loaded["radial"], wanted["radial"])
    margins = {(s.assumption, s.value): s.margin for s in result.sensitivities}
    bolts, patch = "bolt torque factor K", "patch half-angle"
    assert set(margins) == {
        *((patch, angle) for angle in (30.0, 35.0, 40.0)),
        *((bolts, factor) for factor in (0.2, 0.4)),
    }
    bare = min(spot.margin_uncorrected for spot in spots)
    assert_allclose(margins[patch, 40.0], bare, rtol=1e-9)


def test_speed_matters_little(rig):
    """At 100 km/h rho (omega r)^2 is about 1 MPa, so few MPa of mean come of it.

    Thin ring: hoop stress rho (omega r)^2, textbook; 2685 kg/m3, 86.8 rad/s, 0.231 m
    give 1.08 MPa at the bead seat.  The inboard end of the barrel is a free ring but
    for its well and the spokes far away, which pull it in by 1.5 %.
    """
    wheel, _, surface, wanted, loaded = rig
    case = loaded["radial"].case
    stress = loaded["radial"].stress
    spin = stress[1].real  # second load: inflation, spin, bolts
    assert case.steady == (0, 1, 2)
    seat = surface.on(("bead seat inboard",))
    at = wheel.mesh.points[surface.nodes][seat]
    angle = np.arctan2(at[:, 1], at[:, 0])
    s, c = np.sin(angle), np.cos(angle)
    xx, yy, xy = (spin[seat, k] for k in (0, 1, 3))
    hoop = s * s * xx + c * c * yy - 2.0 * s * c * xy
    omega = wanted["radial"].setup.spin
    ring = wheel.alloy.density * (omega * np.hypot(at[:, 0], at[:, 1]).mean()) ** 2
    assert_allclose(hoop.mean(), ring, rtol=0.03)


def test_stress_of_spin_adds_up_to_the_polar_inertia(rig):
    """Virial theorem: the integral of sxx + syy is omega^2 J_p, less the held hub's.

    Exact for any elastic body; the recovered stress misses it by 1.2e-4.  That of the
    surface, made for its points and no integral, misses it by 1e-3.
    """
    wheel, body, _, wanted, loaded = rig
    mesh, case = wheel.mesh, loaded["radial"].case
    found = respond(body, case.supports, [case.loads[1]])
    held = np.where(case.supports.held, found.reactions[0].real, 0.0)
    by_hub = (mesh.points[:, :2] * held[:, :2]).sum()
    by_mass = wanted["radial"].setup.spin ** 2 * wheel.weight.polar / wheel.cyclic.count
    _, volume = shape_gradients(mesh.points, mesh.cells)
    plane = found.stress[0, :, :2].real.sum(axis=1)[mesh.cells]
    total = (plane @ tet_values(TET_4.points).T * volume).sum()
    assert -0.1 * by_mass < by_hub < 0.0
    assert_allclose(total, by_mass + by_hub, rtol=5e-4)


def test_similar_places_are_described_as_one_with_its_range(rig):
    """The worst gives place and figures; the others their number and best margin."""
    wheel, _, surface, wanted, loaded = rig
    bare = told(wheel, {}, {"support": "none"})
    ranked = rank(bare, surface, loaded["radial"], wanted["radial"])
    test = SolvedTest(bare, surface, loaded["radial"], ranked)
    history = SpotHistory((tracked_spots(bare, ranked.spots, False)[0],))
    three = describe_spot(test, ranked.spots[:3], 1, history, others=False)
    alone = describe_spot(test, ranked.spots[:1], 1, history, others=False)
    assert three.similar.places == 3
    assert three.similar.highest_margin == ranked.spots[2].margin
    assert alone.similar is None
    assert replace(three, similar=None) == alone


@pytest.mark.parametrize(
    ("material", "words"),
    [
        ({"support": "line", "critical_distance_mm": 0.2}, "line method), L = 0.2 mm"),
        ({"support": "point", "critical_distance_mm": 0.2}, "point method"),
        ({"support": "fkm", "critical_distance_mm": None}, "A90"),
    ],
)
def test_notch_support_stands_beside_the_uncorrected_margin(rig, material, words):
    """The bare margin is that of a run without support; the correction is told."""
    wheel, _, surface, wanted, loaded = rig
    case, need = loaded["cornering"], wanted["cornering"]
    bare_wheel = told(wheel, (), {"support": "none"})
    _, bare = findings(bare_wheel, surface, case, need)
    _, found = findings(told(wheel, (), material), surface, case, need)
    by_node = {spot.node: spot for spot in bare}
    assert {spot.node for spot in found} == set(by_node)
    for spot in found:
        assert_allclose(spot.margin_uncorrected, by_node[spot.node].margin, rtol=1e-12)
        assert_allclose(
            spot.margin, spot.support.factor * spot.margin_uncorrected, rtol=1e-9
        )
        assert 0.7 < spot.support.factor < 1.3
    assert any(words in spot.support.note for spot in found)
    assert found[0].audit[1].symbol == "margin_0"
    assert all(spot.support is None for spot in bare)


def test_other_criteria_are_told_on_request(rig):
    """Five criteria beside; the hypersphere never fills more than the ellipse."""
    wheel, _, surface, wanted, loaded = rig
    bare = told(wheel, {}, {"support": "none"})
    (test, need) = loaded["cornering"], wanted["cornering"]
    assert not any(s.other_criteria for s in findings(bare, surface, test, need)[1])
    for spot in findings(bare, surface, test, need, others=True)[1]:
        margins = {other.criterion: other.margin for other in spot.other_criteria}
        assert len(margins) == 5
        ellipse = spot.allowable_mpa / spot.amplitude_mpa
        assert margins["hypersphere"] >= ellipse * (1.0 - 1e-9)


def test_leaving_the_ground_is_told(rig):
    """An unknown test range, the hypersphere and stress beyond yield are named."""
    wheel, _, surface, wanted, loaded = rig
    bare = told(wheel, {}, {"support": "none", "measure": "hypersphere"})
    need = wanted["cornering"]
    calm = findings(bare, surface, loaded["cornering"], need)[0].warnings
    assert any("hypersphere" in line for line in calm)
    assert any("S-N line of a356-t6-low-pressure" in line for line in calm)
    assert not any("Rp0.2" in line for line in calm)
    harsh = replace(need, load=20.0 * need.load)
    beyond = findings(bare, surface, loaded["cornering"], harsh)[0].warnings
    assert any("times Rp0.2" in line for line in beyond)


def test_a_struck_wheel_is_an_indication(rig):
    """Two strikes in balance; the mounts take most of it; rigid is an upper bound.

    By the two springs: F = sqrt(2 E / (1/k_wheel + 1/k_mounts)).
    """
    wheel, body, surface = rig[:3]
    fall = drop(wheel.design, [], read_procedures())
    found = indicate_impact(wheel, body, surface, fall)
    assert found.balance_misfit < 1e-9
    assert [strike.where for strike in found.strikes] == [
        "at a spoke",
        "between spokes",
    ]
    for strike in found.strikes:
        soft = 1.0 / strike.wheel_stiffness_n_per_mm + 1.0 / fall.mount_stiffness
        force = np.sqrt(2.0 * fall.energy / soft)
        assert_allclose(strike.peak_force_n, force, rtol=1e-12)
        assert strike.peak_force_n < strike.peak_force_rigid_mounts_n
        assert strike.places[0].of_yield >= strike.places[-1].of_yield
    # under a spoke the flange is held better than between two
    one, other = (strike.wheel_stiffness_n_per_mm for strike in found.strikes)
    assert one > 1.01 * other
    # the wheel is far stiffer than the mounts: rim of an 18-inch wheel, tens of kN/mm
    assert 2.0e3 < one < 1.0e5
    assert "no part of the ranking" in found.warning
