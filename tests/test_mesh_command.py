"""``screen --mesh``: whatever is given, a result or a message, never a traceback."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from spokecheck.cli import app

ASPEN = "meshes/designs/aspen-cast-5.toml"
SIDECAR = "meshes/elsewhere/aspen.step.toml"
NOISE = "neither mesh nor solid"


def asked(folder, *words):
    """Exit code and messages of a call."""
    words = [word.format(folder=folder) for word in words]
    out = ["--out", str(folder / "out"), "--no-cache"]
    done = CliRunner().invoke(app, ["screen", *words, *out])
    assert done.exception is None or isinstance(done.exception, SystemExit)
    return done.exit_code, " ".join(done.stderr.split())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "give design files, or one --mesh"),
        (("--sidecar", SIDECAR), "give design files, or one --mesh"),
        ((ASPEN, "--mesh", "{folder}/noise.vtu"), "give design files, or one --mesh"),
        (("--mesh", "{folder}/none.vtu"), "no such file"),
        (("--mesh", "{folder}/noise.vtu"), "no sidecar file"),
        (("--mesh", "{folder}/noise.vtu", "--sidecar", SIDECAR), "cannot be read as"),
        (("--mesh", "{folder}/noise.step", "--sidecar", SIDECAR), "as STEP"),
        (("--mesh", "{folder}/shell.off", "--sidecar", SIDECAR), "a shell or line"),
        (("--mesh", "{folder}/noise.vtu", "--sidecar", ASPEN), "unknown key"),
        ((SIDECAR,), "check the path, or give --mesh"),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_what_cannot_be_screened_is_bad_input(tmp_path, words, said):
    """Exit code 2, and a message that says what is missing or wrong."""
    (tmp_path / "noise.vtu").write_text(NOISE)
    (tmp_path / "noise.step").write_text(NOISE)
    (tmp_path / "shell.off").write_text("OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n")
    code, told = asked(tmp_path, *words)
    assert code == 2, told
    assert said in told


def test_the_sidecar_of_the_examples_is_in_order():
    """The sidecar shown in the README has no fault of its own."""
    from spokecheck.wheel.reading.read import read_brief

    assert read_brief(Path(SIDECAR)).mesh.sectors is None
