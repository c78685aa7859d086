"""Frame, title block and notes of a drawing sheet.

From memory of ISO 5457 (frame: 20 mm at the left, 10 mm elsewhere, line 0.7 mm,
centring marks) and of ISO 7200 (block at the lower right, 180 mm wide).
"""

import textwrap
from dataclasses import dataclass

import numpy as np

from spokecheck.report.caution import FULL
from spokecheck.report.sheet.board import Board
from spokecheck.report.sheet.sheet import Words, polyline, text_width
from spokecheck.units import FloatArray

LEFT, MARGIN = 20.0, 10.0
BLOCK_WIDTH = 180.0
ROWS = (10.0, 10.0, 10.0, 10.0, 16.0)
"""Heights of the block's rows, from below [mm]."""

BLOCK_HEIGHT = sum(ROWS)


@dataclass(frozen=True)
class Title:
    """Content of the title block: design, note, and labelled fields."""

    name: str
    note: str
    fields: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def frame_sheet(board: Board, width: float, height: float) -> None:
    """Draw the frame and its centring marks."""
    right, top = width - MARGIN, height - MARGIN
    corners = [(LEFT, MARGIN), (right, MARGIN), (right, top), (LEFT, top)]
    board.stroke("frame", polyline([*corners, corners[0]]))
    middle, level = (LEFT + right) / 2.0, height / 2.0
    marks = [
        [(middle, 5.0), (middle, MARGIN + 5.0)],
        [(middle, height - 5.0), (middle, top - 5.0)],
        [(LEFT - 5.0, level), (LEFT + 5.0, level)],
        [(width - 5.0, level), (right - 5.0, level)],
    ]
    board.stroke("frame", np.array(marks))


def write_block(board: Board, title: Title, width: float) -> None:
    """Draw the title block in the lower right corner of the frame."""
    right, left = width - MARGIN, width - MARGIN - BLOCK_WIDTH
    levels = MARGIN + np.concatenate([[0.0], np.cumsum(ROWS)])
    outline = [(left, levels[0]), (left, levels[-1]), (right, levels[-1])]
    board.stroke("frame", polyline(outline))
    board.stroke("thin", np.array([[(left, y), (right, y)] for y in levels[1:-1]]))
    name = _shortened(title.name, 7.0, BLOCK_WIDTH - 44.0)
    board.letter(Words(name, (left + 3.0, float(levels[-2]) + 4.5), 7.0, 0.0, "left"))
    _projection(board, np.array([right - 20.0, float(levels[-2] + levels[-1]) / 2.0]))
    for k, line in enumerate(_wrapped(title.note, 2.5, BLOCK_WIDTH - 6.0)[:2]):
        y = float(levels[-2]) - 4.2 - 4.2 * k
        board.letter(Words(line, (left + 3.0, y), 2.5, 0.0, "left"))
    cell = BLOCK_WIDTH / 3.0
    rows = range(len(ROWS) - 3, -1, -1)
    fields = iter(title.fields)
    for row in rows:
        low, high = float(levels[row]), float(levels[row + 1])
        for column in range(3):
            label, text = next(fields, ("", ""))
            x = left + column * cell
            if column:
                board.stroke("thin", polyline([(x, low), (x, high)]))
            size = 3.5 if text_width(text, 3.5) <= cell - 4.0 else 2.5
            shown = _shortened(text, size, cell - 4.0)
            board.letter(Words(label, (x + 2.0, high - 3.0), 1.8, 0.0, "left"))
            board.letter(Words(shown, (x + 2.0, low + 1.9), size, 0.0, "left"))


def write_notes(board: Board, title: Title, width: float) -> None:
    """Write notes and the caution in the lower left of the frame, in two columns."""
    room = width - MARGIN - BLOCK_WIDTH - LEFT - 12.0
    column = room / 2.0 - 4.0
    _column(board, "Notes", title.notes, (LEFT + 5.0, column))
    caution = (FULL,)
    _column(board, "Caution", caution, (LEFT + 5.0 + room / 2.0, column))


def _column(
    board: Board, head: str, notes: tuple[str, ...], place: tuple[float, float]
) -> None:
    left, width = place
    top = MARGIN + BLOCK_HEIGHT - 6.0
    board.letter(Words(head, (left, top), 3.5, 0.0, "left", bold=True))
    lines = [line for note in notes for line in _wrapped(note, 2.5, width)]
    for k, line in enumerate(lines):
        board.letter(Words(line, (left, top - 6.0 - 4.4 * k), 2.5, 0.0, "left"))


def _projection(board: Board, centre: FloatArray) -> None:
    """First-angle symbol: a truncated cone from its side, and from its small end."""
    cone = centre + np.array([[-15.0, 2.5], [-5.0, 5.0], [-5.0, -5.0], [-15.0, -2.5]])
    board.stroke("edge", polyline([*cone, cone[0]]))
    turn = np.linspace(0.0, 2.0 * np.pi, 49)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    for radius in (2.5, 5.0):
        board.stroke("edge", polyline(centre + [8.0, 0.0] + radius * circle))
    ends = [[-18.0, 0.0], [-2.0, 0.0]], [[0.0, 0.0], [16.0, 0.0]]
    board.stroke("centre", np.array([centre + np.array(e) for e in ends]))
    cross = centre + np.array([[8.0, -7.0], [8.0, 7.0]])
    board.stroke("centre", polyline(cross))


def _wrapped(text: str, height: float, width: float) -> list[str]:
    """Lines of a text, each no wider than ``width`` [mm]."""
    count = int(width / text_width("n", height)) + 40
    while count > 10:
        lines = textwrap.wrap(text, count)
        if all(text_width(line, height) <= width for line in lines):
            return lines
        count -= 1
    return textwrap.wrap(text, 10)


def _shortened(text: str, height: float, width: float) -> str:
    """The text, cut with an ellipsis to fit ``width`` [mm]."""
    if text_width(text, height) <= width:
        return text
    while text and text_width(text + "…", height) > width:
        text = text[:-1]
    return text + "…"
