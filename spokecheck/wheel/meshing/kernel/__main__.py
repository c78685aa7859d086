"""The mesher's process: a pickled task in, a pickled mesh or error out.

``python -m spokecheck.wheel.meshing.kernel TASK RESULT GIGABYTES``;
started by ``kernel_process`` alone.
"""

import pickle
import sys
from pathlib import Path

from spokecheck.errors import InputError, MemoryLimitError, MeshError
from spokecheck.wheel.meshing.kernel.session import run


def main(task_file: str, result_file: str, gigabytes: str) -> None:
    """Run the task of one file, within so much memory; write the result to another."""
    task = pickle.loads(Path(task_file).read_bytes())
    try:
        result: object = run(task, float(gigabytes))
    except (InputError, MemoryLimitError, MeshError) as error:
        result = error
    Path(result_file).write_bytes(pickle.dumps(result, pickle.HIGHEST_PROTOCOL))


if __name__ == "__main__":
    main(*sys.argv[1:4])
