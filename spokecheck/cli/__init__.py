"""The command line: the only package that prints and exits.

Exit codes: 0 all designs clear; 1 some design does not clear (a borderline one counts
as not clear); 2 bad input; 3 a computation failed.
Of several designs the highest code counts.
"""

from spokecheck.cli.commands import app
from spokecheck.fem.memory import keep_freed_memory
from spokecheck.fem.threads import limit_to_one_thread

__all__ = ["app", "main"]


def main() -> None:
    """Run the command line."""
    limit_to_one_thread()
    keep_freed_memory()
    app(prog_name="spokecheck")
