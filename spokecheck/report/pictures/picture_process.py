"""Draw the pictures in a child process, and do without them if it fails."""

from dataclasses import dataclass, field
from pathlib import Path

from spokecheck.child_process import ChildError, child_command, run_child
from spokecheck.report.pictures.picture_job import PictureJob
from spokecheck.scratch import scratch_folder

CHILD = child_command("spokecheck.report.pictures.render")
TIMEOUT = 180.0
"""Seconds the child may take; software rendering on a busy core needs about ten."""

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
    with scratch_folder() as folder:
        command = (*child, str(job.save(folder / "job.npz")), str(folder))
        try:
            run_child(command, timeout, "the drawing process")
        except ChildError as failure:
            hint = DRIVER_HINT if failure.killed else ""
            return Pictures(note=f"no pictures: {failure}{hint}")
        return _collect(folder)


def _collect(folder: Path) -> Pictures:
    files = {name: folder / f"{name}.jpg" for name in (*CAPTIONS, SMALL)}
    images = {name: path.read_bytes() for name, path in files.items() if path.exists()}
    small = images.pop(SMALL, None)
    note = "" if images else "no pictures: the drawing process wrote none"
    return Pictures(images, small, note)
