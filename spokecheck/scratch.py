"""Scratch folders, which go with the process that made them or with a later run.

A process that is killed leaves its folder behind.
The folder holds a file that its owner keeps locked, and the lock goes with the owner:
what can be locked is nobody's.
"""

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # not on Windows, where only old folders are swept
    fcntl = None  # type: ignore[assignment]

PREFIX, LOCK = "spokecheck-", ".lock"

STALE = 86400.0
"""Seconds after which a folder without a lock is taken for a dead process's."""


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Provide an empty folder, which is removed at the end of the block."""
    with tempfile.TemporaryDirectory(prefix=PREFIX, ignore_cleanup_errors=True) as name:
        folder = Path(name)
        lock = os.open(folder / LOCK, os.O_CREAT | os.O_RDWR)
        try:
            _locked(lock)
            yield folder
        finally:
            os.close(lock)


def sweep_scratch() -> int:
    """Remove this user's scratch folders whose owners are gone; how many there were."""
    swept = 0
    for folder in Path(tempfile.gettempdir()).glob(f"{PREFIX}*"):
        with suppress(OSError):
            if _is_mine(folder) and _is_left(folder):
                shutil.rmtree(folder, ignore_errors=True)
                swept += 1
    return swept


def _is_mine(folder: Path) -> bool:
    if folder.is_symlink() or not folder.is_dir():
        return False
    return not hasattr(os, "getuid") or folder.stat().st_uid == os.getuid()


def _is_left(folder: Path) -> bool:
    """Whether no process holds a folder."""
    file = folder / LOCK
    if fcntl is None or not file.exists():
        return time.time() - folder.stat().st_mtime > STALE
    lock = os.open(file, os.O_RDWR)
    try:
        return _locked(lock)
    finally:
        os.close(lock)


def _locked(lock: int) -> bool:
    """Lock an open file for as long as it stays open; False if another holds it."""
    if fcntl is None:
        return True
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
