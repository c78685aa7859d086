"""Procedures as data: contract of the file, and a user's own procedures."""

import pickle
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from spokecheck.cases.library import read_procedures
from spokecheck.cases.procedure import requirements
from spokecheck.cases.schema import UNSURE
from spokecheck.errors import InputError
from spokecheck.wheel.reading.read import read_design

BASE = read_design(Path("meshes/designs/aspen-cast-5.toml"))
ROW = '{ value = 1.6, clause = "agreed", basis = "agreed with the customer" }'
OWN = f"""
[works]
extends = "iso-3006"
title = "Works test"
[[works.cornering.level]]
name = "agreed"
load_factor = {ROW}
cycles = {ROW.replace("1.6", "1.2e5")}
"""


def written(tmp_path, text):
    """A procedure file with some text."""
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_package_has_the_four_procedures_and_they_cross_processes():
    """UN R124, ISO 3006, SAE J328 and the Japanese standard; the book pickles."""
    book = read_procedures()
    assert {"un-r124", "iso-3006", "sae-j328", "japan-passenger"} <= set(book)
    assert pickle.loads(pickle.dumps(book)) == book


def test_what_memory_alone_carries_is_marked():
    """The drum pressure of UN R124 is reported as unsure, its moment factor is not."""
    procedure = read_procedures()["un-r124"]
    assert UNSURE in procedure.radial.pressure[0].basis
    assert UNSURE not in procedure.cornering.level[0].load_factor[0].basis


def test_a_users_procedure_extends_a_known_one(tmp_path):
    """S 1.6 with mu 0.7 and the loaded radius of ISO 3006, by hand."""
    book = read_procedures(written(tmp_path, OWN))
    actual = requirements(BASE, ["works"], book)
    arm = 0.7 * BASE.loaded_radius + 42.0
    assert_allclose(actual[0].load, 1.6 * 620 * 9.81 * arm, rtol=1e-12)
    assert actual[0].cycles == 1.2e5
    assert [r.test for r in actual] == ["cornering", "radial", "radial"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[works\n", "correct the syntax"),
        (OWN.replace('"iso-3006"', '"iso-9"'), "no such procedure"),
        (OWN.replace("works", "un-r124"), "is a procedure of the package"),
        (OWN.replace(', basis = "agreed with the customer"', ""), "basis = missing"),
        (OWN.replace("value = 1.6", "value = -1.6"), "load_factor"),
        (OWN.replace("title", "titel"), "titel = .*: unknown key"),
        (OWN.replace('name = "agreed"', 'name = ""'), "name"),
    ],
)
def test_faults_of_a_procedure_file_are_reported(tmp_path, text, words):
    """Each fault names its key; nothing is filled in."""
    with pytest.raises(InputError, match=words):
        read_procedures(written(tmp_path, text))


def test_all_faults_come_together(tmp_path):
    """Two faults make one message."""
    text = OWN.replace("title", "titel").replace("value = 1.6", 'value = "much"')
    with pytest.raises(InputError, match="2 faults"):
        read_procedures(written(tmp_path, text))


def test_a_missing_file_is_reported(tmp_path):
    """The path stands in the message."""
    with pytest.raises(InputError, match=r"none\.toml"):
        read_procedures(tmp_path / "none.toml")
