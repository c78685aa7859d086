"""The cosine patch and its Fourier series against quadrature and closed forms."""

from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from spokecheck.cases.radial import BeadLoad, flange_force, seat_forces
from spokecheck.cases.tyre_patch import HALF_ANGLE, Patch
from spokecheck.errors import InputError
from spokecheck.fem.loads import pressure_forces
from spokecheck.mesh.parts import ring_sector


@pytest.mark.parametrize("degrees", [30, 35, 40, 45, 90])
@pytest.mark.parametrize("order", [0, 1, 2, 5, 12])
def test_coefficients_are_those_of_the_integral(degrees, order):
    """The closed form equals the defining integral (scipy.integrate.quad)."""
    patch = Patch(degrees)
    t = patch.theta0
    value, _ = quad(
        lambda x: np.cos(np.pi * x / (2 * t)) * np.cos(order * x) / (2 * np.pi), -t, t
    )
    # quad's own error is below 1e-12 here
    assert_allclose(patch.coefficient(order), value, rtol=1e-9, atol=1e-12)


def test_resultant_of_the_handbook_case():
    """B 200, t 40, 35 deg, 1 MPa: 6005.13 N; the short form gives 6222.22 N.

    Closed form derived from the direction cosine and checked by quadrature there.
    """
    patch = Patch(35.0)
    assert_allclose(patch.vertical_factor() * 200.0 * 40.0, 6005.13, rtol=1e-6)
    assert_allclose(4 * patch.theta0 / np.pi * 8000.0, 6222.22, rtol=1e-6)


def test_order_one_alone_carries_the_resultant():
    """The side force of the series comes from order 1: factor 2 pi c_1."""
    for degrees in (30, 40, 90):
        patch = Patch(degrees)
        expected = patch.vertical_factor()
        assert_allclose(2 * np.pi * patch.coefficient(1), expected, rtol=1e-12)


def test_orders_kept_carry_the_share_asked_for():
    """One order less would carry too little."""
    patch = Patch(40.0)
    kept = patch.orders(0.999)
    assert patch.energy_share(kept[-1]) >= 0.999 > patch.energy_share(kept[-1] - 1)
    assert_allclose(patch.energy_share(400), 1.0, rtol=1e-7)


@pytest.mark.parametrize("share", [1.0, 1.5, 0.0, -1.0, float("nan")])
def test_a_share_that_no_orders_carry_is_an_error(share):
    """The series has no end, so no finite part of it carries all."""
    with pytest.raises(InputError, match="must be between 0 and 1, both excluded"):
        Patch(40.0).orders(share)


def test_a_share_within_rounding_of_one_ends_too():
    """Where the orders do not suffice the message says how much they carry."""
    with pytest.raises(InputError, match=r"orders 0 to 2000 carry 0\.99999"):
        Patch(40.0).orders(1.0 - 1e-15)


def test_the_narrowest_patch_in_use_is_within_reach():
    """Half a degree, at the share of the screen and above."""
    patch = Patch(0.5)
    assert patch.energy_share(patch.orders()[-1]) >= 0.999
    assert len(patch.orders()) < 1000


@pytest.mark.parametrize("degrees", [0.0, -10.0, 90.1, float("nan")])
def test_half_angles_out_of_range_are_an_error(degrees):
    """Degrees, as everywhere in the files; above 90 the arch would pull."""
    with pytest.raises(InputError, match=r"half-angle = .* deg: must be above 0"):
        Patch(degrees)


def test_patch_and_bead_load_count_in_the_same_unit():
    """The default of the one is the default of the other."""
    assert BeadLoad().half_angle == HALF_ANGLE == Patch(HALF_ANGLE).half_angle


@pytest.mark.parametrize("degrees", [30, 35, 40])
def test_the_orders_solved_rebuild_the_patch(degrees):
    """Root mean square of what the kept orders miss: 3 % of that of the patch.

    Parseval: a share of 0.999 of the mean square leaves sqrt(0.001) = 3.2 %.
    """
    patch = Patch(degrees)
    turn = np.linspace(-np.pi, np.pi, 721)
    arch = np.cos(np.pi * turn / (2.0 * patch.theta0))
    exact = np.where(np.abs(turn) <= patch.theta0, arch, 0.0)
    orders = np.array(patch.orders())
    weights = np.array([patch.coefficient(m) for m in orders]) * np.where(orders, 2, 1)
    series = np.cos(np.outer(turn, orders)) @ weights
    gap, size = (np.sqrt((x**2).mean()) for x in (series - exact, exact))
    assert gap < 0.033 * size


@pytest.mark.parametrize("degrees", [0.0, 50.0, 200.0])
def test_orders_of_a_seat_make_the_patch_turned(degrees):
    """At turn angle phi, Re sum f_m exp(-i m phi) is the patch centred at phi.

    On a ring of 40 cells, against the pressure put on directly; the orders left out
    and the patch's edge within a cell leave 4 % at single points, and 0.1 % of the
    resultant.
    """
    mesh = ring_sector(180.0, 200.0, 10.0, (1, 40, 1), 2.0 * np.pi)
    patch, phi = Patch(40.0), np.deg2rad(degrees)

    def turned(x):
        gap = np.arctan2(x[:, 1], x[:, 0]) - phi
        gap = (gap + np.pi) % (2.0 * np.pi) - np.pi
        arch = np.cos(np.pi * gap / (2.0 * patch.theta0))
        return np.where(np.abs(gap) <= patch.theta0, arch, 0.0)

    expected = pressure_forces(mesh, mesh.faces("outer"), turned)
    wheel = SimpleNamespace(mesh=mesh)
    found = sum(
        (seat_forces(wheel, "outer", patch, m) * np.exp(-1j * m * phi)).real
        for m in patch.orders()
    )
    assert_allclose(found, expected, atol=0.05 * np.abs(expected).max())
    size = np.linalg.norm(expected.sum(axis=0))
    assert_allclose(found.sum(axis=0), expected.sum(axis=0), atol=0.001 * size)


@pytest.mark.parametrize(("pressure", "expected"), [(0.25, 15.0), (0.45, 27.0)])
def test_flange_force_of_a_common_tyre(pressure, expected):
    """225/45R18: about 15 N/mm at 250 kPa and 27 N/mm at 450 kPa (to the digits given).

    A membrane balance of the sidewall gives values within 10 % of these.
    """
    assert_allclose(flange_force(pressure, 329.75, 231.0), expected, rtol=0.004)
