"""Draw the pictures in a child process, and do without them if it fails."""

from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

from spokecheck.child_process import Child, ChildError, child_command
from spokecheck.report.pictures.picture_job import PictureJob
from spokecheck.scratch import scratch_folder

CHILD = child_command("spokecheck.report.pictures.render")
TIMEOUT = 180.0
"""Seconds the child may take; software rendering on a busy core needs about ten."""

JOB = "job.npz"
"""Name of the file in which the child finds what to draw."""

DRIVER_HINT = "; a graphics driver may be missing (on Debian: apt install libegl1)"
"""Likely cause of a crash."""

SMALL = "small"
SIDE = "side"
CAPTIONS = {
    "front": "Face side, three-quarter view.",
    "back": "Back side, three-quarter view.",
    SIDE: "From the side, for places the others hide.",
    "close-1": "Worst place.",
    "close-2": "Second place.",
    "close-3": "Third place.",
}
"""Pictures in the order of the page."""


@dataclass(frozen=True)
class Pictures:
    """What the child drew.

    Attributes
    ----------
    images : dict of str to bytes
        JPEG by name, in the order of ``CAPTIONS``; empty if there are none.
    small : bytes or None
        Small picture for comparisons.
    note : str
        Why there are no pictures; empty if there are.
    """

    images: dict[str, bytes] = field(default_factory=dict, repr=False)
    small: bytes | None = field(default=None, repr=False)
    note: str = ""


class DrawingProcess:
    """A child that loads its libraries while this process makes what is to be drawn.

    Parameters
    ----------
    child : tuple of str
        Command; job file and folder are added to it.
    timeout : float
        Seconds that a drawing may take before the child is ended.

    Notes
    -----
    Used in a ``with`` block, at whose end the child ends too, and for one job.
    Whatever goes wrong becomes the note of the ``Pictures``.
    """

    def __init__(
        self, child: tuple[str, ...] = CHILD, timeout: float = TIMEOUT
    ) -> None:
        self._command, self._timeout = child, timeout
        self._block = ExitStack()
        self._child: Child | None = None
        self._failure: ChildError | None = None

    def __enter__(self) -> "DrawingProcess":
        self._folder = self._block.enter_context(scratch_folder())
        self._job_file = self._folder / JOB
        command = (*self._command, str(self._job_file), str(self._folder))
        try:
            child = Child(command, "the drawing process")
            self._child = self._block.enter_context(child)
        except ChildError as failure:
            self._failure = failure
        return self

    def __exit__(self, *error: object) -> None:
        self._block.close()

    def begin(self, job: PictureJob) -> None:
        """Have a job drawn."""
        # the child draws as soon as it sees the file, which must be whole by then
        job.save(self._folder / f"part-{JOB}").replace(self._job_file)

    def finish(self) -> Pictures:
        """Wait for the pictures.

        Without images, and with a note, if the child crashed, failed or took too long.
        """
        try:
            if self._child is None:
                raise self._failure or ChildError("the drawing process has not begun")
            self._child.finish(self._timeout)
        except ChildError as failure:
            hint = DRIVER_HINT if failure.killed else ""
            return Pictures(note=f"no pictures: {failure}{hint}")
        return _collect(self._folder)


def draw_pictures(
    job: PictureJob, child: tuple[str, ...] = CHILD, timeout: float = TIMEOUT
) -> Pictures:
    """Draw the pictures of a wheel in a child process.

    Parameters
    ----------
    job : PictureJob
        What to draw.
    child : tuple of str
        Command; job file and folder are added to it.
    timeout : float
        Seconds before the child is ended.

    Returns
    -------
    Pictures
        Without images, and with a note, if the child crashed, failed or took too long.
    """
    with DrawingProcess(child, timeout) as drawing:
        drawing.begin(job)
        return drawing.finish()


def _collect(folder: Path) -> Pictures:
    files = {name: folder / f"{name}.jpg" for name in (*CAPTIONS, SMALL)}
    images = {name: path.read_bytes() for name, path in files.items() if path.exists()}
    small = images.pop(SMALL, None)
    note = "" if images else "no pictures: the drawing process wrote none"
    return Pictures(images, small, note)
