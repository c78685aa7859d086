"""Files that are whole or not there."""

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from errno import EISDIR
from pathlib import Path


@dataclass(frozen=True)
class Written:
    """Files written.

    Attributes
    ----------
    json, page : Path
        Always there.
    vtu : Path or None
        On request.
    small : bytes or None
        Small picture (JPEG), for comparisons.
    notes : tuple of str
        What could not be done, such as ``no pictures: ...``.
    """

    json: Path
    page: Path
    vtu: Path | None = None
    small: bytes | None = field(default=None, repr=False)
    notes: tuple[str, ...] = ()


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
    if path.is_dir():  # of the passing name nobody knows
        raise IsADirectoryError(EISDIR, os.strerror(EISDIR), str(path))
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
    return write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, content: bytes) -> Path:
    """Write a file, whole or not at all."""
    return write_whole(path, lambda part: _put(part, content))


def _put(path: Path, content: bytes) -> None:
    path.write_bytes(content)
