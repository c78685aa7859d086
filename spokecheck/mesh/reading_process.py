"""Read a mesh file in a child process, under a limit of time and one of memory.

The library that reads it trusts the numbers in it: a file of a kilobyte can ask for a
terabyte, or never end.
"""

import os
import pickle
from collections.abc import Sequence
from pathlib import Path

from spokecheck.child_process import ChildError, child_command, run_child
from spokecheck.errors import InputError
from spokecheck.mesh.files import MeshFile
from spokecheck.scratch import scratch_folder

CHILD = "spokecheck.mesh.reader_child"
TIME_LIMIT, SECONDS_PER_GIGABYTE = 60.0, 600.0
"""Seconds a file may take, and more by its size: five times what the slowest format
needs, which is read at 8 MB a second (measured on twelve formats)."""

GIGABYTES, GROWTH = 3.0, 40.0
"""Memory a file may take, and more by its size: five times what the largest format
needs (measured on twelve formats), beside what the libraries set apart."""

BYTES = 1 << 30


def read_mesh_apart(files: Sequence[Path], time_limit: float = TIME_LIMIT) -> MeshFile:
    """Read a mesh file in a process of its own.

    Parameters
    ----------
    files : sequence of Path
        The mesh file, and others that its format goes with.
    time_limit : float
        Seconds that a small file may take.

    Returns
    -------
    MeshFile

    Raises
    ------
    InputError
        If the file cannot be read, or not within the limits.
    """
    size = sum(os.path.getsize(file) for file in files if os.path.isfile(file)) / BYTES
    limit = time_limit + SECONDS_PER_GIGABYTE * size
    with scratch_folder() as folder:
        answer = folder / "answer"
        command = (
            *child_command(CHILD, GIGABYTES + GROWTH * size),
            *(os.path.abspath(file) for file in files),
            str(answer),
        )
        try:
            run_child(command, limit, "the mesh reader")
            found = pickle.loads(answer.read_bytes())
        except (ChildError, OSError) as failure:
            raise InputError(
                f"{files[0]}: cannot be read as a mesh: {failure}; check that it is "
                "whole, and write it again"
            ) from failure
    if isinstance(found, MeshFile):
        return found
    raise found if isinstance(found, InputError) else InputError(str(found))
