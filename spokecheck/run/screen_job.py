"""The job of a worker, as it is sent there: light, so that only the worker imports."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from spokecheck.run.cache import Store
from spokecheck.run.stored import Screened
from spokecheck.screen.request import Request


@dataclass(frozen=True)
class ScreenJob:
    """What a worker does with a design file.

    Only the worker imports what does it.

    Attributes
    ----------
    request : Request
    out_dir : Path
    stems : mapping of Path to str
        File name, without suffix, for the results of each design.
    store : Store or None
        Where results are kept.
    keys : mapping of Path to str
        Under which keys.
    """

    request: Request
    out_dir: Path
    stems: Mapping[Path, str]
    store: Store | None
    keys: Mapping[Path, str | None]

    def __call__(self, path: Path, progress: Callable[[str], None]) -> Screened:
        """Screen one design and write its results."""
        from spokecheck.run.precheck import faults_before

        error = faults_before(path, self.request)
        if error is not None:  # before all that screens is imported
            raise error
        from spokecheck.run.job import Keeping, screen_file

        keeping = Keeping(self.store, self.keys)
        return screen_file(
            path, self.request, self.out_dir, self.stems, keeping, progress
        )
