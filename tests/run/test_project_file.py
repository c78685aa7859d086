"""The project file: found from the designs upward, and all its faults at once."""

import re
from pathlib import Path

import pytest

from spokecheck.errors import InputError, InputFileError
from spokecheck.run.project_file import Settings, find_project, read_project

WHOLE = """
required_margin = 1.2
procedures = ["iso-3006"]
screen = ["wheels"]
ignore = ["wheels/old", "**/draft-*.toml"]
allowed_alloys = ["a356-t6-low-pressure"]
against = "released"
allow_fall_percent = 3
"""


def project(folder, text=WHOLE):
    """Project file in a folder that has what it names."""
    (folder / "released").mkdir(parents=True, exist_ok=True)
    file = folder / "spokecheck.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_all_keys_are_read_and_reported(tmp_path):
    """Settings have the values of the file; one line names each that is given."""
    found = read_project(project(tmp_path))
    settings = found.settings
    assert settings.required_margin == 1.2
    assert settings.procedures == ("iso-3006",)
    assert settings.allow_fall_percent == 3.0
    assert found.path(settings.against) == tmp_path / "released"
    for word in ("required_margin 1.2", "screen wheels", "allow_fall_percent 3"):
        assert word in found.words
    assert "procedure_file" not in found.words


def test_an_empty_file_sets_nothing(tmp_path):
    """Every key may be left out."""
    assert read_project(project(tmp_path, "")).words.endswith("none")


@pytest.mark.parametrize("here", [".", "./"])
def test_the_folder_of_the_file_itself_may_be_screened(tmp_path, here):
    """A dot is no path that leads out of it."""
    found = read_project(project(tmp_path, f'screen = ["{here}"]'))
    assert found.settings.screen == (here,)


def test_all_faults_are_reported_together(tmp_path):
    """Unknown key, value out of range, missing file, outside path, unknown names."""
    text = """
    requird_margin = 1.2
    required_margin = 0.9
    procedure_file = "none.toml"
    screen = ["../elsewhere", "/wheels", ""]
    allowed_alloys = ["a356-t6-low-presure"]
    allow_fall_percent = "5"
    """
    with pytest.raises(InputFileError) as caught:
        read_project(project(tmp_path, text))
    told = {fault.key: fault for fault in caught.value.faults}
    assert len(caught.value.faults) == 8
    assert told["requird_margin"].remedy == "did you mean required_margin?"
    assert "at least 1" in told["required_margin"].limit
    assert told["procedure_file"].limit == "no such file"
    assert {"screen", "allowed_alloys", "allow_fall_percent"} <= set(told)


def test_an_unknown_procedure_is_a_fault(tmp_path):
    """Procedures are looked up, in the user's file too."""
    own = tmp_path / "own.toml"
    own.write_text('[mine]\nextends = "iso-3006"\n', encoding="utf-8")
    text = 'procedure_file = "own.toml"\nprocedures = ["mine", "yours"]\n'
    with pytest.raises(InputFileError) as caught:
        read_project(project(tmp_path, text))
    assert [fault.value for fault in caught.value.faults] == ["'yours'"]


def test_it_is_found_from_the_designs_upward(tmp_path):
    """From a folder or a file, at any depth."""
    file = project(tmp_path)
    deep = tmp_path / "wheels" / "a"
    deep.mkdir(parents=True)
    for path in (deep, deep / "x.toml", tmp_path, tmp_path / "wheels" / "none.toml"):
        assert find_project([path]).file.samefile(file)


def test_it_is_named_as_the_user_would(tmp_path, monkeypatch):
    """Beside the present folder the path stays short."""
    project(tmp_path)
    (tmp_path / "wheels").mkdir()
    monkeypatch.chdir(tmp_path)
    assert find_project([]).file == Path("spokecheck.toml")
    assert find_project([Path("wheels")]).file == Path("spokecheck.toml")
    monkeypatch.chdir(tmp_path / "wheels")
    assert find_project([Path()]).file == Path("../spokecheck.toml")


def test_it_is_not_looked_for_above_the_repository(tmp_path):
    """The root of a repository ends the way up."""
    project(tmp_path)
    inner = tmp_path / "repository" / "wheels"
    inner.mkdir(parents=True)
    (inner.parent / ".git").mkdir()
    assert find_project([inner]) is None


def test_designs_of_two_projects_are_refused(tmp_path):
    """One run has one set of settings."""
    for name in ("a", "b"):
        project(tmp_path / name)
    with pytest.raises(InputError, match="2 project files"):
        find_project([tmp_path / "a", tmp_path / "b"])


def test_the_readme_shows_every_key(tmp_path):
    """Its example is read without faults, and leaves no key out."""
    readme = Path("README.md").read_text(encoding="utf-8")
    example = re.search(r"```toml\n(.*?)```", readme, re.DOTALL)[1]
    (tmp_path / "house.toml").write_text("")
    found = read_project(project(tmp_path, example)).settings
    assert found.model_fields_set == set(Settings.model_fields)
