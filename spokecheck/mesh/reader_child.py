"""The mesh reader's process: a mesh file in, a pickled record or error out.

``python -m spokecheck.mesh.reader_child FILE... RESULT``; the first file is read, and
no other but those named may be.  Started by ``mesh.reading_process`` alone.
"""

import os
import pickle
import sys
from pathlib import Path

from spokecheck.errors import InputError
from spokecheck.mesh.files import MeshFile, read_mesh_file


class OtherFileError(Exception):
    """A mesh file asks for a file that nobody named."""


def allow_only(files: list[Path]) -> None:
    """Refuse to open any other file than those, and what Python itself is made of."""
    allowed = {os.path.realpath(file) for file in files}
    own = [os.path.realpath(p) for p in (sys.prefix, sys.base_prefix, *sys.path) if p]

    def watch(event: str, arguments: tuple[object, ...]) -> None:
        if event != "open" or not isinstance(arguments[0], str | bytes | os.PathLike):
            return
        path = os.path.realpath(os.fsdecode(arguments[0]))
        is_own = path.endswith((".py", ".pyc", ".so")) and any(
            path.startswith(folder + os.sep) for folder in own
        )
        if path not in allowed and not is_own:
            raise OtherFileError(f"it asks for another file, {path}")

    sys.addaudithook(watch)


def read(files: list[Path]) -> MeshFile | InputError:
    """Record of a mesh file, or what is wrong with it."""
    try:
        return read_mesh_file(files[0])
    except InputError as error:
        return error
    except MemoryError:
        return InputError(
            f"{files[0]}: asks for more memory than its size explains; write it again"
        )


def main(arguments: list[str]) -> None:
    """Read the mesh of one file and write the result to another."""
    *names, result = arguments
    files = [Path(name) for name in names]
    allow_only([*files, Path(result)])
    answer = read(files)
    Path(result).write_bytes(pickle.dumps(answer, pickle.HIGHEST_PROTOCOL))


if __name__ == "__main__":
    main(sys.argv[1:])
