"""Files that are whole or not there."""

import os
from collections.abc import Callable
from pathlib import Path


def write_whole(path: Path, write: Callable[[Path], None]) -> Path:
    """Have a file written under a passing name in the same folder, then rename it.

    Parameters
    ----------
    path : Path
        Where the file shall be; an older one there is replaced at once or not at all.
    write : callable
        Writes the file at the path it is given.

    Returns
    -------
    Path
        ``path``.

    Raises
    ------
    OSError
        If the folder cannot be made or written to; a half-written file is removed.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{os.getpid()}.part{path.suffix}")
    try:
        write(part)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    return path


def write_text(path: Path, text: str) -> Path:
    """Write a text file in UTF-8, whole or not at all."""
    return write_whole(path, lambda part: _put(part, text))


def _put(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")
