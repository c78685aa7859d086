"""Plant a fault in the code, run a case, and see whether it turns red.

A fault is one or more patches of the package, a case is a handbook case or a test
function of any room.
A case sees a fault if it is green on the sound code and red on the broken one.
No patch may miss: its target must exist, and must run while the case does.
"""

import importlib
import inspect
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from functools import wraps
from types import CodeType, ModuleType
from typing import Any

import numpy as np
import pytest

from spokecheck.errors import SpokecheckError
from spokecheck.handbook.catalogue import find_case
from spokecheck.handbook.runner import run_case

RED = (AssertionError, SpokecheckError, pytest.fail.Exception)
"""What a case raises when it is red; anything else is a slip of the fault itself."""

PATCHED = ("spokecheck", "tests", "test_")
"""Beginnings of the names of modules in which a patched function is replaced."""


class MissedError(Exception):
    """A patch without a target, or one whose target did not run."""


@dataclass(frozen=True)
class Wrong:
    """A function replaced by a wrong one, wherever it has been imported.

    Attributes
    ----------
    target : str
        Module and name in the package, such as ``fem.loads:FaceSamples.spread``.
    make : callable
        From the right function to the wrong one.
    here : bool
        Whether it is replaced in the named module only, not where others imported it.
    """

    target: str
    make: Callable[[Callable[..., Any]], Callable[..., Any]]
    here: bool = False


@dataclass(frozen=True)
class Constant:
    """A module's constant with a wrong value.

    Attributes
    ----------
    target : str
        Module and name, such as ``fem.grid_convergence:NOISE``.
    value : float
        The wrong value.
    reader : str
        A function of the package that reads it, and must run in every case.
    """

    target: str
    value: float
    reader: str


@dataclass(frozen=True)
class Case:
    """Something that is green on sound code.

    Attributes
    ----------
    name : str
        For messages.
    green : callable
        Whether it is green; may raise one of ``RED`` instead.
    """

    name: str
    green: Callable[[], bool]


@dataclass(frozen=True)
class Fault:
    """One planted fault, and the cases that must see it.

    Attributes
    ----------
    name : str
        What is wrong, in words.
    patches : tuple
        How it is planted; each must run in every case.
    cases : tuple of Case
    slow : bool
        Whether the cases take more than a second or two.
    """

    name: str
    patches: tuple[Wrong | Constant, ...]
    cases: tuple[Case, ...]
    slow: bool = False


def handbook(name: str, fineness: int | None = None) -> Case:
    """A handbook case, at its own fineness or another."""
    case = find_case(name)
    told = case.id if fineness is None else f"{case.id} at fineness {fineness}"
    return Case(told, lambda: run_case(case, fineness=fineness).passed)


def fact(test: Callable[..., None], *arguments: Any, label: str = "") -> Case:
    """A test function called with some arguments; one that is ``Made`` is made anew.

    ``label`` tells cases apart whose arguments are no plain numbers or words.
    """
    plain = (int, float, str, tuple)
    told = label or ", ".join(str(a) for a in arguments if isinstance(a, plain))

    def green() -> bool:
        test(*(a.make() if isinstance(a, Made) else a for a in arguments))
        return True

    return Case(f"{test.__name__}({told})", green)


@dataclass(frozen=True)
class Made:
    """An argument of a fact that is made anew in each run, so that it has the fault."""

    make: Callable[[], Any]


@dataclass
class _Count:
    target: str
    calls: int = field(default=0)


def is_green(case: Case) -> bool:
    """Whether a case is green; its warnings are left aside."""
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        try:
            return case.green()
        except RED:
            return False


def is_seen(fault: Fault, case: Case) -> bool:
    """Whether a case turns red by a fault.

    Raises
    ------
    MissedError
        If a target does not exist, or does not run in the case.
    """
    with planted(fault) as counts:
        red = not is_green(case)
    idle = [count.target for count in counts if not count.calls]
    if idle:
        raise MissedError(f"{', '.join(idle)}: did not run in {case.name}")
    return red


@contextmanager
def planted(fault: Fault) -> Iterator[list[_Count]]:
    """Plant a fault, and take it out again."""
    with ExitStack() as stack:
        counts = []
        for patch in fault.patches:
            plant = _wrong if isinstance(patch, Wrong) else _constant
            counts.append(stack.enter_context(plant(patch)))
        yield counts


@contextmanager
def _wrong(patch: Wrong) -> Iterator[_Count]:
    owner, name, right = find(patch.target)
    count = _Count(patch.target)
    kind = type(right) if isinstance(right, staticmethod | property) else None
    plain = right.fget if isinstance(right, property) else right
    plain = plain.__func__ if isinstance(plain, staticmethod) else plain
    broken = patch.make(plain)

    @wraps(plain)
    def counted(*arguments: Any, **names: Any) -> Any:
        count.calls += 1
        return broken(*arguments, **names)

    wrong = kind(counted) if kind else counted
    everywhere = isinstance(owner, ModuleType) and not patch.here
    setattr(owner, name, wrong)
    if everywhere:
        _swap(right, wrong)
    try:
        yield count
    finally:
        setattr(owner, name, right)
        _swap(wrong, right)  # modules imported meanwhile, too


@contextmanager
def _constant(patch: Constant) -> Iterator[_Count]:
    owner, name, right = find(patch.target)
    _, _, reader = find(patch.reader)
    plain = reader.fget if isinstance(reader, property) else reader
    if name not in _names_in(plain.__code__):
        raise MissedError(f"{patch.reader} does not read {name}")
    wrong = type(right)(patch.value)
    places = [m for m in _modules() if vars(m).get(name) is right]
    with _wrong(Wrong(patch.reader, lambda same: same)) as count:
        for module in {owner, *places}:
            setattr(module, name, wrong)
        try:
            yield count
        finally:
            for module in _modules():
                if module in places or vars(module).get(name) is wrong:
                    setattr(module, name, right)


def find(target: str) -> tuple[Any, str, Any]:
    """Owner, name and present value of a target.

    Raises
    ------
    MissedError
        If there is none.
    """
    module, _, path = target.partition(":")
    *outer, name = path.split(".")
    try:
        owner: Any = importlib.import_module(f"spokecheck.{module}")
        for part in outer:
            owner = getattr(owner, part)
        return owner, name, inspect.getattr_static(owner, name)
    except (ImportError, AttributeError) as gone:
        raise MissedError(f"{target}: not in the package ({gone})") from gone


def _modules() -> list[ModuleType]:
    return [
        module
        for name, module in list(sys.modules.items())
        if name.startswith(PATCHED) and module is not None
    ]


def _swap(old: Any, new: Any) -> None:
    """Put a function in another's place in every module that holds it."""
    for module in _modules():
        for name, value in list(vars(module).items()):
            if value is old:
                setattr(module, name, new)


def _names_in(code: CodeType) -> set[str]:
    """Global names a function reads, those of functions inside it too."""
    inner = (c for c in code.co_consts if isinstance(c, CodeType))
    return set(code.co_names).union(*(_names_in(c) for c in inner))
