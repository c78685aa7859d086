"""The impact indication: energy by clause, direction and size of the unit strike."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.impact import drop, peak_force, strike_case
from spokecheck.cases.library import read_procedures
from spokecheck.errors import InputError
from spokecheck.fem.cyclic import rotation
from spokecheck.wheel.reading.read import read_design

BASE = read_design(Path("meshes/designs/aspen-cast-5.toml"))
BOOK = read_procedures()


def rated(mass, category="M1"):
    """Design of a load rating."""
    keys = {"rating_kg": float(mass), "category": category}
    duty = BASE.duty.model_copy(update=keys)
    return BASE.model_copy(update={"duty": duty})


@pytest.mark.parametrize(
    ("rating", "mass", "joules"), [(800, 660, 1489), (905, 723, 1631)]
)
@pytest.mark.parametrize("name", ["un-r124", "sae-j175"])
def test_drop_mass_and_energy(rating, mass, joules, name):
    """D = 0.6 W + 180 kg falls 230 mm (SAE J175 digest; UN R124 Annex 8, memory)."""
    fall = drop(rated(rating), [name], BOOK)
    (actual,) = (line.value for line in fall.derivation if line.symbol == "D")
    assert_allclose(actual, mass, rtol=1e-12)
    assert_allclose(fall.energy / 1000.0, joules, rtol=0, atol=0.6)


def test_mounts_are_those_of_the_calibration():
    """7.5 mm under 1000 kg are 1308 N/mm (SAE J175, digest)."""
    assert_allclose(drop(BASE, [], BOOK).mount_stiffness, 1308.0, rtol=1e-12)


def test_peak_force_stores_the_energy():
    """F^2 C / 2 = E, by hand: 1489 J into 1308 N/mm give 62.4 kN."""
    assert_allclose(peak_force(1489.0e3, 1.0 / 1308.0), 62.41e3, rtol=1e-3)


def test_the_strike_is_one_newton_along_the_fall(small_screening):
    """All sectors' forces add up to (-sin 13, 0, -cos 13) N, on the +x side."""
    wheel = small_screening.wheel
    case = strike_case(wheel, drop(BASE, [], BOOK))
    orders = np.array([load.order for load in case.loads])
    nodal = np.stack([load.nodal for load in case.loads])
    total, moment = np.zeros(3), 0.0
    for sector in range(wheel.cyclic.count):
        turn = rotation(wheel.cyclic.alpha * sector)
        phase = np.exp(1j * orders * wheel.cyclic.alpha * sector)
        force = np.tensordot(phase, nodal, axes=1).real @ turn.T
        total += force.sum(axis=0)
        moment += (wheel.mesh.points @ turn.T)[:, 0] @ force[:, 2]
    tilt = np.deg2rad(13.0)
    expected = [-np.sin(tilt), 0.0, -np.cos(tilt)]
    # the series repeats what quadrature on the sector's faces gives
    assert_allclose(total, expected, rtol=1e-3, atol=1e-3)
    assert moment < -200.0 * np.cos(tilt)


@pytest.mark.parametrize(
    ("design", "names", "words"),
    [
        (BASE, ["sae-j328"], "has an impact test; add one of un-r124"),
        (BASE, ["nonsense"], "unknown"),
        (rated(800, "N1"), ["un-r124"], "covers M1"),
    ],
)
def test_an_impact_nobody_describes_is_refused(design, names, words):
    """No drop is made up."""
    with pytest.raises(InputError, match=words):
        drop(design, names, BOOK)
