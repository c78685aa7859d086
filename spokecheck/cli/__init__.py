"""The command line: the only package that prints and exits.

Exit codes: 0 all designs clear; 1 some design does not clear (a borderline one counts
as not clear); 2 bad input; 3 a computation failed, or something unforeseen; 130 an
interrupt (128 and the number of the signal).
Of several designs the highest code counts.
"""

import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from spokecheck.cli.commands import app

__all__ = ["app", "main"]


def main() -> None:
    """Run the command line."""
    from spokecheck.cli.guard import catch_signals, guarded, show_every_character

    catch_signals()
    show_every_character()
    sys.exit(guarded(_run))


def _run() -> object:
    """Import and run the commands; their exit code."""
    from spokecheck.fem.memory import keep_freed_memory
    from spokecheck.fem.threads import limit_to_one_thread

    limit_to_one_thread()
    keep_freed_memory()
    from spokecheck.cli.commands import app

    return app(prog_name="spokecheck", standalone_mode=False)


def __getattr__(name: str) -> Any:
    """Import the commands when they are asked for: workers start without them."""
    if name != "app":
        raise AttributeError(name)
    from spokecheck.cli.commands import app

    return app
