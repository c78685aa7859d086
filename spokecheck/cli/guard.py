"""The one place where whatever ends a command becomes an exit code.

0, 1 and 2 come from a verdict or from the input alone.  Anything unforeseen ends with 3
and a message, an interrupt with 130 and one line; a pipe that nobody reads any more is
no verdict and changes nothing.
"""

import io
import os
import signal
import sys
import traceback
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import FrameType
from typing import NoReturn

BAD_INPUT, FAILED = 2, 3
PACKAGE = Path(__file__).resolve().parents[1]


class Interrupted(BaseException):
    """A signal asks this process to end.

    Attributes
    ----------
    number : int
        Of the signal.
    """

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def catch_signals() -> None:
    """Turn an interrupt and a request to terminate into ``Interrupted``."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        # what the caller has this process ignore stays ignored, as under nohup
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _interrupt)


def _interrupt(number: int, frame: FrameType | None) -> NoReturn:
    signal.signal(number, signal.SIG_IGN)  # ending takes less than a second
    raise Interrupted(number)


def show_every_character() -> None:
    """Let a terminal that lacks a character show its number instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]


def guarded(run: Callable[[], object]) -> int:
    """Exit code of a command.

    Parameters
    ----------
    run : callable
        Runs the command; returns its exit code, or nothing for 0.
    """
    try:
        code = run()
    except BaseException as failure:
        code = _code_of(failure)
    return _flushed(code if isinstance(code, int) else 0)


def _code_of(failure: BaseException) -> int:
    """Exit code of what a command raised, after its message."""
    if isinstance(failure, Interrupted | KeyboardInterrupt):
        number = getattr(failure, "number", signal.SIGINT)
        _say(f"interrupted by {signal.Signals(number).name}; finished designs are kept")
        return 128 + int(number)
    if isinstance(failure, SystemExit):
        return _code_of_exit(failure)
    from typer import BadParameter, Exit

    if isinstance(failure, Exit):
        return int(failure.exit_code)
    if isinstance(failure, BadParameter.__bases__):  # any mistake in the arguments
        _say(_usage(failure))
        return BAD_INPUT
    from spokecheck.errors import InputError, SpokecheckError

    if isinstance(failure, SpokecheckError):
        _say(str(failure))
        return BAD_INPUT if isinstance(failure, InputError) else FAILED
    if isinstance(failure, MemoryError):
        _say("out of memory; screen less fine, or fewer designs at a time (--workers)")
        return FAILED
    if isinstance(failure, OSError) and failure.strerror:
        where = f"{failure.filename}: " if failure.filename else ""
        _say(f"{where}{failure.strerror}; make room, or choose another place")
        return FAILED
    what = f"unexpected {type(failure).__name__}: {failure}".strip()
    _say(f"{what} ({_place(failure)}); please report it")
    return FAILED


def _code_of_exit(failure: SystemExit) -> int:
    """Code of a ``SystemExit``; a library's own, for a closed pipe, is no verdict."""
    if isinstance(failure.__context__, BrokenPipeError):
        return 0
    return failure.code if isinstance(failure.code, int) else 0


def _usage(failure: BaseException) -> str:
    """How a command is used, and what was wrong with its arguments."""
    told = io.StringIO()
    failure.show(file=told)  # type: ignore[attr-defined]
    return told.getvalue().rstrip()


def _place(failure: BaseException) -> str:
    """File and line of this package in which an exception began."""
    for frame in reversed(traceback.extract_tb(failure.__traceback__)):
        path = Path(frame.filename)
        if PACKAGE in path.parents:
            return f"{path.relative_to(PACKAGE).as_posix()}:{frame.lineno}"
    return "outside the package"


def _say(text: str) -> None:
    """Print on standard error, whatever has happened to it."""
    with suppress(Exception):
        from spokecheck.cli.console import err

        err.print(text, style="red", highlight=False, soft_wrap=True)


def _flushed(code: int) -> int:
    """The same code, or 3 if what was printed did not arrive."""
    from spokecheck.cli.console import out

    with suppress(AttributeError):
        try:
            sys.stdout.flush()
        except (OSError, ValueError) as failure:
            out.lose(failure)
    if out.lost is None or isinstance(out.lost, BrokenPipeError):
        return code
    _say(f"standard output: {out.lost}; what was printed last is lost")
    return FAILED if code <= FAILED else code


def drop_stream(number: int) -> None:
    """Let what is still to be written to a standard stream go nowhere."""
    with suppress(OSError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, number)
        os.close(nowhere)
