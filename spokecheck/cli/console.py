"""What is printed, and how errors become exit codes: nowhere else."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

import typer
from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from spokecheck.errors import DesignError, InputError, SpokecheckError

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.screen.findings import Findings

NOT_CLEAR, BAD_INPUT, FAILED = 1, 2, 3

WIDE = 10_000
"""Columns where no terminal shows the text: nothing is wrapped in a file."""


def _columns(stream: TextIO) -> int | None:
    """Width of a console; None where the terminal or the user says it."""
    return None if stream.isatty() or "COLUMNS" in os.environ else WIDE


out = Console(width=_columns(sys.stdout))
err = Console(width=_columns(sys.stderr), stderr=True)


def shown_progress() -> Progress:
    """Progress on standard error; nothing at all unless that is a terminal."""
    return Progress(
        SpinnerColumn(),
        TextColumn("{task.description}"),
        TextColumn("{task.completed}/{task.total}"),
        TimeElapsedColumn(),
        console=err,
        transient=True,
        redirect_stdout=out.is_terminal,  # else it would go where progress goes
        disable=not err.is_terminal,
    )


@contextmanager
def reported(option: str = "--out") -> Iterator[None]:
    """Turn errors into a message and an exit code.

    ``option`` names where the place was given that may not be writable.
    """
    try:
        yield
    except SpokecheckError as error:
        print_error(error)
        raise typer.Exit(code_of(error)) from error
    except OSError as error:
        where = error.filename or "a file"
        err.print(
            f"{option} {where}: {error.strerror or error}; choose another place",
            style="red",
        )
        raise typer.Exit(BAD_INPUT) from error


def print_error(error: SpokecheckError) -> None:
    """Print an error on standard error."""
    from spokecheck.report.findings.terminal import render_faults

    if isinstance(error, DesignError):
        err.print(render_faults(error))
    else:
        err.print(str(error), style="red", highlight=False, markup=False)


def code_of(error: SpokecheckError) -> int:
    """Exit code of an error."""
    return BAD_INPUT if isinstance(error, InputError) else FAILED


def verdict_code(findings: "Findings") -> int:
    """Exit code of a design that was screened; a borderline one does not clear."""
    return 0 if findings.verdict.word == "clears" else NOT_CLEAR
