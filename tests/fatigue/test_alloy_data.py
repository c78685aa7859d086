"""The alloy file: complete, sourced, and refused when it is not."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spokecheck.errors import FatigueError, InputFileError
from spokecheck.fatigue.alloys import (
    NUMBERS,
    alloy,
    read_alloys,
    with_estimated_line,
)

IDS = [
    "a356-t6-low-pressure",
    "a356-t6-gravity",
    "a356-t6-flow-formed",
    "6061-t6-forged",
    "6082-t6-forged",
]
ENTRIES = list(read_alloys().values())


def test_the_file_has_the_five_alloys():
    """Five alloys by process, in this order."""
    assert list(read_alloys()) == IDS


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda a: a.id)
def test_every_number_has_a_unit_a_basis_and_a_source(entry):
    """No number of the file stands without unit, basis and a source of some length."""
    assert set(NUMBERS) < set(entry.facts)
    assert {"sn.cycles_min", "sn.cycles_max", "sn.log_life_std"} < set(entry.facts)
    for fact in entry.facts.values():
        assert np.isfinite(fact.value)
        assert fact.unit
        assert len(fact.basis) > 4
        assert len(fact.source) > 15
    assert entry.sn.basis
    assert entry.sn.source
    assert entry.note


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda a: a.id)
def test_numbers_are_physically_possible(entry):
    """Units inside are MPa and t/mm3: aluminium's numbers, not gigapascals."""
    assert 65e3 < entry.youngs_modulus < 80e3
    assert 0.3 < entry.poisson < 0.35
    assert 2.6e-9 < entry.density < 2.8e-9
    assert 0 < entry.rp02 < entry.rm < 500
    assert 0 < entry.elongation < 0.3
    assert 0.5 < entry.shear_ratio < 1.0


def test_handbook_values_of_the_cast_and_forged_entries():
    """A356-T6 class 1: 38/28 ksi, 5 %; 6061-T6 die forging: 38/35 ksi, 7 %.

    MIL-HDBK-5J Tables 3.9.5.0(b) and 3.6.2.0(e), rounded there to ksi; 1 ksi is
    6.894757 MPa, 1 lb/in3 is 27.68 g/cm3.
    """
    ksi, pci = 6.894757, 2.76799e-8
    cast, forged = alloy("a356-t6-low-pressure"), alloy("6061-t6-forged")
    assert_allclose([cast.rm, cast.rp02], [38 * ksi, 28 * ksi], atol=0.5)
    assert_allclose([forged.rm, forged.rp02], [38 * ksi, 35 * ksi], atol=0.5)
    assert_allclose(cast.youngs_modulus, 10.4e3 * ksi, rtol=1e-3)
    assert_allclose(forged.youngs_modulus, 9.9e3 * ksi, rtol=1e-3)
    assert_allclose(
        [cast.density, forged.density], [0.097 * pci, 0.098 * pci], rtol=1e-3
    )
    assert_allclose([cast.elongation, forged.elongation], [0.05, 0.07], rtol=1e-12)


def test_the_gravity_entry_is_never_stronger_than_the_low_pressure_one():
    """Lower strength class and quality factor: less amplitude at every life."""
    low, gravity = alloy("a356-t6-low-pressure"), alloy("a356-t6-gravity")
    assert_allclose(gravity.casting_factor, gravity.rm / low.rm, atol=5e-4)
    assert low.casting_factor == 1.0


def test_the_spun_entry_says_that_its_line_is_the_cast_one():
    """The spun entry uses the cast S-N line, for want of its own, and says so."""
    spun, cast = alloy("a356-t6-flow-formed"), alloy("a356-t6-low-pressure")
    assert "No S-N line of a spun zone is sourced" in spun.note
    assert spun.sn.formula == cast.sn.formula


def test_an_unknown_alloy_lists_the_known_and_the_closest():
    """An unknown id is refused with the closest id and all of them."""
    with pytest.raises(FatigueError) as caught:
        alloy("6061-T6-forge")
    message = str(caught.value)
    assert "did you mean 6061-t6-forged?" in message
    assert all(key in message for key in IDS)


@pytest.fixture
def own_file(tmp_path):
    """Copy of the package's file with one text replaced."""
    from importlib import resources

    text = resources.files("spokecheck.fatigue").joinpath("alloys.toml").read_text()

    def write(old="", new=""):
        assert old in text
        path = tmp_path / "own.toml"
        path.write_text(text.replace(old, new, 1))
        return path

    return write


def test_a_user_file_of_the_same_form_is_read(own_file):
    """A file elsewhere with another density gives that density."""
    path = own_file("value = 2685,", "value = 2700,")
    assert_allclose(read_alloys(path)[IDS[0]].density, 2.7e-9, rtol=1e-12)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (', source = "mil-cast" }', " }", "youngs_modulus: source missing"),
        ('source = "mil-cast" }', 'source = "hearsay" }', "not under"),
        ('basis = "typical, tension"', 'basis = ""', "basis missing"),
        (
            'note = "S-N of smooth',
            'fudge = 0.33\nnote = "S-N of smooth',
            "fudge = 0.33: a bare number",
        ),
        (
            'group = "cast"',
            'group = "sintered"',
            "group = sintered: unknown; use cast, wrought",
        ),
        (
            'route = "basquin"',
            'route = "guess"',
            "sn.route = guess: unknown; use basquin",
        ),
        (
            'route = "fkm"',
            'route = "guess"',
            "mean_stress.route = guess: unknown; use fkm",
        ),
        ('process = "low-pressure cast"', "", "process = missing"),
        ("[alloy.6061-t6-forged]", "[alloy.6061-t6-forged", "correct the syntax"),
        ("gamma = { value = 0.63", "gamma = { value = 1.63", "gamma = 1.63: must lie"),
    ],
)
def test_faults_of_a_user_file_are_named(own_file, old, new, words):
    """A number without its columns, or an unknown route, is refused by name."""
    with pytest.raises(InputFileError, match=words.replace("[", r"\[")):
        read_alloys(own_file(old, new))


def test_an_alloy_file_may_give_two_points_of_a_line(own_file):
    """Route two-points goes through both: 0.9 x 551 MPa at 1e3, 276 MPa at 1e6.

    Shigley's Mechanical Engineering Design, problem 6-15: b = -0.084828.
    """
    cells = {"cycles_1": 1e3, "amplitude_1": 495.9, "cycles_2": 1e6, "amplitude_2": 276}
    lines = ['route = "two-points"'] + [
        f'{key} = {{ value = {value}, unit = "-", basis = "x", source = "own" }}'
        for key, value in cells.items()
    ]
    line = read_alloys(own_file('route = "basquin"', "\n".join(lines)))[IDS[0]].sn
    assert_allclose(-1.0 / line.slope, -0.084828, atol=5e-7)
    assert_allclose(line.amplitude(1e6, 0.5), 276.0, rtol=1e-12)


def test_all_faults_of_an_alloy_file_come_together(own_file):
    """Two faults in two alloys make one error with both."""
    path = own_file('group = "cast"', 'group = "sintered"')
    path.write_text(path.read_text().replace('route = "walker"', 'route = "guess"'))
    with pytest.raises(InputFileError) as caught:
        read_alloys(path)
    assert [fault.key for fault in caught.value.faults] == [
        "a356-t6-low-pressure.group",
        "6061-t6-forged.mean_stress.route",
    ]


@pytest.mark.parametrize("route", ["goodman", "gerber", "morrow"])
def test_an_alloy_file_may_name_a_textbook_route(own_file, route):
    """Goodman and Gerber take Rm, 262 MPa, Morrow a fracture strength of its own."""
    lines = f'route = "{route}"'
    if route == "morrow":
        lines += (
            '\nfracture = { value = 345, unit = "MPa", basis = "x", source = "own" }'
        )
    metal = read_alloys(own_file('route = "fkm"', lines))[IDS[0]]
    share = {
        "goodman": 1 - 50 / 262,
        "gerber": 1 - (50 / 262) ** 2,
        "morrow": 1 - 50 / 345,
    }
    equivalent = metal.mean_stress.equivalent(60.0, 50.0)
    assert_allclose(equivalent, 60.0 / share[route], rtol=1e-12)
    lead = {"morrow": "mean_stress.fracture"}.get(route, "rm")
    assert metal.mean_stress.source == metal.facts[lead].source


def test_a_missing_file_is_reported(tmp_path):
    """A file that is not there is a fault of the input."""
    with pytest.raises(InputFileError, match="No such file"):
        read_alloys(tmp_path / "none.toml")


def test_an_estimated_line_needs_only_the_tensile_strength(own_file):
    """Route fkm-estimate gives 0.30 Rm at 1e6 cycles and 97.5 % survival."""
    path = own_file('route = "basquin"', 'route = "fkm-estimate"')
    line = read_alloys(path)[IDS[0]].sn
    assert_allclose(line.amplitude(1e6, 0.975), 0.30 * 262.0, rtol=1e-12)


@pytest.mark.parametrize(
    ("name", "knee"), [("a356-t6-low-pressure", 78.6), ("6061-t6-forged", 78.6)]
)
def test_any_alloy_can_be_estimated_from_its_strength(name, knee):
    """FKM: 0.30 Rm at 1e6 and 97.5 % (262 MPa gives 78.6), k = 5 before, 15 after."""
    reference = with_estimated_line(alloy(name))
    assert_allclose(reference.sn.amplitude(1.0e6, 0.975), knee, rtol=1e-12)
    assert_allclose(reference.sn.amplitude(1.0e5, 0.975), knee * 10**0.2, rtol=1e-12)
    assert_allclose(
        reference.sn.amplitude(1.0e8, 0.975), knee * 100 ** (-1 / 15), rtol=1e-9
    )
    assert reference.sn.extrapolated(1.0e6)  # no test stands behind it
    assert reference.rm == alloy(name).rm
