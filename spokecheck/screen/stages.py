"""Names and wall times of the stages a screening goes through."""

from collections.abc import Callable
from time import perf_counter

Progress = Callable[[str], None]
"""Called with the name of each stage as it begins."""


class StageClock:
    """Report the progress of stages and keep their wall times."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._seconds: dict[str, float] = {}
        self._stage = ""
        self._since = perf_counter()

    def begin(self, stage: str) -> None:
        """End the stage that runs, if any, and begin another."""
        self._close()
        self._stage = stage
        self._progress(stage)

    def end(self) -> dict[str, float]:
        """End the last stage and return the seconds of each, all meshes together."""
        self._close()
        return dict(self._seconds)

    def _close(self) -> None:
        now = perf_counter()
        if self._stage:
            spent = self._seconds.get(self._stage, 0.0)
            self._seconds[self._stage] = spent + now - self._since
        self._since = now
