"""Loads and cycles of the test procedures against worked examples, by clause."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.procedure import requirements
from spokecheck.cases.schema import Row, pick
from spokecheck.errors import InputError
from spokecheck.wheel.reading.read import read_design

BASE = read_design(Path("meshes/designs/aspen-cast-5.toml"))


def wheel(load, circumference, inset, category="M1", **duty_keys):
    """Design with the duty of a worked example; r_stat is taken equal to r_dyn.

    So do the published figures of the procedures that ask for the loaded radius.
    """
    duty = BASE.duty.model_copy(
        update={
            "rating_kg": load,
            "dynamic_radius_mm": circumference / (2.0 * np.pi),
            "loaded_radius_mm": circumference / (2.0 * np.pi),
            "category": category,
            **duty_keys,
        }
    )
    rim = BASE.rim.model_copy(update={"inset_mm": inset})
    return BASE.model_copy(update={"duty": duty, "rim": rim})


@pytest.mark.parametrize(
    ("load", "circumference", "inset", "three_quarters", "half"),
    [
        (800, 2350, 45, 4492, 2995),
        (780, 2140, 45, 4035, 2690),
        (905, 2400, 25, 4911, 3274),
    ],
)
def test_cornering_moments_of_three_wheels(
    load, circumference, inset, three_quarters, half
):
    """Moments [N m] worked by hand from public approval reports (load, circumference).

    UN R124 Annex 6: M = S F_V (mu r_dyn + d), S 2.0, mu 0.9, at 75 % and 50 %.
    """
    first, second, _ = requirements(wheel(load, circumference, inset))
    # the examples are printed to 1 N m
    assert_allclose(first.load / 1000.0, three_quarters, rtol=0, atol=1.0)
    assert_allclose(second.load / 1000.0, half, rtol=0, atol=1.0)
    assert (first.cycles, second.cycles) == (2.0e5, 1.8e6)


WORKED = [
    (800, 2350, 45, 5990, 3612, 3853),
    (780, 2140, 45, 5380, 3253, 3470),
    (905, 2400, 25, 6548, 3894, 4153),
]
"""Load [kg], circumference [mm], inset [mm]; M_max of UN R124, M of the Japanese
standard (Sm 1.5, mu 0.7) and of the JIS/GB form (S 1.6, mu 0.7), all in N m."""


@pytest.mark.parametrize(("load", "circumference", "inset", "top", "sm", "s16"), WORKED)
def test_the_same_wheels_by_other_procedures(load, circumference, inset, top, sm, s16):
    """M = S F (mu r + d) worked by hand for three public approval reports, to 1 N m."""
    design = wheel(load, circumference, inset)
    by_name = {
        name: requirements(design, [name])[0] for name in ("un-r124", "japan-passenger")
    }
    # the JIS form has no radial test at hand
    alone = wheel(load, circumference, inset, tests=("cornering",))
    by_name["jis-d-4103"] = requirements(alone, ["jis-d-4103"])[0]
    (greatest,) = (
        line.value for line in by_name["un-r124"].derivation if line.symbol == "M_max"
    )
    actual = [
        greatest,
        by_name["japan-passenger"].load,
        by_name["jis-d-4103"].load,
    ]
    assert_allclose(np.array(actual) / 1000.0, [top, sm, s16], rtol=0, atol=1.0)
    assert by_name["japan-passenger"].cycles == 1.0e5


def test_sae_j328_takes_half_the_axle_load():
    """W = 1600 kg / 2, S 2.0 and 1.75, mu 0.7: 4.815 and 4.213 kN m, 50 000 cycles.

    By hand: 2 * 7848 N * (0.7 * 374.01 mm + 45 mm) = 4815.6 N m (digest of SAE J328).
    """
    first, second, radial = requirements(
        wheel(900, 2350, 45, axle_load_kg=1600.0), ["sae-j328"]
    )
    assert_allclose([first.load, second.load], [4815.6e3, 4213.6e3], rtol=1e-4)
    assert first.cycles == second.cycles == 50000
    assert_allclose(radial.load, 2.25 * 7848.0, rtol=1e-12)
    assert first.derivation[0].symbol == "W"


def test_iso_3006_drum_levels():
    """800 kg: K 2.25 gives 17.66 kN for 5e5, K 2.0 gives 15.70 kN for 1e6 turns."""
    heavy, light = requirements(wheel(800, 2350, 45, tests=("radial",)), ["iso-3006"])
    assert_allclose([heavy.load, light.load], [17658.0, 15696.0], rtol=1e-12)
    assert (heavy.cycles, light.cycles) == (5.0e5, 1.0e6)
    assert heavy.setup == light.setup  # one solution serves both
    assert {"S", "cycles", "p"} <= set(heavy.doubts)


@pytest.mark.parametrize("name", ["un-r124", "sae-j328", "japan-passenger"])
def test_inset_and_outset_bracket_the_zeroset_wheel(name):
    """Whatever the procedure, inset raises the moment and outset lowers it alike."""
    low, zero, high = (
        requirements(wheel(700, 2000, d), [name])[0].load for d in (-30, 0, 30)
    )
    assert low < zero < high
    assert_allclose(high - zero, zero - low, rtol=1e-12)


def test_several_procedures_keep_their_tests_apart():
    """Each requirement carries its procedure, and no name comes twice."""
    names = ["un-r124", "japan-passenger"]
    actual = requirements(BASE, names)
    assert [r.procedure for r in actual] == [names[0]] * 3 + [names[1]] * 2
    assert len({r.name for r in actual}) == 5
    assert requirements(BASE)[0].name == "cornering 75 %"


def test_the_design_chooses_pressure_and_speed():
    """duty.pressure_kpa replaces the procedure's; 80 km/h at 0.35 m is 63.5 rad/s."""
    radial = requirements(
        wheel(800, 2000.0 * np.pi * 0.35, 45, pressure_kpa=300.0, speed_kmh=80.0)
    )[-1]
    assert_allclose(radial.setup.pressure, 0.3, rtol=1e-12)
    # 80 / 3.6 m/s over 0.35 m
    assert_allclose(radial.setup.spin, 63.49, rtol=1e-4)


def test_the_design_may_hold_the_other_flange():
    """duty.clamped_flange replaces the procedure's, and the sheet says so."""
    first = requirements(wheel(800, 2350, 45, clamped_flange="outboard"))[0]
    assert first.setup.clamped == "outboard"
    (line,) = (s for s in first.derivation if s.symbol == "flange")
    assert line.clause == "duty.clamped_flange"
    assert "inboard" in line.basis


@pytest.mark.parametrize(
    ("names", "keys", "words"),
    [
        (["un-r124"], {"category": "N1"}, "covers M1, M1G, O1, O2"),
        (["japan-passenger"], {"category": "O1"}, "covers M1"),
        (["iso-3006"], {}, "iso-3006, cornering test"),
        (["sae-j175"], {}, "not at hand"),
        (["jis-d-4103"], {}, "jis-d-4103, radial test"),
    ],
)
def test_what_a_procedure_does_not_cover_is_refused(names, keys, words):
    """No load is derived from a number that is not there."""
    with pytest.raises(InputError, match=words):
        requirements(BASE.model_copy(update={"duty": _duty(**keys)}), names)


def _duty(**keys):
    return BASE.duty.model_copy(update=keys)


def test_a_row_for_other_materials_is_no_answer():
    """Picking among rows for steel only names the material and does not guess."""
    rows = (Row(value=2.0, clause="table", basis="seen", materials=("steel",)),)
    with pytest.raises(InputError, match="for others only"):
        pick(rows, "M1", frozenset({"light-alloy"}), "x, factor")
    twice = (rows[0].model_copy(update={"materials": ()}),) * 2
    with pytest.raises(InputError, match="several values"):
        pick(twice, "M1", frozenset({"light-alloy"}), "x, factor")


def test_inset_adds_and_outset_subtracts():
    """By statics, inset moves the ground contact inboard: both terms add."""
    moments = [requirements(wheel(700, 2000, d))[0].load for d in (-30, 0, 30)]
    assert_allclose(moments[2] - moments[1], 0.75 * 2 * 700 * 9.81 * 30, rtol=1e-12)
    assert_allclose(moments[1] - moments[0], moments[2] - moments[1], rtol=1e-12)


def test_drum_load_and_revolutions():
    """800 kg at 2.35 m give 19.62 kN, 8.5e5 revolutions (Annex 7: S 2.5, 2000 km)."""
    radial = requirements(wheel(800, 2350, 45))[-1]
    assert_allclose(radial.load, 19620.0, rtol=1e-12)
    assert_allclose(radial.cycles, 8.5e5, rtol=2e-3)


def test_trailer_wheels_have_their_own_figures():
    """Categories O1 and O2: 0.66e5 and 0.69e6 revolutions, drum factor 2.0."""
    first, second, radial = requirements(wheel(800, 2350, 45, "O1"))
    assert (first.cycles, second.cycles) == (0.66e5, 0.69e6)
    assert_allclose(radial.load, 2.0 * 800 * 9.81, rtol=1e-12)


def test_every_number_of_a_derivation_has_clause_and_basis():
    """No factor enters without saying where it comes from."""
    for requirement in requirements(BASE):
        for line in requirement.derivation:
            assert line.clause
            assert line.basis


def test_the_derivation_can_be_redone_by_hand():
    """The printed symbols, put into the printed formula, give the printed moment."""
    actual = {s.symbol: s.value for s in requirements(BASE)[0].derivation}
    top = actual["S"] * actual["F_V"] * (actual["mu"] * actual["r_dyn"] + actual["d"])
    assert_allclose(actual["M_max"], top, rtol=1e-12)
    assert_allclose(actual["M"], actual["share"] * top, rtol=1e-12)


def test_an_unknown_procedure_lists_the_known():
    """An unknown procedure is refused with the names there are."""
    with pytest.raises(InputError, match="un-r124"):
        requirements(BASE, ["nonsense"])
