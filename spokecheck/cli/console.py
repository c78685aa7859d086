"""What is printed, and how errors become exit codes: nowhere else.

What is printed comes from files and folders that may be hostile: nothing in it is taken
for markup, and control characters are shown as their numbers.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING, Any

import typer
from rich.console import (
    Console,
    ConsoleDimensions,
    ConsoleOptions,
    RenderableType,
    RenderResult,
)
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from spokecheck.cli.guard import BAD_INPUT, FAILED, drop_stream
from spokecheck.errors import DesignError, InputError, SpokecheckError
from spokecheck.plain_text import escaped

if TYPE_CHECKING:  # the rooms are imported when a command needs them
    from spokecheck.screen.findings import Findings

NOT_CLEAR = 1


WIDE = 10_000
"""Columns where no terminal shows the text: nothing is wrapped in a file."""


def _columns(stream: IO[str]) -> int | None:
    """Width of a console; None where the terminal or the user says it."""
    return None if stream.isatty() or "COLUMNS" in os.environ else WIDE


class PlainConsole(Console):
    """A console without markup, whose loss costs what it prints and nothing else.

    Attributes
    ----------
    lost : Exception or None
        Why nothing is printed any more.
    """

    def __init__(self, stderr: bool = False) -> None:
        super().__init__(stderr=stderr, markup=False, emoji=False)
        self.lost: Exception | None = None

    @property
    def size(self) -> ConsoleDimensions:
        """Columns and rows: those of the terminal, else so many that nothing wraps."""
        usual, columns = super().size, _columns(self.file)
        return usual if columns is None else usual._replace(width=columns)

    @size.setter
    def size(self, new_size: tuple[int, int]) -> None:
        self._width, self._height = new_size

    def print(self, *objects: Any, **options: Any) -> None:
        """Print, unless the stream is gone."""
        try:
            super().print(*(_shown(each) for each in objects), **options)
        except (OSError, ValueError) as failure:  # full, or closed
            self.lose(failure)

    def lose(self, failure: Exception) -> None:
        """Print nothing any more."""
        self.lost, self.quiet = self.lost or failure, True
        drop_stream(2 if self.stderr else 1)

    def on_broken_pipe(self) -> None:
        """Nobody reads any more, which is no verdict."""
        self.lose(BrokenPipeError())


class _Escaped:
    """A renderable whose control characters are shown as their numbers."""

    def __init__(self, inner: RenderableType) -> None:
        self._inner = inner

    def __rich_console__(
        self, console: Console, options: ConsoleOptions
    ) -> RenderResult:
        for segment in console.render(self._inner, options):
            plain = segment.control or segment.text.isprintable()
            yield segment if plain else segment._replace(text=escaped(segment.text))


def _shown(thing: Any) -> Any:
    return escaped(thing) if isinstance(thing, str) else _Escaped(thing)


out, err = PlainConsole(), PlainConsole(stderr=True)


def shown_progress() -> Progress:
    """Progress on standard error; nothing at all unless that is a terminal."""
    return Progress(
        SpinnerColumn(),
        TextColumn("{task.description}", markup=False),
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
        err.print(str(error), style="red", highlight=False)


def code_of(error: SpokecheckError) -> int:
    """Exit code of an error."""
    return BAD_INPUT if isinstance(error, InputError) else FAILED


def verdict_code(findings: "Findings") -> int:
    """Exit code of a design that was screened; a borderline one does not clear."""
    return 0 if findings.verdict.word == "clears" else NOT_CLEAR
