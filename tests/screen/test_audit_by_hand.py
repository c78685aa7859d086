"""The audit trail redone from the JSON alone, to three digits.

Nothing of the fatigue room is used: numbers and constants are read from the audit's own
lines, as an engineer with paper would.
"""

import json
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm

from spokecheck.report.findings.json_report import findings_to_dict, to_text

THREE_DIGITS = 1.0e-3
AXES = ("xx", "yy", "zz", "xy", "yz", "zx")


@pytest.fixture(scope="module")
def document(small_screening):
    """The JSON as read back from its text."""
    return json.loads(to_text(findings_to_dict(small_screening.findings)))


def sheet(document, test):
    """Lines of the worst hot spot of a kind of test, by symbol, and the spot."""
    spot = next(s for s in document["hot_spots"] if s["test"].startswith(test))
    return {line["symbol"]: line for line in spot["audit"]}, spot


def tensor(lines, letter):
    """3 x 3 stress of one letter."""
    xx, yy, zz, xy, yz, zx = (lines[f"{letter}_{a}"]["value"] for a in AXES)
    return np.array([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])


def number(text, before):
    """The number that follows some words in a line."""
    return float(re.search(re.escape(before) + r"([-+.\d e]+\d)", text).group(1))


def amplitude_and_mean(lines):
    """Enclosing amplitude and mean of the trace, from the components."""
    orders = [int(s[1:-3] or 1) for s in lines if re.fullmatch(r"A\d*_xx", s)]
    marks = [s[1:-3] for s in lines if re.fullmatch(r"A\d*_xx", s)]
    phi = np.linspace(0.0, 2.0 * np.pi, 1440, endpoint=False)
    path = np.tile(tensor(lines, "M"), (len(phi), 1, 1))
    for order, mark in zip(orders, marks, strict=True):
        wave = np.cos(order * phi), np.sin(order * phi)
        path += wave[0][:, None, None] * tensor(lines, f"A{mark}")
        path += wave[1][:, None, None] * tensor(lines, f"B{mark}")
    trace = np.trace(path, axis1=1, axis2=2)
    flat = (path - trace[:, None, None] * np.eye(3) / 3.0).reshape(len(phi), 9)
    flat = (flat - flat.mean(axis=0)) / np.sqrt(2.0)
    along = flat @ np.linalg.svd(flat, full_matrices=False)[2].T
    half = np.ptp(along, axis=0) / 2.0
    return np.sqrt(3.0 * (half**2).sum()), (trace.max() + trace.min()) / 2.0


def fkm(amplitude, mean, sensitivity):
    """Fully reversed amplitude by the FKM fields, overload case F2."""
    m, ratio = sensitivity, mean / amplitude
    if ratio <= 1.0:
        return amplitude * (1.0 + m * ratio)
    if ratio < 3.0:
        return amplitude * (1.0 + m) / (1.0 + m / 3.0) * (1.0 + m / 3.0 * ratio)
    return amplitude * 3.0 * (1.0 + m) ** 2 / (3.0 + m)


@pytest.mark.parametrize("test", ["cornering", "radial"])
def test_stress_to_equivalent_amplitude(document, test):
    """Components give amplitude, mean and the fully reversed equivalent."""
    lines, spot = sheet(document, test)
    amplitude, mean = amplitude_and_mean(lines)
    assert_allclose(amplitude, lines["sa"]["value"], rtol=THREE_DIGITS)
    assert_allclose(mean, lines["sm"]["value"], rtol=THREE_DIGITS, atol=1e-3)
    counted = max(mean, 0.0)  # a casting earns nothing from compression
    assert_allclose(counted, lines["sm_c"]["value"], rtol=THREE_DIGITS, atol=1e-3)
    equivalent = fkm(amplitude, counted, number(lines["sa_eq"]["what"], "M = "))
    assert_allclose(equivalent, lines["sa_eq"]["value"], rtol=THREE_DIGITS)
    assert_allclose(equivalent, spot["equivalent_mpa"], rtol=THREE_DIGITS)


@pytest.mark.parametrize("test", ["cornering", "radial"])
def test_line_to_margin_life_and_survival(document, test):
    """S-N line, survival and every factor give allowable, margin and survival."""
    lines, spot = sheet(document, test)
    told = lines["S_N"]["what"]
    k = number(told, "(-1/")
    amplitude = number(told, "sa = ") * lines["N"]["value"] ** (-1.0 / k)
    assert_allclose(amplitude, lines["S_N"]["value"], rtol=THREE_DIGITS)
    told = lines["K_P"]["what"]
    z, s = norm.ppf(lines["P"]["value"]), number(told, "s = ")
    survival_factor = 10.0 ** (-z * s / k)
    assert_allclose(survival_factor, lines["K_P"]["value"], rtol=THREE_DIGITS)
    named = lines["S_sm"]["what"].split()
    factors = [lines[symbol]["value"] for symbol in named if symbol.startswith("K_")]
    factors.append(lines["n"]["value"])
    allowable = lines["S_N"]["value"] * np.prod(factors)
    assert_allclose(allowable, lines["S_al"]["value"], rtol=THREE_DIGITS)
    margin = allowable / lines["sa_eq"]["value"]
    assert_allclose(margin, lines["margin"]["value"], rtol=THREE_DIGITS)
    assert_allclose(margin, spot["margin"], rtol=THREE_DIGITS)
    chance = norm.cdf(z + k / s * np.log10(margin))
    assert_allclose(chance, spot["survival"], rtol=THREE_DIGITS)


def test_the_surface_factor_follows_from_its_line(document):
    """K_R = 1 - 0.20 log10(Rz) log10(2 Rm / 133) and K_f 1.2 of cast alloys (FKM)."""
    lines, _ = sheet(document, "cornering")
    told = lines["K_surf"]["what"]
    roughness = 1.0 - 0.20 * np.log10(number(told, "Rz = ")) * np.log10(2 * 262 / 133)
    assert_allclose(roughness, number(told, "K_R = "), rtol=THREE_DIGITS)
    factor = 1.0 / (1.0 + (1.0 / roughness - 1.0) / 1.2)
    assert_allclose(factor, lines["K_surf"]["value"], rtol=THREE_DIGITS)


def test_the_sheet_begins_with_the_load_of_its_test(document):
    """The first line is the derived load, so the sheet hangs on the clause."""
    loads = {
        test["name"]: test["moment_n_mm"] or test["force_n"]
        for test in document["tests"]
    }
    for spot in document["hot_spots"]:
        assert spot["audit"][0]["symbol"] == "load"
        assert spot["audit"][0]["value"] == loads[spot["test"]]


def test_every_line_has_a_source(document):
    """No number of the sheet stands without unit and source."""
    for spot in document["hot_spots"]:
        for line in spot["audit"]:
            assert line["source"]
            assert line["unit"]


def test_zones_and_sensitivities_are_told(document):
    """Each test has both zones; the radial one its margin at 30, 35 and 40 degrees."""
    for test in document["tests"]:
        zones = {zone["zone"]: zone for zone in test["zones"]}
        assert set(zones) == {"hub and spokes", "rim"}
        least = min(zone["margin"] for zone in zones.values())
        assert_allclose(least, test["margin"], rtol=1e-5)
    radial = document["tests"][-1]
    margins = [other["margin"] for other in radial["sensitivities"]]
    assert len(margins) == 3
    assert_allclose(margins[-1], radial["margin"], rtol=1e-5)
    # a narrower patch concentrates the load
    assert margins == sorted(margins)
