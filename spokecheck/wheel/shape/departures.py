"""What a drawing departs in from its design: asked, drawn, because.

The only place that compares the two and that words it; every report takes it from here.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from spokecheck.plane.curves import Arc
from spokecheck.wheel.shape.bolts import ball_rounding
from spokecheck.wheel.shape.fallbacks import changes
from spokecheck.wheel.shape.room import what_gives_room
from spokecheck.wheel.shape.spoke_lines import LEAST_BOW
from spokecheck.wheel.shape.wheel_shape import WheelShape
from spokecheck.wheel.tables.design import Design

NOTED = 0.02
"""Departures up to this [mm] are not noted."""

CORNERS = ("window corner, hub", "window corner, rim")
"""Roundings of a window whose radius is the design's."""


@dataclass(frozen=True)
class Departure:
    """A dimension that is not drawn as asked for.

    Attributes
    ----------
    key : str
        Key of the design file.
    asked, drawn : float
        [mm].
    because : str
        Why, and what would change it.
    """

    key: str
    asked: float
    drawn: float
    because: str

    @property
    def text(self) -> str:
        """One line for every report."""
        return departure_text(self.key, self.asked, self.drawn, self.because)


def departure_text(key: str, asked: float, drawn: float, because: str) -> str:
    """The words of a departure, lengths in mm."""
    return f"{key}: {asked:.4g} mm asked for, {drawn:.4g} mm drawn, because {because}"


def departures(shape: WheelShape) -> tuple[Departure, ...]:
    """Where a drawing departs from its design by more than ``NOTED``.

    Parameters
    ----------
    shape : WheelShape
        As drawn, on a fallback or not.

    Returns
    -------
    tuple of Departure
        Empty for most designs.
    """
    found = [*_fallback(shape), *_fillets(shape), *_window_corners(shape)]
    found += [*_bows(shape.design), *_counterbore(shape.design)]
    return tuple(d for d in found if abs(d.asked - d.drawn) > NOTED)


def _fallback(shape: WheelShape) -> Iterator[Departure]:
    """Keys that a fallback changes."""
    for key, change in changes(shape.asked, shape.fallback).items():
        value = value_of(shape.asked, key)
        yield Departure(
            key,
            value,
            value + change,
            "the wheel could not be meshed soundly as asked for",
        )


def value_of(design: Design, key: str) -> float:
    """Value [mm] of a dotted key, the first of several."""
    value: object = design
    for part in key.split("."):
        value = getattr(value, part)
    return float(value[0] if isinstance(value, tuple) else value)  # type: ignore[arg-type]


def _fillets(shape: WheelShape) -> Iterator[Departure]:
    """Roundings of the section without room, the smallest of each key."""
    design = shape.design
    worst = {
        s.key: s
        for s in sorted(shape.profile.reduced_radii, key=lambda s: -s.drawn)
        if s.key
    }
    for key, fillet in worst.items():
        room = what_gives_room(design, fillet)
        yield Departure(
            key,
            fillet.asked,
            fillet.drawn,
            f"the {fillet.where} has no more room" + (f"; {room}" if room else ""),
        )


def _window_corners(shape: WheelShape) -> Iterator[Departure]:
    """Corners of windows drawn smaller so that no piece of an outline is too short."""
    spokes = shape.design.spokes
    radii = [
        curve.radius
        for window in shape.windows
        for curve in window.curves
        if isinstance(curve, Arc) and curve.name in CORNERS
    ]
    asked = min(
        spokes.window_corner_mm, spokes.rim_corner_mm or spokes.window_corner_mm
    )
    yield Departure(
        "spokes.window_corner_mm",
        asked,
        min(asked, *radii) if radii else asked,
        "a piece of the window's outline between two corners would be too short to "
        "mesh; corners some tenths of a millimetre larger or smaller avoid that",
    )


def _bows(design: Design) -> Iterator[Departure]:
    """Bows too slight to be drawn."""
    for key in ("face_bow_mm", "back_bow_mm"):
        bow = getattr(design.spokes, key)
        if abs(bow) < LEAST_BOW:
            why = f"a bow below {LEAST_BOW:g} mm is drawn straight"
            yield Departure(f"spokes.{key}", bow, 0.0, why)


def _counterbore(design: Design) -> Iterator[Departure]:
    """The rounding between a ball seat and its counterbore."""
    bolts = design.bolts
    given = bolts.counterbore_radius_mm
    if given and bolts.seat == "ball" and bolts.reach <= bolts.seat_mm / 2.0:
        drawn = ball_rounding(bolts)
        if drawn:
            yield Departure(
                "bolts.counterbore_radius_mm",
                given,
                drawn,
                "the ball runs into the bore at so flat an angle that a smaller "
                "rounding would be too short to mesh",
            )
