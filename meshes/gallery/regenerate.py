"""Draw the gallery anew: a portrait of each design, one sheet, and the README.

Run from the root of the repository: ``.venv/bin/python meshes/gallery/regenerate.py``.
"""

import io
import sys
import tomllib
from pathlib import Path

from PIL import Image

from spokecheck.report.pictures.portrait import draw_portrait
from spokecheck.report.sheet.design_sheet import draw_file
from spokecheck.wheel.build import build_wheel
from spokecheck.wheel.reading.read import read_design

FOLDER = Path(__file__).resolve().parent
ORDER = ("straight", "twin", "forked", "swept", "lattice", "plate", "course")
SHEET = "straight"
SHEET_WIDTH = 1500
"""Pixels of the sheet shown on the page."""

HEAD = (
    "# Gallery\n\n"
    "One invented design for each spoke pattern; "
    "no number in these files is taken from a real wheel.\n"
    "They are starting points for files of your own: "
    "`spokecheck draw` shows a file in about a second, "
    "`spokecheck screen` finds where it would crack first.\n"
    "A picture says nothing of strength, and not all of these wheels clear.\n\n"
    "`python meshes/gallery/regenerate.py` draws this page anew.\n"
)


def main() -> None:
    """Write pictures and page."""
    rows = []
    for stem in ORDER:
        path = FOLDER / f"{stem}.toml"
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
        wheel = build_wheel(read_design(path))
        drawn = draw_portrait(wheel)
        if drawn.note:
            sys.exit(drawn.note)
        (FOLDER / f"{stem}.jpg").write_bytes(drawn.images["front"])
        text = raw["note"].removeprefix("Invented. ")
        mass = f"{1000.0 * wheel.weight.mass:.1f} kg"
        rows.append(
            f"## {stem}: {raw['name']}\n\n![{raw['name']}]({stem}.jpg)\n\n"
            f"{text}\n{raw['rim']['size']}, {mass}; [`{stem}.toml`]({stem}.toml)\n"
        )
    files = draw_file(FOLDER / f"{SHEET}.toml", FOLDER, SHEET)
    files.svg.unlink()
    with Image.open(files.png) as sheet:
        height = round(sheet.height * SHEET_WIDTH / sheet.width)
        small = sheet.convert("L").resize(
            (SHEET_WIDTH, height), Image.Resampling.LANCZOS
        )
    stream = io.BytesIO()
    small.quantize(8).save(stream, format="PNG", optimize=True)
    files.png.write_bytes(stream.getvalue())
    rows.append(f"## A drawn sheet\n\n![Sheet of {SHEET}.toml]({files.png.name})\n")
    page = "\n".join([HEAD, *rows])
    (FOLDER / "README.md").write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
