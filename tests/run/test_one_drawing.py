"""Designs that are compared are meshed in one and the same drawing."""

from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace

from spokecheck.run.batch import Outcome
from spokecheck.run.designs import Batch
from spokecheck.run.one_drawing import on_one_drawing
from spokecheck.screen.request import Request

A, B, C = (Path(f"{name}.toml") for name in "abc")


@dataclass
class Mesher:
    """Stands for the screening: the drawings in which each design can be meshed."""

    sound: dict
    kinds: dict = field(default_factory=dict)
    asked: list = field(default_factory=list)

    def __call__(self, batch):
        """Outcomes of a batch."""
        first = batch.request.drawing
        self.asked.append((tuple(batch.paths), first))
        return [self._outcome(path, first) for path in batch.paths]

    def _outcome(self, path, first):
        good = [n for n in self.sound[path] if n >= first]
        if not good:
            return Outcome(path, error=None, value=None)
        origin = SimpleNamespace(kind=self.kinds.get(path, "drawn"))
        wheel = SimpleNamespace(drawing=good[0], origin=origin)
        return Outcome(path, SimpleNamespace(findings=SimpleNamespace(wheel=wheel)))


def run(mesher):
    paths = list(mesher.sound)
    batch = Batch(paths=paths, stems={}, request=Request(), out_dir=Path())
    found = on_one_drawing(batch, mesher)
    return [outcome.value.findings.wheel.drawing for outcome in found]


def test_designs_drawn_as_asked_for_are_screened_once():
    """All in the first drawing: nothing is done again."""
    mesher = Mesher({A: [0], B: [0]})
    assert run(mesher) == [0, 0]
    assert len(mesher.asked) == 1


def test_the_others_follow_one_that_needs_another_drawing():
    """B is sound from drawing 4 on; A and C are screened again from there."""
    mesher = Mesher({A: [0, 4], B: [4, 5], C: [0, 3, 4]})
    assert run(mesher) == [4, 4, 4]
    assert mesher.asked[1] == ((A, C), 4)


def test_drawings_that_drive_each_other_on_meet():
    """A fails in B's drawing and takes the next, where B follows."""
    assert run(Mesher({A: [0, 5], B: [4, 5]})) == [5, 5]


def test_a_design_without_that_drawing_keeps_its_own():
    """A has no other sound drawing: both stay, and their departures say so."""
    assert run(Mesher({A: [0], B: [4]})) == [0, 4]


def test_a_wheel_from_elsewhere_has_no_drawing():
    """A mesh file is not screened again."""
    mesher = Mesher({A: [0], B: [4]}, {A: "mesh"})
    assert run(mesher) == [0, 4]
    assert len(mesher.asked) == 1
