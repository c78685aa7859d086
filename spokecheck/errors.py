"""What can go wrong, as one tree.

::

    SpokecheckError
    +-- InputError        the user can correct it: exit code 2
    |   +-- InputFileError  a procedure or alloy file, with all its faults at once
    |   |   +-- DesignError     a design file, or a wheel from elsewhere, likewise
    |   +-- FatigueError    an alloy, survival or cycle number outside its table
    |   +-- CaseError       an unknown handbook case or one with impossible arguments
    +-- ComputationError  the tool could not finish: exit code 3
        +-- MeshError       the mesher failed or gave cells that cannot be used
        +-- ModelError      supports or loads that have no unique solution
        +-- TimeLimitError  a step was ended since it took too long
        +-- MemoryLimitError  a step would need, or took, more memory than it may

Only ``cli`` turns these into exit codes.
Messages follow one grammar: what, value with unit, limit, where, what to do.
"""

from collections.abc import Sequence
from dataclasses import dataclass


class SpokecheckError(Exception):
    """Root of every error this package raises on purpose."""


class InputError(SpokecheckError):
    """The input cannot be used as it stands; the user can correct it."""


class ComputationError(SpokecheckError):
    """The input is admissible, yet no result could be computed."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input file.

    Attributes
    ----------
    key : str
        Dotted key in the file, such as ``spokes.count``.
    value : str
        The offending value with its unit, as text.
    limit : str
        What the value has to satisfy.
    remedy : str
        What to do about it.
    """

    key: str
    value: str
    limit: str
    remedy: str

    def __str__(self) -> str:
        shown = f"{self.key} = {self.value}" if self.value else self.key
        return f"{shown}: {self.limit}; {self.remedy}"


MOST_FAULTS = 60
"""Faults of a file that are listed: one with more is something else."""


class InputFileError(InputError):
    """An input file with all its faults at once."""

    def __init__(self, source: str, faults: Sequence[Fault], what: str) -> None:
        self.source = source
        self._given = tuple(faults)
        self.faults = self._given[:MOST_FAULTS]
        if len(faults) > MOST_FAULTS:
            limit = f"{len(faults) - MOST_FAULTS} more faults"
            self.faults += (Fault("file", "", limit, "correct these first"),)
        self.what = what
        count = len(faults)
        head = f"{source}: {count} fault{'s' if count != 1 else ''} in the {what}"
        super().__init__("\n".join([head, *(f"  - {fault}" for fault in self.faults)]))

    def __reduce__(self) -> tuple[type, tuple[str, tuple[Fault, ...], str]]:
        """Pickle by source and faults, so that the error crosses processes."""
        return type(self), (self.source, self._given, self.what)


class DesignError(InputFileError):
    """A design file, or a wheel from elsewhere, with all its faults at once."""

    def __init__(
        self, source: str, faults: Sequence[Fault], what: str = "design file"
    ) -> None:
        super().__init__(source, faults, what)


class FatigueError(InputError):
    """An alloy, a survival probability or a cycle number outside its table."""


class CaseError(InputError):
    """An unknown handbook case, or arguments it cannot be built with."""


class MeshError(ComputationError):
    """The mesher failed, or its cells cannot be used."""


class ModelError(ComputationError):
    """Supports or loads that admit no unique solution."""


class TimeLimitError(ComputationError):
    """A step took longer than it may.

    Nothing else is tried then: a result must not hang on how fast the machine is.
    """


class MemoryLimitError(ComputationError):
    """A step would need, or took, more memory than it may.

    No other drawing is tried then: a result must not hang on how large the machine is.
    """
