"""What a drawing shows without a mesh: mass, roundings asked for and drawn, departures.

Read ``drawn_facts`` for the record, ``render_facts`` for what the terminal prints.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spokecheck.units import KG_PER_TONNE
from spokecheck.wheel.shape.departures import Departure, departures, value_of
from spokecheck.wheel.shape.estimate import estimate_mass
from spokecheck.wheel.shape.wheel_shape import WheelShape

COLUMNS = {
    "hub.fillet_mm": "Hub fillet",
    "spokes.rim_fillet_mm": "Rim fillet",
    "spokes.window_corner_mm": "Window corner",
    "rim.well_radius_mm": "Well radius",
}
"""Roundings of which every drawing says what is drawn, and their heads in a table."""


@dataclass(frozen=True)
class DrawnFacts:
    """What is known of a wheel once it is drawn.

    Attributes
    ----------
    source : str
        Name of the design file.
    name : str
        Name of the variant.
    mass : float
        [kg], integrated over the drawing.
    asked : dict of str to float
        Radius asked for [mm], by key; only keys that the pattern uses.
    departures : tuple of Departure
        What is not drawn as asked for.
    """

    source: str
    name: str
    mass: float
    asked: dict[str, float]
    departures: tuple[Departure, ...]

    def rounding(self, key: str) -> str:
        """Radius drawn [mm], after the one asked for where they differ."""
        if key not in self.asked:
            return "-"
        asked = f"{self.asked[key]:.4g}"
        drawn = [f"{d.drawn:.4g}" for d in self.departures if d.key == key]
        return f"{asked} > {drawn[0]}" if drawn else asked


def drawn_facts(shape: WheelShape, source: str) -> DrawnFacts:
    """Facts of a drawn wheel; ``source`` names its design file."""
    design = shape.asked
    asked = {}
    for key in COLUMNS:
        if key != "spokes.window_corner_mm" or design.spokes.plate is None:
            asked[key] = value_of(design, key)
    mass = KG_PER_TONNE * estimate_mass(shape)
    return DrawnFacts(source, design.name, mass, asked, departures(shape))


def render_facts(facts: Sequence[DrawnFacts]) -> RenderableType:
    """One wheel in lines, several as a table, each with what is not as asked for."""
    if len(facts) == 1:
        (fact,) = facts
        head = f"{fact.source}: {fact.name}, {fact.mass:.2f} kg"
        radii = ", ".join(
            f"{COLUMNS[key].lower()} {fact.rounding(key)} mm" for key in fact.asked
        )
        return Group(Text(head), Text(f"  {radii}"), *_lines(fact.departures))
    table = Table(box=None, pad_edge=False, header_style="dim")
    table.add_column("Design")
    for title in ("Mass [kg]", *(f"{head} [mm]" for head in COLUMNS.values())):
        table.add_column(title, justify="right")
    parts: list[RenderableType] = [table]
    for fact in facts:
        cells = (Text(fact.rounding(key)) for key in COLUMNS)
        table.add_row(Text(fact.source), f"{fact.mass:.2f}", *cells)
        if fact.departures:
            parts += [Text(f"{fact.source}:"), *_lines(fact.departures)]
    return Group(*parts)


def _lines(found: Sequence[Departure]) -> list[RenderableType]:
    """Departures, one below the other."""
    return [Padding(Text(d.text), (0, 0, 0, 2), expand=False) for d in found]
