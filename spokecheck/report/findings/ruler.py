"""The margin ruler: each margin on a scale with the limit and what clears."""

from collections.abc import Sequence
from xml.sax.saxutils import escape

from spokecheck.report.findings import numbers
from spokecheck.screen.verdict import CLEARS

WIDTH, LEFT, RIGHT, ROW = 770, 250, 60, 26
LONGEST = 2.0
"""Margins beyond this are drawn at the end of the ruler, with an arrow."""

NAME_LENGTH = 33
"""Longer names are cut."""


def ruler_svg(margins: Sequence[tuple[str, float]], required: float = CLEARS) -> str:
    """Rows of named margins on one scale from 0 to ``LONGEST``.

    Parameters
    ----------
    margins : sequence of (str, float)
        Name and margin of each row.
    required : float
        Margin from which a design clears.

    Returns
    -------
    str
        An ``svg`` element; all text escaped.
    """
    height = ROW * len(margins) + 34
    scale = (WIDTH - LEFT - RIGHT) / LONGEST
    limit, clear = LEFT + scale, LEFT + min(required, LONGEST) * scale
    foot = ROW * len(margins) + 8
    parts = [
        f'<svg class="ruler" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-label="Margins on a scale from 0 to {LONGEST:g}">',
        f'<rect class="band-fails" x="{LEFT}" y="4" width="{scale:.1f}" '
        f'height="{foot - 4}"/>',
        f'<rect class="band-borderline" x="{limit:.1f}" y="4" '
        f'width="{clear - limit:.1f}" height="{foot - 4}"/>',
        f'<rect class="band-clears" x="{clear:.1f}" y="4" '
        f'width="{WIDTH - RIGHT - clear:.1f}" height="{foot - 4}"/>',
    ]
    ticks = {0.0: "middle", LONGEST: "middle", 1.0: "end", required: "start"}
    for tick, side in ticks.items():
        if tick > LONGEST:
            continue
        x = LEFT + tick * scale
        label = f"{tick:.2f}" if tick in (1.0, required) else f"{tick:g}"
        parts.append(
            f'<path class="tick" d="M{x:.1f} 4V{foot + 4}"/><text x="{x:.1f}" '
            f'y="{foot + 20}" text-anchor="{side}">{label}</text>'
        )
    parts += [_row(k, name, value, scale) for k, (name, value) in enumerate(margins)]
    return "".join([*parts, "</svg>"])


def _row(row: int, name: str, value: float, scale: float) -> str:
    y = 4 + ROW * (row + 0.5)
    end = LEFT + min(value, LONGEST) * scale
    arrow = "" if value <= LONGEST else " ▸"
    shown = name if len(name) <= NAME_LENGTH else name[: NAME_LENGTH - 1] + "…"
    return (
        f'<text x="{LEFT - 12}" y="{y + 4:.1f}" text-anchor="end">'
        f"{escape(shown)}</text>"
        f'<path class="bar" d="M{LEFT} {y:.1f}H{end:.1f}"/>'
        f'<circle class="dot" cx="{end:.1f}" cy="{y:.1f}" r="5"/>'
        f'<text class="value" x="{end + 10:.1f}" y="{y + 4:.1f}">'
        f"{numbers.margin(value)}{arrow}</text>"
    )
