"""The drawn sheet: that it is readable, and true to the design."""

import time
import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from typer.testing import CliRunner

from spokecheck.cli import app
from spokecheck.plane.curves import area_and_moment, outline_points, turned
from spokecheck.report.caution import FULL
from spokecheck.report.sheet.board import Board, Choice, overlap, within
from spokecheck.report.sheet.design_sheet import lay_out, write_sheet
from spokecheck.report.sheet.drawn_facts import drawn_facts
from spokecheck.report.sheet.regions import (
    edges,
    hatching,
    holds,
    metal,
    part,
    ring,
)
from spokecheck.report.sheet.section_planes import (
    CHORDS,
    cut_planes,
    window_cuts,
    window_outlines,
)
from spokecheck.report.sheet.sheet import Words, polyline, text_width
from spokecheck.report.sheet.views import face_region, spoke_half, window_half
from spokecheck.wheel.reading.read import parse_design, read_design
from spokecheck.wheel.shape.departures import departures
from spokecheck.wheel.shape.wheel_shape import draw_wheel

DESIGNS = sorted(Path("meshes/designs").glob("*.toml"))
GALLERY = sorted(Path("meshes/gallery").glob("*.toml"))
SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])


def total_length(pieces):
    """Length [mm] of pieces (n, 2, 2) together."""
    return np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1).sum()


def draw_file(path, out_dir, stem):
    """Files of the sheet of a design file."""
    shape = draw_wheel(read_design(path))
    return write_sheet(shape, drawn_facts(shape, path.name), out_dir, stem)


@pytest.fixture(scope="module", params=DESIGNS + GALLERY, ids=lambda path: path.stem)
def drawn(request):
    """An example as drawn, and its sheet."""
    shape = draw_wheel(read_design(request.param))
    return shape, lay_out(shape, drawn_facts(shape, request.param.name))


def test_no_lettering_overlaps(drawn):
    """No two pieces of lettering share ground."""
    words = drawn[1].words
    clashes = [
        (a.text, b.text)
        for a, b in combinations(words, 2)
        if overlap(a.box(), b.box()) and a.text and b.text
    ]
    assert not clashes


def test_all_lettering_lies_within_the_frame(drawn):
    """No lettering crosses the frame, 20 mm from the left and 10 mm elsewhere."""
    sheet = drawn[1]
    corners = np.vstack([words.box() for words in sheet.words if words.text])
    assert (corners >= (20.0, 10.0)).all()
    assert (corners <= (sheet.width - 10.0, sheet.height - 10.0)).all()


def test_dimensions_are_those_of_the_design(drawn):
    """The main sizes of the design file stand on the sheet."""
    shape, sheet = drawn
    design = shape.design
    message = {words.text for words in sheet.words}
    expected = {
        f"Ø{design.hub.bore_mm:g}",
        f"Ø{design.bolts.pitch_circle_mm:g}",
        f"Ø{design.hub.pad_diameter_mm:g}",
        f"{design.spokes.root_depth_mm:g}",
        f"{design.spokes.tip_depth_mm:g}",
        f"{design.spokes.root_face_mm:g}",
        f"{design.spokes.tip_face_mm:g}",
        f"{design.rim.inset_mm:g}",
        f"{design.rim.well_wall_mm:g}",
        f"{design.rim.leg_wall_mm:g}",
        f"{design.rim.seat_wall_mm:g}",
        design.name,
    }
    spokes = design.spokes
    if spokes.pattern != "plate":
        expected |= {f"R{spokes.window_corner_mm:g}"}
        own = spokes.course.widths_mm if spokes.course else None
        root, *_, tip = own or (spokes.root_width_mm, spokes.tip_width_mm)
        expected |= {f"{root:g}", f"{tip:g}"}
    assert expected <= message


ROUNDED = {"hub.fillet_mm", "spokes.rim_fillet_mm", "rim.well_radius_mm"}


def test_shrunken_fillets_say_so(drawn):
    """A fillet that found no room is marked with the radius it was drawn with."""
    shape, sheet = drawn
    marked = {w.text for w in sheet.words if w.text.startswith("drawn R")}
    keys = {departure.key for departure in departures(shape)}
    assert bool(marked) == bool(keys & ROUNDED)
    notes = " ".join(words.text for words in sheet.words)
    assert ("Not drawn as asked for:" in notes) == bool(keys)


def test_the_caution_stands_on_the_sheet(drawn):
    """The one caution is there in full, line by line."""
    text = " ".join(words.text for words in drawn[1].words)
    assert FULL in text


def test_section_has_the_area_of_the_outline(drawn):
    """Hatched lines cover the area that Green's theorem gives the section."""
    shape = drawn[0]
    region = spoke_half(shape, cut_planes(shape))
    covered = 0.5 * total_length(hatching(region, 0.5))
    area, _ = area_and_moment(shape.drawing.section)
    bare = metal(outline_points(shape.drawing.section, CHORDS), ())
    whole = 0.5 * total_length(hatching(bare, 0.5))
    # lines 0.5 mm apart: the error per crossing is at most that
    np.testing.assert_allclose(whole, area, rtol=5e-3)
    assert covered <= whole + 1e-9


def test_lower_half_is_cut_by_a_window(drawn):
    """Below the axle no metal lies between the ends of the window that is cut."""
    shape = drawn[0]
    planes = cut_planes(shape)
    cuts = window_cuts(window_outlines(shape), planes.window)
    low, high = max(cuts, key=lambda cut: cut[1] - cut[0])
    inner, outer = shape.window_range
    # outlines are chords of 5 degrees at most: 0.2 mm at a radius of 200 mm
    assert inner - 0.2 < low < high < outer + 0.2
    assert high - low > 30.0
    middle = (low + high) / 2.0
    z = np.linspace(*shape.drawing.z_range, 200)
    line = np.column_stack([np.full_like(z, middle), z])
    assert not holds(window_half(shape, planes), line).any()
    assert holds(spoke_half(shape, planes), line).any()


def test_face_view_has_the_symmetry_of_the_wheel(drawn):
    """The face view turned by one sector is the same region, tested point by point."""
    shape = drawn[0]
    region = face_region(shape)
    points = np.random.default_rng(20261125).uniform(-240.0, 240.0, (500, 2))
    step = turned(points, 2.0 * np.pi / shape.design.spokes.count)
    same = holds(region, points) == holds(region, step)
    # polygons of chords differ by 0.1 mm from their turned copies
    assert same.mean() > 0.99


def test_files_are_black_on_white_and_whole(tmp_path):
    """The SVG is well-formed, in mm of an A2 sheet; the PNG is white at its edge."""
    files = draw_file(DESIGNS[0], tmp_path, "a")
    root = ET.fromstring(files.svg.read_text(encoding="utf-8"))
    # 594 mm in points of 1/72 inch, ISO 216 A2
    np.testing.assert_allclose(
        float(root.attrib["width"].removesuffix("pt")), 594.0 / 25.4 * 72.0, rtol=1e-3
    )
    text = files.svg.read_text(encoding="utf-8")
    assert "#01020" not in text
    assert "currentColor" not in text
    with Image.open(files.png) as image:
        pixels = np.asarray(image.convert("L"))
        assert image.info.keys() == {"dpi"}  # no library signs it
    assert pixels[:8].min() == 255
    assert pixels.min() == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "a-drawing.png",
        "a-drawing.svg",
    ]


def test_same_bytes_twice(tmp_path):
    """The same file is drawn to the same bytes."""
    one = draw_file(DESIGNS[0], tmp_path / "1", "a")
    two = draw_file(DESIGNS[0], tmp_path / "2", "a")
    assert one.svg.read_bytes() == two.svg.read_bytes()
    assert one.png.read_bytes() == two.png.read_bytes()


LONG_NAME = "A wheel whose name is as long as a design file lets it be, which is a lot"

EXTREMES = {
    "small": {
        '"8J x 18"': '"5J x 14"',
        "225/45R18": "185/60R14",
        "inset_mm = 42": "inset_mm = 10",
        "tip_width_mm = 62": "tip_width_mm = 40",
        "tip_face_mm = 44": "tip_face_mm = 40",
    },
    "large": {
        '"8J x 18"': '"12J x 22"',
        "225/45R18": "305/30R22",
        "tip_face_mm = 44": "tip_face_mm = 66",
    },
    "outset": {
        '"8J x 18"': '"9J x 20"',
        "225/45R18": "245/40R20",
        "inset_mm = 42": "inset_mm = -20",
        "tip_face_mm = 44": "tip_face_mm = 60",
    },
    "odd bolts": {
        "pitch_circle_mm = 112": "pitch_circle_mm = 112\nangle_deg = 36",
        '"Aspen 5"': f'"{LONG_NAME}"',
        "Invented.": "Many words. " * 40,
    },
}
"""Changes to the first example that stretch the layout."""


@pytest.mark.parametrize("name", EXTREMES)
def test_extreme_wheels_stay_readable(name):
    """Small and large rims, an outset, long texts: nothing overlaps or leaves."""
    text = DESIGNS[0].read_text(encoding="utf-8")
    for old, new in EXTREMES[name].items():
        assert old in text
        text = text.replace(old, new)
    shape = draw_wheel(parse_design(text))
    sheet = lay_out(shape, drawn_facts(shape, ""))
    words = [w for w in sheet.words if w.text]
    pairs = combinations(words, 2)
    assert not [(a.text, b.text) for a, b in pairs if overlap(a.box(), b.box())]
    corners = np.vstack([w.box() for w in words])
    assert (corners >= (20.0, 10.0)).all()
    assert (corners <= (sheet.width - 10.0, sheet.height - 10.0)).all()


def test_lettering_is_as_wide_as_it_is_drawn():
    """The width lettering is planned with is that the figure is drawn with."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    from spokecheck.report.sheet.sheet import CAPITAL, ink

    text = "203 (8J x 18) Ø66.6, drawn R9"
    with ink.style(10.0):
        figure = Figure(figsize=(10.0, 2.0), dpi=200)
        drawn = figure.text(0, 0.5, text, fontsize=3.5 / CAPITAL * ink.POINTS_PER_MM)
        wide = drawn.get_window_extent(FigureCanvasAgg(figure).get_renderer()).width
    # side bearings of the first and last letter: under 1 % of the line
    np.testing.assert_allclose(text_width(text, 3.5), wide / 200 * 25.4, rtol=0.015)


def test_region_edges_and_hatching_of_a_square_with_a_hole():
    """Edges have the perimeter in the metal, hatching its area over the spacing."""
    region = metal(SQUARE, (SQUARE * 0.4 + 3.0, SQUARE + np.array([8.0, 0.0])))
    # what is left: 8 x 10 less 4 x 4; perimeter 36 + 16
    np.testing.assert_allclose(total_length(edges(region)), 52.0, rtol=1e-9)
    area = 0.02 * total_length(hatching(region, 0.02, 0.3))
    np.testing.assert_allclose(area, 64.0, rtol=2e-3)


def test_parts_of_lines_within_and_outside_a_region_keep_their_order():
    """A line through the hole is cut in two; what is outside lies in the hole."""
    region = metal(SQUARE, (SQUARE * 0.4 + 3.0,))
    lines = polyline([[0.0, 5.0], [10.0, 5.0]]), polyline([[1.0, 9.0], [0.0, 9.0]])
    pieces = np.concatenate(lines)
    within = [[[0, 5], [3, 5]], [[7, 5], [10, 5]], [[1, 9], [0, 9]]]
    np.testing.assert_allclose(part(region, pieces, within=True), within, atol=1e-12)
    outside = [[[3, 5], [7, 5]]]
    np.testing.assert_allclose(part(region, pieces, within=False), outside, atol=1e-12)


@given(st.floats(-5.0, 15.0), st.floats(-5.0, 15.0), st.floats(0.0, 360.0))
def test_box_of_turned_lettering_holds_its_middle(x, y, angle):
    """The box of lettering turns with it about the point it is held at."""
    words = Words("42", (x, y), 3.5, angle, "center", "center")
    np.testing.assert_allclose(words.box().mean(axis=0), [x, y], atol=1e-9)
    assert within(np.array([[x, y]]), words.box()).all()


def test_waiting_lettering_takes_the_free_place():
    """Lettering with a choice avoids lines, and other lettering even more."""
    board = Board((0.0, 0.0, 100.0, 100.0))
    board.stroke("thin", polyline([[0.0, 50.0], [100.0, 50.0]]))
    board.letter(Words("taken", (20.0, 20.0)))
    places = [(50.0, 48.5), (20.0, 20.0), (200.0, 50.0), (70.0, 70.0)]
    board.wait([Choice(Words("new", place)) for place in places])
    board.settle()
    assert board.items[-1].at == (70.0, 70.0)


def test_boxes_that_touch_do_not_overlap():
    """Boxes side by side share no ground, even turned; boxes a bit nearer do."""
    for angle in (0.0, 0.4):
        one, two = turned(SQUARE, angle), turned(SQUARE + np.array([10.0, 0.0]), angle)
        assert not overlap(one, two + 1e-9 * (two.mean(axis=0) - one.mean(axis=0)))
        assert overlap(one, turned(SQUARE + np.array([9.9, 0.0]), angle))


def test_ring_is_round():
    """The chords of a circle stay within 0.06 mm of it at the largest wheel's size."""
    middle = (ring(300.0)[0] + ring(300.0)[1]) / 2.0
    assert 300.0 - np.hypot(*middle) < 0.08


def test_command_draws_good_files_and_reports_bad_ones(tmp_path):
    """A faulty file gives exit code 2 and its faults; the good ones are drawn."""
    bad = tmp_path / "bad.toml"
    bad.write_text('name = "x"\n', encoding="utf-8")
    out = tmp_path / "new" / "out"
    command = ["draw", str(bad), str(DESIGNS[0]), "--out", str(out)]
    result = CliRunner().invoke(app, command)
    assert result.exit_code == 2
    assert "this key is needed" in result.stderr
    assert sorted(p.suffix for p in out.iterdir()) == [".png", ".svg"]


def test_command_refuses_a_folder_it_cannot_write(tmp_path):
    """An output folder that is a file is refused before any work, with exit code 2."""
    taken = tmp_path / "taken"
    taken.write_text("", encoding="utf-8")
    result = CliRunner().invoke(app, ["draw", str(DESIGNS[0]), "--out", str(taken)])
    assert result.exit_code == 2


def test_a_sheet_is_quick(tmp_path):
    """A sheet costs well under two seconds of CPU once the program has loaded."""
    draw_file(DESIGNS[0], tmp_path, "warm")
    start = time.process_time()
    draw_file(DESIGNS[1], tmp_path, "a")
    assert time.process_time() - start < 1.5
