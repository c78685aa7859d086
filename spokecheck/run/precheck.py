"""What can be said of a design file without screening it: its faults, its alloys.

Of several designs one with faults starts no worker, so a run in which nothing else is
left to do ends at once; a worker with one alone looks for faults first.
"""

import tomllib
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from spokecheck.errors import DesignError, Fault, SpokecheckError
from spokecheck.screen.request import Request
from spokecheck.toml_file import LARGEST_FILE


def faults_before(path: Path, request: Request) -> SpokecheckError | None:
    """Error of a file that cannot be screened; None if it may be.

    Parameters
    ----------
    path : Path
        Design or sidecar file.
    request : Request
        Its overrides are part of what is checked.

    Notes
    -----
    What goes wrong in an unforeseen way is left to the worker, which is apart.
    """
    from spokecheck.wheel.reading.read import read_brief

    try:
        read_brief(path, request.overrides)
    except SpokecheckError as error:
        return error
    except Exception:
        return None
    return None


def alloy_error(
    path: Path, allowed: Sequence[str], request: Request
) -> SpokecheckError | None:
    """Error of a design whose alloy is not allowed, with its other faults.

    Parameters
    ----------
    path : Path
        Design or sidecar file.
    allowed : sequence of str
        Alloys; empty for all.
    request : Request
        For the other faults.

    Returns
    -------
    SpokecheckError or None
        None if its alloys are allowed, or cannot be read: that is the reader's to say.
    """
    faults = [
        Fault(
            f"material.{key}",
            name,
            "is not among the allowed alloys",
            f"choose {', '.join(allowed)}",
        )
        for key, name in _alloys(path).items()
        if allowed and name not in allowed
    ]
    if not faults:
        return None
    others = faults_before(path, request)
    if isinstance(others, DesignError):
        faults += others.faults
    return DesignError(str(path), faults)


def _alloys(path: Path) -> dict[str, str]:
    """Alloys that a file names, by key."""
    with suppress(OSError, ValueError, RecursionError):
        if path.is_file() and path.stat().st_size <= LARGEST_FILE:
            raw: Any = tomllib.loads(path.read_text(encoding="utf-8"))
            table = raw.get("material")
            if isinstance(table, dict):
                keys = ("alloy", "rim_alloy")
                return {k: table[k] for k in keys if isinstance(table.get(k), str)}
    return {}
