"""Threads of the linear algebra while processes share the cores."""

import os

import pytest

from spokecheck.fem.threads import THREAD_VARIABLES, single_threaded


def planted_inside():
    """Raise inside, after a look at the variables."""
    with single_threaded():
        seen = [os.environ[name] for name in THREAD_VARIABLES]
        raise RuntimeError(f"planted with {seen}")


def test_variables_are_set_and_put_back(monkeypatch):
    """Inside, each variable is 1; afterwards it is as before, on errors too."""
    first, second = THREAD_VARIABLES
    monkeypatch.setenv(first, "7")
    monkeypatch.delenv(second, raising=False)
    with pytest.raises(RuntimeError, match=r"planted with \['1', '1'\]"):
        planted_inside()
    assert os.environ[first] == "7"
    assert second not in os.environ
