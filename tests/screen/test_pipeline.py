"""The pipeline's way with a request."""

from pathlib import Path

import pytest

from spokecheck.errors import InputError
from spokecheck.screen.pipeline import screen
from spokecheck.screen.request import Request
from spokecheck.wheel.reading.read import read_design
from spokecheck.wheel.source import read_source

ASPEN = Path("meshes/designs/aspen-cast-5.toml")
SIDECAR = Path("meshes/elsewhere/aspen.step.toml")


@pytest.mark.parametrize(
    ("request_", "words"),
    [
        (Request(patch_half_angle=30.0), r"duty.patch_half_angle_deg = 30\.0"),
        (Request(procedures=("sae-j328",)), "duty.procedures"),
    ],
)
def test_a_request_for_another_design_than_the_one_read_is_refused(request_, words):
    """A value that takes a key's place is never left out in silence."""
    with pytest.raises(InputError, match=words):
        screen(read_design(ASPEN), request_)


def test_overrides_are_part_of_the_design_read():
    """The design has the values, and knows which were not the file's."""
    asked = Request(patch_half_angle=30.0, procedures=("un-r124", "sae-j175"))
    design = read_design(ASPEN, asked.overrides)
    assert design.duty.patch_half_angle_deg == 30.0
    assert design.duty.procedures == ("un-r124", "sae-j175")
    assert design.overrides == asked.overrides
    plain = read_design(ASPEN)
    assert plain.overrides == {}
    key = "duty.patch_half_angle_deg"
    given = "given on the command line or in spokecheck.toml"
    assert design.basis(key, "usual") == f"{given}; usual"
    assert plain.basis(key, "usual") == "usual"


def test_a_mesh_of_the_command_line_is_the_sidecars(tmp_path):
    """``--mesh`` takes the place of ``mesh.file``, told by name without a folder."""
    solid = tmp_path / "other.step"
    solid.write_text("solid")
    source = read_source(SIDECAR, solid)
    assert source.brief.mesh.file == "other.step"
    assert source.brief.overrides == {"mesh.file": "other.step"}
    assert source.origin.file == "other.step"


def test_every_override_names_a_key_of_the_request():
    """Without any choice there is nothing to override."""
    assert Request().overrides == {}
    assert Request(mesh=Path("a/b.step")).overrides == {"mesh.file": "b.step"}
