"""Duty and material of a design file: what is refused, and in which words."""

from pathlib import Path

import pytest

from spokecheck.errors import DesignError
from spokecheck.wheel.reading.read import parse_design

TEXT = Path("meshes/designs/aspen-cast-5.toml").read_text(encoding="utf-8")


def design(material="", duty=""):
    """The example with more keys."""
    text = TEXT.replace("[material]", f"{duty}\n[material]\n{material}")
    return parse_design(text, "variant.toml")


@pytest.mark.parametrize(
    ("material", "key", "words"),
    [
        ("survival = 1.2", "survival", "at most 1"),
        ("defect_sqrt_area_um = 8000", "defect_sqrt_area_um", "thinnest wall"),
        ("defect_sqrt_area_um = 1500", "defect_sqrt_area_um", "about 1 mm"),
        ("defect_sqrt_area_um = 0", "defect_sqrt_area_um", "at least 0"),
        ("hardness_hb = 300", "hardness_hb", "HB 50 to 140"),
        ("temperature_c = 250", "temperature_c", "-25 to 200"),
        ("bake_temperature_c = 230", "bake_temperature_c", "at most 200 C"),
        ("peening_factor = 3", "peening_factor", "at most 2"),
        ("casting_factor = -1", "casting_factor", "at least 0"),
        ('measure = "mises"', "measure", "ellipse"),
        ('support = "line"', "critical_distance_mm", "needs the alloy"),
        ("critical_distance_mm = 0.3", "critical_distance_mm", "no meaning"),
        ('rim_alloy = "al-si-11"', "rim_alloy", "unknown"),
    ],
)
def test_a_material_that_cannot_be_is_refused(material, key, words):
    """Each refusal names key and limit; nothing is clipped."""
    with pytest.raises(DesignError) as caught:
        design(material)
    message = {fault.key: str(fault) for fault in caught.value.faults}
    assert words in message[f"material.{key}"]


@pytest.mark.parametrize(
    ("duty", "key", "words"),
    [
        ("bolt_torque_nm = 140", "bolt_thread_mm", "thread's diameter"),
        ("loaded_radius_mm = 400", "loaded_radius_mm", "not larger"),
        ("loaded_radius_mm = 240", "loaded_radius_mm", "flange alone"),
        ("speed_kmh = 900", "speed_kmh", "at most 300 km/h"),
        ('category = "N9"', "category", "must be"),
        ("procedures = []", "procedures", "at least 1"),
        ('tests = ["impact"]', "tests.0", "cornering"),
        ("inboard_share = 1.5", "inboard_share", "at most 0.8"),
    ],
)
def test_a_duty_that_cannot_be_is_refused(duty, key, words):
    """Each refusal names key and limit."""
    with pytest.raises(DesignError) as caught:
        design(duty=duty)
    message = {fault.key: str(fault) for fault in caught.value.faults}
    assert words in message[f"duty.{key}"]


def test_every_quality_of_a_part_can_be_given():
    """A part described in full is accepted as it stands."""
    message = design(
        "hardness_hb = 85\ndefect_sqrt_area_um = 400\ncasting_factor = 0.9\n"
        'peening_factor = 1.05\ntemperature_c = 80\nsupport = "point"\n'
        'critical_distance_mm = 0.2\nmeasure = "normal"\nbake_temperature_c = 180',
        'procedures = ["un-r124", "sae-j328"]\nbolt_torque_nm = 140\n'
        "bolt_thread_mm = 14\nspeed_kmh = 80",
    )
    assert message.material.defect_sqrt_area_um == 400
    assert message.duty.procedures == ("un-r124", "sae-j328")
