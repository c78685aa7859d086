"""What several rooms' tests share."""

import itertools
import os
import tomllib
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, as the command does

import pytest
from hypothesis import settings

from spokecheck.screen.pipeline import screen
from spokecheck.screen.request import Request
from spokecheck.screen.results import Screening
from spokecheck.wheel.tables.design import Design

settings.register_profile("any machine", deadline=None)  # no test asserts a time
settings.load_profile("any machine")

ROOT = Path(__file__).parents[1]
COUNT = itertools.count()


def pytest_addoption(parser):
    """Let the number of mutated files be asked for."""
    parser.addoption("--hostile-cases", type=int, default=300)
    parser.addoption("--kills", type=int, default=10)


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory, monkeypatch):
    """No test sees results stored by another, or by the user."""
    folder = tmp_path_factory.getbasetemp() / f"cache-{next(COUNT)}"
    monkeypatch.setenv("SPOKECHECK_CACHE", str(folder))


@pytest.fixture(scope="session")
def small_screening() -> Screening:
    """A screening of an example wheel on one mesh: good for form, not for figures."""
    text = (ROOT / "meshes/designs/aspen-cast-5.toml").read_text(encoding="utf-8")
    return screen(Design(**tomllib.loads(text)), Request(meshes=1))
