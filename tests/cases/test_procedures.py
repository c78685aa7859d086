"""Loads and cycles of UN Regulation No. 124 against worked examples."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.procedure import requirements
from spokecheck.errors import InputError
from spokecheck.wheel.read import read_design

BASE = read_design(Path("meshes/designs/aspen-cast-5.toml"))


def wheel(load, circumference, inset, category="M1"):
    """Design with the duty of a worked example."""
    duty = BASE.duty.model_copy(
        update={
            "rating_kg": load,
            "dynamic_radius_mm": circumference / (2.0 * np.pi),
            "category": category,
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


def test_inset_adds_and_outset_subtracts():
    """By statics, inset moves the ground contact inboard: both terms add."""
    moments = [requirements(wheel(700, 2000, d))[0].load for d in (-30, 0, 30)]
    assert_allclose(moments[2] - moments[1], 0.75 * 2 * 700 * 9.81 * 30, rtol=1e-12)
    assert_allclose(moments[1] - moments[0], moments[2] - moments[1], rtol=1e-12)


def test_drum_load_and_revolutions():
    """800 kg, 2.35 m: 19.62 kN, 8.5e5 revolutions (Annex 7: S 2.5, 2000 km)."""
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
    found = {s.symbol: s.value for s in requirements(BASE)[0].derivation}
    top = found["S"] * found["F_V"] * (found["mu"] * found["r_dyn"] + found["d"])
    assert_allclose(found["M_max"], top, rtol=1e-12)
    assert_allclose(found["M"], found["share"] * top, rtol=1e-12)


def test_an_unknown_procedure_lists_the_known():
    """An unknown procedure is refused with the names there are."""
    with pytest.raises(InputError, match="un-r124"):
        requirements(BASE, ["nonsense"])
