"""The drawn sheet of a design: face view, section, dimensions, title block, notes.

It needs neither mesh nor solver, so a design file can be checked before it is screened.
"""

from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from spokecheck.fatigue.alloys import alloy
from spokecheck.report.sheet import title_block
from spokecheck.report.sheet.board import Board
from spokecheck.report.sheet.drawn_facts import DrawnFacts
from spokecheck.report.sheet.face_dimensions import dimension_face
from spokecheck.report.sheet.section_dimensions import (
    ROW,
    Placed,
    dimension_section,
    number,
    outer_radius,
)
from spokecheck.report.sheet.sheet import Sheet, Words, draw_file_svg, draw_png
from spokecheck.report.sheet.views import face_view, section_view
from spokecheck.report.whole_files import write_text, write_whole
from spokecheck.wheel.shape.estimate import ACCURACY
from spokecheck.wheel.shape.wheel_shape import WheelShape

SCALE = 0.5
"""1:2 for every wheel, so that sheets compare (a scale of ISO 5455, from memory)."""

SIZES = {"A2": (594.0, 420.0), "A1": (841.0, 594.0)}
"""Landscape sheets [mm], ISO 216; the first that holds the wheel is taken."""

HATCH = 5.0
"""Spacing of the hatching [mm of the wheel]."""

ABOVE, BELOW = 4.0 * ROW + 14.0, 2.0 * ROW + 11.0
"""Room [mm of paper] over and under the views for dimensions and titles."""

LEFT_ROOM, RIGHT_ROOM, FACE_ROOM = 5.0 * ROW + 12.0, 26.0, 22.0
"""Room [mm of paper] beside the section, and round the face view."""


@dataclass(frozen=True)
class DrawnFiles:
    """Files of one design's drawing."""

    svg: Path
    png: Path


def write_sheet(
    shape: WheelShape, facts: DrawnFacts, out_dir: Path, stem: str
) -> DrawnFiles:
    """Write the drawing of a wheel.

    Parameters
    ----------
    shape : WheelShape
        Wheel as drawn.
    facts : DrawnFacts
        What is known of it.
    out_dir : Path
        Folder; made if need be.
    stem : str
        File name without suffix.

    Returns
    -------
    DrawnFiles

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    sheet = lay_out(shape, facts)
    svg = write_text(out_dir / f"{stem}-drawing.svg", draw_file_svg(sheet))
    png = write_whole(
        out_dir / f"{stem}-drawing.png", lambda part: draw_png(sheet, part)
    )
    return DrawnFiles(svg, png)


def lay_out(shape: WheelShape, facts: DrawnFacts) -> Sheet:
    """Lay a wheel out on a sheet.

    Parameters
    ----------
    shape : WheelShape
        Wheel as drawn.
    facts : DrawnFacts
        What is known of it, for the title block and the notes.

    Returns
    -------
    Sheet
    """
    name, (width, height) = _format(shape)
    frame = (title_block.LEFT, title_block.MARGIN, width - 10.0, height - 10.0)
    board = Board(frame)
    title_block.frame_sheet(board, width, height)
    title = _title(shape, facts, name)
    title_block.write_block(board, title, width)
    title_block.write_notes(board, title, width)
    face, section = _places(shape, width, height)
    for place, strokes in (
        (face, face_view(shape)),
        (section, section_view(shape, HATCH)),
    ):
        for stroke in strokes:
            board.stroke(stroke.pen, place.pieces(stroke.pieces))
    _view_titles(board, shape, section)
    dimension_section(board, shape, section)
    dimension_face(board, shape, face)
    board.settle()
    return Sheet(width, height, tuple(board.items), f"{shape.design.name}, drawing")


def _format(shape: WheelShape) -> tuple[str, tuple[float, float]]:
    """Sheet that holds the wheel."""
    tall = 2.0 * SCALE * outer_radius(shape)
    low, high = shape.drawing.z_range
    need_x = tall + 2.0 * FACE_ROOM + LEFT_ROOM + SCALE * (high - low) + RIGHT_ROOM
    need_y = tall + ABOVE + BELOW + title_block.BLOCK_HEIGHT
    for name, (width, height) in SIZES.items():
        if need_x <= width - 30.0 and need_y <= height - 20.0:
            return name, (width, height)
    return name, (width, height)


def _places(shape: WheelShape, width: float, height: float) -> tuple[Placed, Placed]:
    """Where face view and section lie: the axle at one height, spare room shared."""
    radius = SCALE * outer_radius(shape)
    low, high = shape.drawing.z_range
    floor = title_block.MARGIN + title_block.BLOCK_HEIGHT + BELOW
    ceiling = height - title_block.MARGIN - ABOVE
    y = (floor + ceiling) / 2.0
    need = 2.0 * (radius + FACE_ROOM) + LEFT_ROOM + SCALE * (high - low) + RIGHT_ROOM
    spare = (width - 30.0 - need) / 3.0
    x = title_block.LEFT + spare + FACE_ROOM + radius
    start = x + radius + FACE_ROOM + spare + LEFT_ROOM
    return Placed((x, y), SCALE), Placed((start - SCALE * low, y), SCALE)


def _view_titles(board: Board, shape: WheelShape, section: Placed) -> None:
    """Name the section above it."""
    low, high = shape.drawing.z_range
    x, y = section((low + high) / 2.0, outer_radius(shape))
    board.letter(Words("A - A", (float(x), float(y) + 4.0 * ROW + 7.5), 5.0))


def _title(shape: WheelShape, facts: DrawnFacts, sheet: str) -> title_block.Title:
    design = shape.design
    metal = alloy(design.material.alloy)
    rim = design.material.rim_alloy
    fields = (
        ("Alloy, spokes and hub", metal.name),
        ("Alloy, rim", alloy(rim).name if rim else "the same"),
        ("Estimated mass", f"{facts.mass:.2f} kg"),
        ("Rim, inset", f"{design.rim.size}, {number(design.rim.inset_mm)} mm"),
        ("Load rating", f"{design.duty.rating_kg:g} kg"),
        ("Scale, sheet", f"1:2, {sheet}"),
        ("Design file", facts.source or "-"),
        ("Kind of drawing", "Check of a design file"),
        ("Drawn by", f"spokecheck {version('spokecheck')}"),
    )
    return title_block.Title(design.name, design.note, fields, _notes(shape, facts))


def _notes(shape: WheelShape, facts: DrawnFacts) -> tuple[str, ...]:
    """Assumptions of the drawing, and features without a dimension."""
    spokes, count = shape.design.spokes, shape.count
    kind = "windows" if spokes.pattern == "plate" else "spokes"
    sectors = "no equal sectors" if count == 1 else f"{count} equal sectors"
    otherwise = [departure.text for departure in facts.departures]
    notes = [
        "Sizes in mm, first-angle projection. Face view from outboard.",
        "A - A: above the axle along a spoke, turned into the plane where it lies in "
        "none, below it through a bolt hole and a window. Not all edges behind the "
        "section are shown.",
        f"{spokes.count} {kind}, {shape.design.bolts.count} bolts, {sectors}. "
        f"Depths and faces of the spokes are taken at the radii "
        f"{number(spokes.root_radius_mm)} and "
        f"{number(shape.profile.contour.well_inner_radius)}, before fillets; heights "
        "count from the attachment face.",
        "Mass integrated from section and face view; within "
        f"{100.0 * ACCURACY:g} % of the meshed mass on the example designs.",
    ]
    hub, more = shape.design.hub, []
    if spokes.plate is not None:
        more.append(f"windows on a circle of {number(spokes.plate.circle_mm)}")
    if hub.chamfer > 0.0:
        more.append(f"bore chamfer {number(hub.chamfer)} x 45°")
    if hub.outer_step > 0.0 or hub.inner_step > 0.0:
        more.append(f"attachment face relieved by {number(hub.relief_depth_mm)}")
    if spokes.draft_deg > 0.0:
        more.append(f"draft of the windows {spokes.draft_deg:g}°")
    edges = {"face": spokes.face_edge_mm, "back": spokes.back_edge_mm}
    rounded = [f"{side} R{number(r)}" for side, r in edges.items() if r is not None]
    if rounded:
        more.append(f"edges of the windows: {', '.join(rounded)}")
    if spokes.pocket is not None:
        wall, floor = number(spokes.pocket.wall_mm), number(spokes.pocket.floor_mm)
        more.append(f"back pockets: side walls {wall}, floor {floor}")
    if more:
        features = "; ".join(more)
        notes.append(f"{features[0].upper()}{features[1:]}.")
    if otherwise:
        notes.append("Not drawn as asked for: " + "; ".join(otherwise) + ".")
    return tuple(notes)
